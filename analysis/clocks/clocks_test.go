package clocks

import (
	"math"
	"slices"
	"testing"

	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/numbers"
	"flywitness/sim/field"
)

// recorded is a ten-minute drive, once more with road speed on a clock that runs fast by rate.
func recorded(t *testing.T, link string, seed uint64, rate float64) *drive.Log {
	t.Helper()
	name := "ordinary/10min/nofile/load/" + link
	i := slices.IndexFunc(field.Classes(), func(c field.Class) bool { return c.Name == name })
	l := *field.Classes()[i].Make(seed, true).Logs[0]
	l.Clocks = 2
	l.Channels = slices.Clone(l.Channels)
	for i, c := range l.Channels {
		if c.Name != drive.EngineSpeed {
			moved := *c
			moved.T = slices.Clone(c.T)
			for k := range moved.T {
				moved.T[k] *= 1 + rate
			}
			l.Channels[i] = &moved
		}
	}
	return &l
}

// part is a log from one moment to another.
func part(l *drive.Log, from, to float64) *drive.Log {
	for i, c := range l.Channels {
		own := *c
		j, _ := slices.BinarySearch(c.T, from)
		k, _ := slices.BinarySearch(c.T, to)
		own.T, own.V = c.T[j:k], c.V[j:k]
		l.Channels[i] = &own
	}
	return l
}

// told is by how much the clocks are said to run apart, 0 where nothing is said.
func told(l *drive.Log) float64 {
	for _, w := range l.Warnings {
		if w.Code == finding.ClocksApart {
			v, _ := w.Value("rate")
			return v.Float() / 100
		}
	}
	return 0
}

func TestClocksThatRunApart(t *testing.T) {
	numbers.Only(t)
	for _, link := range []string{"kline", "can", "canmulti"} {
		for seed := range uint64(2) {
			for _, rate := range []float64{0.0005, 0.002, -0.005} {
				l := recorded(t, link, 40+seed, rate)
				_, span := l.Span()
				out := Align([]*drive.Log{l})[0]
				if off := math.Abs(told(out)-rate) * span; off > 0.15 { // 0.3, 1.2 and 3 s apart
					t.Errorf("%s, seed %d, apart by %g: %g is told, %.2f s off at the end", link, seed, rate, told(out), off)
				}
				before, after := l.Channel(drive.VehicleSpeed), out.Channel(drive.VehicleSpeed)
				if n := before.Len() - 1; math.Abs((after.T[n]-after.T[0])-(before.T[n]-before.T[0])/(1+rate)) > 0.15 {
					t.Errorf("%s, seed %d: road speed lasts %.2f s, before %.2f s", link, seed, after.T[n]-after.T[0], before.T[n]-before.T[0])
				}
				same := recorded(t, link, 40+seed, 0).Channel(drive.VehicleSpeed) // on one clock, and as late as cars tell it
				if n := after.Len() / 2; math.Abs(after.T[n]-same.T[n]) > 0.4 {
					t.Errorf("%s, seed %d: road speed is %.2f s later than it was", link, seed, after.T[n]-same.T[n])
				}
				if told(l) != 0 || &before.T[0] == &after.T[0] {
					t.Error("the log that was given is changed")
				}
			}
		}
	}
}

// Clocks that run alike, however late the speed is, are left alone, and so is a log of one clock.
func TestClocksThatRunAlike(t *testing.T) {
	numbers.Only(t)
	for _, link := range []string{"kline", "can", "canmulti", "old"} {
		for seed := range uint64(3) {
			l := recorded(t, link, 60+seed, 0)
			for _, c := range l.Channels[1:] {
				for i := range c.T {
					c.T[i] += 0.4 * float64(seed)
				}
			}
			if r := told(Align([]*drive.Log{l})[0]); r != 0 {
				t.Errorf("%s, seed %d: they are said to run apart by %g", link, seed, r)
			}
		}
	}
	// a short drive of which each half says something else, and a shorter one
	for _, seconds := range []float64{410, 305} {
		if r := told(Align([]*drive.Log{part(recorded(t, "canmulti", 134, 0), 0, seconds)})[0]); r != 0 {
			t.Errorf("%.0f s: they are said to run apart by %g", seconds, r)
		}
	}
	l := recorded(t, "canmulti", 40, 0.005)
	l.Clocks = 1
	if out := Align([]*drive.Log{l})[0]; out != l {
		t.Error("a log of one clock is changed")
	}
}
