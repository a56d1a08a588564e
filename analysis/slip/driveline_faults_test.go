package slip_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"flywitness/analysis/detect"
	"flywitness/analysis/slip"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/numbers"
	"flywitness/sim"
	"flywitness/vehicle"
)

// spoilt drives a plan, lets change the log in every pull, and judges it.
func spoilt(car sim.Car, plan []sim.Action, link sim.Link,
	change func(rpm *drive.Channel, start, end float64)) (*slip.Finding, []finding.Finding) {
	rng := rand.New(rand.NewPCG(21, uint64(link)))
	truth := sim.Drive(car, sim.LevelRoad(), plan, rng)
	l := sim.NewLogger(link).Record(truth, rng)
	for _, p := range truth.Labelled("pull") {
		change(l.Channel(drive.EngineSpeed), p.StartS, p.EndS)
	}
	_, f, warnings := judgedLog(l, car.Vehicle, slip.Options{})
	return f, warnings
}

// A dual-mass flywheel lets the engine shuffle when the accelerator is tipped in: 80 rpm at 4 Hz that die away
// in half a second.
func TestTipInShuffleIsNoSlip(t *testing.T) {
	numbers.Only(t)
	for _, link := range []sim.Link{sim.KLine, sim.CANSequential, sim.CANMulti} {
		f, _ := spoilt(weak(1.5), pulls(4), link, func(rpm *drive.Channel, start, _ float64) {
			for i, at := range rpm.T {
				if x := at - start; x > 0 && x < 3 {
					rpm.V[i] += 80 * math.Sin(2*math.Pi*4*x) * math.Exp(-x/0.5)
				}
			}
		})
		if f.Verdict != slip.Holds {
			t.Errorf("%v: %s, %s", link, f.Verdict, f.Reason)
		}
	}
}

// Traction control lets the driven wheels spin by a tenth and catches them again, three times a second: against
// an undriven wheel that is wheelspin.
func TestTractionControlIsNoSlip(t *testing.T) {
	numbers.Only(t)
	car := weak(1.5)
	v := *car.Vehicle
	v.SpeedSource = vehicle.SourceUndriven
	car.Vehicle = &v
	plan := pulls(1)
	for range 4 {
		plan = append(plan, sim.Pull(2, 2000, 5500))
	}
	for _, link := range []sim.Link{sim.KLine, sim.CANSequential, sim.CANMulti} {
		n := 0
		f, _ := spoilt(car, plan, link, func(rpm *drive.Channel, start, end float64) {
			if n++; n == 1 { // the pull in fourth
				return
			}
			for i, at := range rpm.T {
				if at > start+1 && at < end-0.5 {
					rpm.V[i] *= 1 + 0.05*(1-math.Cos(2*math.Pi*3*(at-start)))
				}
			}
		})
		if f.Verdict == slip.Slips {
			t.Errorf("%v: %s, %s", link, f.Verdict, f.Reason)
		}
	}
}

// Where all wheels are driven no wheel tells wheelspin from slip: a slip is reported with that said, and
// nothing is said where no slip was seen.
func TestFourWheelDriveIsSaid(t *testing.T) {
	numbers.Only(t)
	for _, c := range []struct {
		share  float64
		wheels int
		want   bool
	}{{0.9, 4, true}, {0.9, 2, false}, {1.5, 4, false}} {
		car := weak(c.share)
		v := *car.Vehicle
		v.DrivenWheels = c.wheels
		car.Vehicle = &v
		f, warnings := spoilt(car, pulls(4), sim.CANMulti, func(*drive.Channel, float64, float64) {})
		said := false
		for _, w := range warnings {
			said = said || w.Code == finding.FourWheelDrive
		}
		if said != c.want {
			t.Errorf("clutch of %.1f of the peak torque, %d driven wheels: %s, said %v", c.share, c.wheels, f.Verdict, said)
		}
	}
}

// A sample that comes late, as on a busy K-line, does not cut a pull in two: a slip behind it would have been
// too near to an edge to be judged.
func TestLateSampleDoesNotCutAPull(t *testing.T) {
	numbers.Only(t)
	rng := rand.New(rand.NewPCG(5, 5))
	truth := sim.Drive(weak(1.5), sim.LevelRoad(), pulls(3), rng)
	l := sim.NewLogger(sim.KLine).Record(truth, rng)
	labels := truth.Labelled("pull")
	for _, c := range l.Channels {
		for _, p := range labels { // three samples come late, a second apart
			for _, at := range []float64{8, 6.8, 5.6} {
				for i, x := range c.T {
					if x > p.EndS-at {
						c.T[i] += 0.3
						for j := i + 1; j < len(c.T) && c.T[j] <= c.T[j-1]; j++ {
							c.T[j] = c.T[j-1] + 0.02
						}
						break
					}
				}
			}
		}
	}
	_, f, _ := judgedLog(l, weak(1.5).Vehicle, slip.Options{})
	for _, p := range labels {
		n := 0
		for _, q := range f.Pulls {
			if q.Gear == 4 && q.Start < p.EndS-4 && q.End > p.EndS-9 {
				n++
			}
		}
		if n != 1 {
			t.Errorf("the pull from %.0f to %.0f s is seen as %d", p.StartS, p.EndS, n)
		}
	}
}

// Full load from a labouring engine tests no clutch.
func TestFullLoadAtLowSpeedIsNoTest(t *testing.T) {
	numbers.Only(t)
	traffic := sim.Traffic(rand.New(rand.NewPCG(4, 4)), 8, sim.GentleTraffic())
	plan := []sim.Action{sim.Idle(5), traffic, sim.Launch(sim.NormalLaunch)}
	for range 4 {
		plan = append(plan, sim.Pull(4, 1200, 1900))
	}
	f, _ := judged(t, weak(1.5), plan, sim.NewLogger(sim.CANMulti), slip.Options{}, 6)
	if f.Verdict != slip.Inconclusive || !f.Reason.Has(finding.NeverFullLoad) {
		t.Errorf("full load below 1900 rpm: %s, %s", f.Verdict, f.Reason)
	}
	// of an engine whose limit is not known it is said how fast it turned
	for _, c := range []struct {
		plan []sim.Action
		says bool
	}{{plan, true}, {pulls(4), false}} {
		rng := rand.New(rand.NewPCG(6, 7))
		truth := sim.Drive(weak(1.5), sim.LevelRoad(), c.plan, rng)
		_, f, _ = judgedLog(sim.NewLogger(sim.CANMulti).Record(truth, rng), nil, slip.Options{Gearbox: vehicle.Manual})
		if f.Verdict != slip.Holds || strings.Contains(f.Reason.String(), "pulls up to 19") != c.says {
			t.Errorf("no limit known: %s, %s", f.Verdict, f.Reason)
		}
	}
}

// A driver who dabs at the clutch pedal under load, and is off it within a second, is no doubt in a clutch that holds.
func TestShortDabIsNoDoubt(t *testing.T) {
	numbers.Only(t)
	plan := append(pulls(4), sim.PullWith(4, 1800, 5200, sim.PullStyle{Stab: true}))
	f, _ := judged(t, weak(1.5), plan, sim.NewLogger(sim.CANSequential), slip.Options{}, 3)
	if f.Verdict != slip.Holds || !slices.ContainsFunc(f.Events,
		func(e slip.Event) bool { return e.Kind == detect.KindPedal }) {
		t.Errorf("%s: %s, %+v", f.Verdict, f.Reason, f.Events)
	}
}
