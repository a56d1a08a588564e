package gearstate_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/gearstate"
	"flywitness/drive"
	"flywitness/internal/numbers"
	"flywitness/sim"
)

// drivenLog is ten minutes of mixed driving.
func drivenLog(link sim.Link) (*drive.Log, *sim.Truth, gearstate.Model) {
	rng := rand.New(rand.NewPCG(7, 1))
	car := sim.BenchMule()
	truth := sim.Drive(car, sim.LevelRoad(), []sim.Action{sim.Idle(5), sim.Traffic(rng, 10, sim.MixedTraffic())}, rng)
	l := sim.NewLogger(link).Record(truth, rng)
	cal, _ := calibrate.Learn([]*drive.Log{l}, car.Vehicle)
	return l, truth, cal.Model()
}

// stream pushes a log sample by sample, in the order of time.
func stream(l *drive.Log, m gearstate.Model) []gearstate.State {
	d := gearstate.NewDecoder(m)
	c := [3]*drive.Channel{l.Channel(drive.EngineSpeed), l.Channel(m.SpeedChannel), l.Channel(m.Load.Channel)}
	push := [3]func(t, v float64) []gearstate.State{d.PushRPM, d.PushSpeed, d.PushLoad}
	var at [3]int
	var out []gearstate.State
	for {
		b, first := -1, math.Inf(1)
		for i := range c {
			if c[i] != nil && at[i] < c[i].Len() && c[i].T[at[i]] < first {
				b, first = i, c[i].T[at[i]]
			}
		}
		if b < 0 {
			return append(out, d.Close()...)
		}
		out = append(out, push[b](first, c[b].V[at[b]])...)
		at[b]++
	}
}

func TestLiveAgreesWithTheRecordedDrive(t *testing.T) {
	numbers.Only(t)
	for _, link := range []sim.Link{sim.KLine, sim.CANSequential, sim.CANMulti} {
		l, _, m := drivenLog(link)
		track := gearstate.Decode(l, m)
		labels := map[float64]int{}
		for i, at := range track.T {
			if track.Clutch[i] == gearstate.Locked {
				labels[at] = int(track.Gear[i])
			}
		}
		n, same := 0, 0
		for _, s := range stream(l, m) {
			if g, ok := labels[s.T]; ok {
				n++
				if s.Gear == g && s.Clutch == gearstate.Locked {
					same++
				}
			}
		}
		if n < len(labels)*9/10 || float64(same) < 0.97*float64(n) {
			t.Errorf("%v: live says the same at %d of %d moments, of %d", link, same, n, len(labels))
		}
	}
}

func TestLabelsAreTheTruth(t *testing.T) {
	numbers.Only(t)
	for _, link := range []sim.Link{sim.KLine, sim.CANSequential, sim.CANMulti} {
		l, truth, m := drivenLog(link)
		track := gearstate.Decode(l, m)
		n, right := 0, 0
		for i, at := range track.T {
			j := truth.At(math.Max(0, at))
			if truth.WheelKmh[j] < 8 || truth.Clutch[j] != sim.Stuck || truth.Gear[j] == 0 {
				continue
			}
			n++
			if track.Clutch[i] == gearstate.Locked && int(track.Gear[i]) == int(truth.Gear[j]) {
				right++
			}
		}
		if n == 0 || float64(right) < 0.975*float64(n) {
			t.Errorf("%v: %d of %d locked moments told", link, right, n)
		}
	}
}

func TestGapAndHostileSamplesAreNoState(t *testing.T) {
	m := gearstate.Model{SpeedChannel: drive.VehicleSpeed, Step: 1, Period: 0.1, Idle: 850,
		Gears: []gearstate.Gearing{{Number: 3, K: 47}}}
	l := &drive.Log{Channels: []*drive.Channel{{Name: drive.EngineSpeed}, {Name: drive.VehicleSpeed}}}
	for i := range 600 {
		at := 0.1 * float64(i)
		if i < 250 || i > 350 {
			l.Channels[0].T, l.Channels[0].V = append(l.Channels[0].T, at), append(l.Channels[0].V, 47*60+float64(i%2))
		}
		l.Channels[1].T, l.Channels[1].V = append(l.Channels[1].T, at+0.01), append(l.Channels[1].V, 60)
	}
	l.Channels[0].V[3], l.Channels[1].V[5], l.Channels[1].T[7] = math.NaN(), math.Inf(1), math.NaN()
	track := gearstate.Decode(l, m)
	for i, at := range track.T {
		inGap := at > 25.1 && at < 34.9
		if inGap && track.Clutch[i] != gearstate.Unknown {
			t.Errorf("%.1f s: %v in a gap of engine speed", at, track.Clutch[i])
		}
		if (at > 2 && at < 24.8 || at > 36) && at < 59.5 && (track.Gear[i] != 3 || track.Clutch[i] != gearstate.Locked) {
			t.Errorf("%.1f s: gear %d %v, want third locked", at, track.Gear[i], track.Clutch[i])
		}
	}
	if gearstate.Decode(&drive.Log{}, m).Len() != 0 {
		t.Error("an empty log has a track")
	}
	if n := gearstate.Decode(l, gearstate.Model{SpeedChannel: drive.VehicleSpeed}); n.Len() == 0 || n.Gear[10] != 0 {
		t.Error("a model without gears must give a track without gears")
	}
}

// A control unit that repeats itself for a second gives a gap, not slip.
func TestRepeatedValuesAreDropped(t *testing.T) {
	l := &drive.Log{Channels: []*drive.Channel{{Name: drive.EngineSpeed}, {Name: drive.VehicleSpeed}}}
	for i := range 100 {
		at := 0.1 * float64(i)
		seen := at
		if at > 5 && at < 6 {
			seen = 5
		}
		for q, v := range []float64{2000 + 150*seen, 50 + 4*seen} {
			l.Channels[q].T, l.Channels[q].V = append(l.Channels[q].T, at), append(l.Channels[q].V, v)
		}
	}
	s := gearstate.ReadSignals(l, drive.VehicleSpeed)
	for _, ts := range [][]float64{s.RPMT, s.SpeedT} {
		for _, at := range ts {
			if at > 5.05 && at < 5.95 {
				t.Errorf("a repeated value at %.1f s was kept", at)
			}
		}
	}
	if len(s.RPMT) < 85 {
		t.Errorf("%d of 100 values kept", len(s.RPMT))
	}
}
