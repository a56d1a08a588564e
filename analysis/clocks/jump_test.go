package clocks

import (
	"math"
	"testing"

	"flywitness/drive"
	"flywitness/finding"
)

// jumped is by how much a delay is said to change, s, and from when; 0 where nothing is said.
func jumped(l *drive.Log) (by, at float64) {
	for _, w := range l.Warnings {
		if w.Code == finding.DelayJumps {
			b, _ := w.Value("by")
			a, _ := w.Value("at")
			return b.Float(), a.Float()
		}
	}
	return 0, 0
}

// Road speed that comes later, or earlier, from some moment of a drive on is put back. A delay that stays is left alone.
func TestDelayThatJumps(t *testing.T) {
	seeds := uint64(4)
	if testing.Short() {
		seeds = 1
	}
	for _, link := range []string{"kline", "can", "canmulti"} {
		for seed := range seeds {
			for _, by := range []float64{0, 0.7, -0.7} {
				l := recorded(t, link, 70+seed, 0)
				l.Clocks = 1
				from, to := l.Span()
				at := from + (0.35+0.1*float64(seed))*(to-from)
				speed := l.Channel(drive.VehicleSpeed)
				was := append([]float64(nil), speed.T...)
				for i, x := range speed.T {
					if x >= at {
						speed.T[i] += by
					}
				}
				out := Align([]*drive.Log{l})[0]
				if by == 0 {
					if out != l {
						t.Errorf("%s, seed %d: a log with one delay is changed", link, seed)
					}
					continue
				}
				if told, when := jumped(out); math.Abs(told-math.Abs(by)) > 0.1 || math.Abs(when-at) > 60 {
					t.Errorf("%s, seed %d: later by %.2f s from %.0f s on, told %.2f from %.0f s on", link, seed, by, at, told, when)
					continue
				}
				moved := out.Channel(drive.VehicleSpeed)
				if n := moved.Len() - 1; math.Abs(moved.T[n]-was[len(was)-1]) > 0.1 {
					t.Errorf("%s, seed %d: road speed ends %.2f s off", link, seed, moved.T[n]-was[len(was)-1])
				}
			}
		}
	}
}

// A log with one engine speed has no ratio to look at.
func TestOneEngineSpeed(t *testing.T) {
	speed := &drive.Channel{Name: drive.VehicleSpeed}
	for i := range 2000 {
		speed.T, speed.V = append(speed.T, float64(i)/2), append(speed.V, float64(30+i%50))
	}
	l := &drive.Log{Channels: []*drive.Channel{{Name: drive.EngineSpeed, T: []float64{2}, V: []float64{900}}, speed}}
	if out := Align([]*drive.Log{l})[0]; out != l {
		t.Error("it is changed")
	}
}
