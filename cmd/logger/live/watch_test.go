package live_test

import (
	"math/rand/v2"
	"testing"

	"flywitness/capture"
	"flywitness/cmd/logger/live"
	"flywitness/drive"
	"flywitness/sim"
)

// follow plays a recording through a watcher that has learnt from its first part, and returns the times of the alarms and the share of
// the time in which the gear that is in was told.
func follow(tr *sim.Truth, link sim.Link, rng *rand.Rand) (alarms []float64, right float64) {
	return followWith(tr, sim.NewLogger(link), rng)
}

func followWith(tr *sim.Truth, lg sim.Logger, rng *rand.Rand) (alarms []float64, right float64) {
	l := lg.Record(tr, rng)
	j := &live.Judge{}
	car := tr.Car()
	j.Vehicle = car.Vehicle
	book := live.NewSampleBuffer()
	samples := inOrder(l)
	w := live.NewWatcher(j, book)
	w.Alarm = func(t float64, _ live.State) { alarms = append(alarms, t) }
	good, total := 0, 0
	for i, s := range samples {
		book.Add(s)
		w.Push(s)
		if i == len(samples)/3 {
			w.Relearn()
		}
		state := w.State()
		if k := tr.At(s.T); state.Known && tr.Clutch[k] == sim.Stuck && tr.Engagement[k] == 1 && tr.Gear[k] > 0 {
			total++
			if state.Gear == int(tr.Gear[k]) {
				good++
			}
		}
	}
	return alarms, float64(good) / float64(max(total, 1))
}

// inOrder merges the channels of a log by time.
func inOrder(l *drive.Log) []capture.Sample {
	at := make([]int, len(l.Channels))
	var out []capture.Sample
	for {
		best := -1
		for i, c := range l.Channels {
			if at[i] < c.Len() && (best < 0 || c.T[at[i]] < l.Channels[best].T[at[best]]) {
				best = i
			}
		}
		if best < 0 {
			return out
		}
		c := l.Channels[best]
		out = append(out, capture.Sample{Channel: c.Name, T: c.T[at[best]], V: c.V[at[best]]})
		at[best]++
	}
}

func traffic(car sim.Car, rng *rand.Rand, minutes float64) *sim.Truth {
	return sim.Drive(car, sim.HillyRoad(rng, 0.01, 300), []sim.Action{sim.Traffic(rng, minutes, sim.MixedTraffic())}, rng)
}

// In ordinary traffic with a healthy clutch the gear is told and there is no alarm.
func TestHealthyClutchRaisesNoAlarm(t *testing.T) {
	for _, link := range []sim.Link{sim.KLine, sim.CANMulti} {
		rng := rand.New(rand.NewPCG(8, uint64(link)))
		alarms, right := follow(traffic(sim.BenchMule(), rng, 12), link, rng)
		if len(alarms) > 0 {
			t.Errorf("%v: alarms at %v", link, alarms)
		}
		if right < 0.85 {
			t.Errorf("%v: gear right in %.0f %% of the locked time", link, 100*right)
		}
	}
}

// Slip under load that lasts is told while it lasts.
func TestSlipRaisesTheAlarm(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	plan := []sim.Action{sim.Traffic(rng, 6, sim.GentleTraffic())}
	for i := 0; i < 4; i++ {
		plan = append(plan, sim.Accelerate(60), sim.Pull(4, 2200, 5000), sim.Cruise(60, 15))
	}
	tr := sim.Drive(sim.BenchMule().Tired(0.75, rng), sim.LevelRoad(), plan, rng)
	for _, link := range []sim.Link{sim.CANSequential, sim.CANMulti} {
		alarms, _ := follow(tr, link, rng)
		seen, long := 0, 0
		for _, e := range tr.Events {
			if e.EndS-e.StartS < 2 || e.MeanPct < 4 || e.StartS < tr.Duration()/3 {
				continue
			}
			long++
			for _, a := range alarms {
				if a >= e.StartS && a <= e.EndS+1 {
					seen++
					break
				}
			}
		}
		if long == 0 || seen < long {
			t.Errorf("%v: %d of %d long slips raised the alarm", link, seen, long)
		}
		for _, a := range alarms {
			if k := tr.At(a); !near(tr, a) {
				t.Errorf("%v: alarm at %.1f s without slip (clutch %v)", link, a, tr.Clutch[k])
			}
		}
	}
}

func near(tr *sim.Truth, t float64) bool {
	for _, e := range tr.Events {
		if t >= e.StartS-0.5 && t <= e.EndS+2 {
			return true
		}
	}
	return false
}

func TestBookIsBounded(t *testing.T) {
	b := live.NewSampleBuffer()
	for i := 0; i < 700_000; i++ {
		b.Add(capture.Sample{Channel: drive.EngineSpeed, T: float64(i), V: 1})
	}
	l := b.Log(0)
	if n := l.Channels[0].Len(); n > 300_000 || n < 150_000 {
		t.Errorf("%d samples kept", n)
	}
	if first := b.Log(699_990).Channels[0]; first.Len() != 10 || first.T[0] != 699_990 {
		t.Errorf("a window of %d samples", first.Len())
	}
	if at, v, ok := b.Last(drive.EngineSpeed); !ok || at != 699_999 || v != 1 {
		t.Errorf("last %v %v %v", at, v, ok)
	}
}
