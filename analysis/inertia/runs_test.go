package inertia_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/inertia"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/sim"
)

// measured drives a plan, records it and measures it.
func measured(car sim.Car, plan []sim.Action, logger sim.Logger, number uint64) *inertia.Finding {
	rng := rand.New(rand.NewPCG(number, 11))
	truth := sim.Drive(car, sim.LevelRoad(), plan, rng)
	logs := []*drive.Log{logger.Record(truth, rng)}
	cal, _ := calibrate.Learn(logs, car.Vehicle)
	f, _ := inertia.Measure(logs, car.Vehicle, cal, inertia.Options{})
	return f
}

func count(f *inertia.Finding, kind inertia.Kind) (used, refused int, why string) {
	for _, r := range f.Runs {
		if r.Kind != kind {
			continue
		}
		if r.Used {
			used++
		} else {
			refused++
			why += r.WhyNot.String() + "; "
		}
	}
	return used, refused, why
}

func styled(style sim.RevStyle, n int) []sim.Action {
	plan := []sim.Action{sim.Idle(8)}
	for range n {
		plan = append(plan, sim.FreeRevWith(4300, style))
	}
	return append(plan, sim.Idle(5))
}

// What free revs can be, and what becomes of them. Each refusal says what to do.
func TestFreeRevsAreJudgedAsPracticeSays(t *testing.T) {
	for _, link := range []sim.Link{sim.CANSequential, sim.CANMulti} {
		for _, c := range []struct {
			name  string
			style sim.RevStyle
			used  bool
			says  string
		}{
			{"clean", sim.RevStyle{}, true, ""},
			{"part throttle, then let go", sim.RevStyle{Opening: 0.5}, true, ""},
			{"against the limiter", sim.RevStyle{AtLimiter: 0.3}, true, ""},
			{"throttle not shut", sim.RevStyle{NotShut: 0.06}, false, "throttle"},
		} {
			logger := sim.NewLogger(link)
			logger.Fast = []string{drive.EngineSpeed, drive.VehicleSpeed, drive.Throttle}
			f := measured(sim.BenchMule(), styled(c.style, 4), logger, 1)
			used, refused, why := count(f, inertia.RevDown)
			if c.used && used < 3 || !c.used && used > 0 {
				t.Errorf("%v, %s: %d used, %d refused (%s)", link, c.name, used, refused, why)
			}
			if !strings.Contains(why, c.says) {
				t.Errorf("%v, %s: the reason %q does not name %q", link, c.name, why, c.says)
			}
		}
	}
}

// A fall that was caught half-way is refused; the clean fall after it stands.
func TestReblipIsNotUsedAcross(t *testing.T) {
	f := measured(sim.BenchMule(), styled(sim.RevStyle{Reblip: true}, 4), sim.NewLogger(sim.CANMulti), 2)
	for _, r := range f.Runs {
		if r.Kind != inertia.RevDown || !r.Used {
			continue
		}
		for i := 1; i < len(r.RPM); i++ {
			if r.RPM[i] > r.RPM[i-1]+40 {
				t.Fatalf("run at %.1f s is used across a rise at %.0f rpm", r.Start, r.RPM[i])
			}
		}
	}
	if _, refused, _ := count(f, inertia.RevDown); refused == 0 {
		t.Error("no caught fall was refused")
	}
}

// Rolling rev-downs are a class of their own.
func TestRollingRevDownsAreTheirOwnClass(t *testing.T) {
	plan := []sim.Action{sim.Idle(5), sim.Launch(sim.NormalLaunch), sim.Cruise(60, 5)}
	for range 4 {
		plan = append(plan, sim.FreeRevWith(4300, sim.RevStyle{Rolling: true}), sim.Accelerate(60))
	}
	f := measured(sim.BenchMule(), plan, sim.NewLogger(sim.CANMulti), 3)
	rolling, _, _ := count(f, inertia.RollingRevDown)
	standing, _, _ := count(f, inertia.RevDown)
	if rolling < 2 || standing > 0 {
		t.Errorf("%d rolling and %d standing rev-downs used, want rolling ones alone", rolling, standing)
	}
}

// guided is what the guide asks for: free revs, off-throttle in gear, neutral coasts.
func guided() []sim.Action {
	plan := []sim.Action{sim.Idle(8)}
	for range 6 {
		plan = append(plan, sim.FreeRev(4500))
	}
	plan = append(plan, sim.Launch(sim.NormalLaunch))
	for range 2 {
		plan = append(plan, sim.Overrun(3, 4500, 1500), sim.Coast(90, 40), sim.Overrun(2, 4800, 1500), sim.Coast(90, 40))
	}
	return append(plan, sim.Stop())
}

// Six free revs, two overruns in two gears and four coasts find the inertia of every car within its own
// interval, and near it.
func TestInertiaOfGuidedRuns(t *testing.T) {
	for i, car := range sim.Cars() {
		for _, link := range []sim.Link{sim.KLine, sim.CANSequential, sim.CANMulti} {
			f := measured(car, guided(), sim.NewLogger(link), uint64(100+i))
			if f.Inertia == nil {
				t.Errorf("%s, %v: no inertia: %v", car.Vehicle.Name, link, f.WhatToDrive)
				continue
			}
			if off := math.Abs(math.Log(f.Inertia.Value / car.Inertia)); off > 3*f.Inertia.SD/f.Inertia.Value {
				t.Errorf("%s, %v: %.4f ± %.4f kg m², true %.4f", car.Vehicle.Name, link, f.Inertia.Value, f.Inertia.SD,
					car.Inertia)
			}
		}
	}
}

// The brake is in no channel. Braked overruns are trimmed or refused, or the inertia would come out several
// times too high.
func TestBrakedOverrunsDoNotRaiseTheInertia(t *testing.T) {
	car := sim.BenchMule()
	rng := rand.New(rand.NewPCG(4, 4))
	plan := append(guided(), sim.Traffic(rng, 10, sim.MixedTraffic()))
	f := measured(car, plan, sim.NewLogger(sim.CANMulti), 5)
	if f.Inertia == nil {
		t.Fatalf("no inertia: %v", f.WhatToDrive)
	}
	if off := f.Inertia.Value/car.Inertia - 1; math.Abs(off) > 0.25 {
		t.Errorf("%.3f kg m², true %.3f", f.Inertia.Value, car.Inertia)
	}
	_, _, why := count(f, inertia.Overrun)
	if !strings.Contains(why, "brake") {
		t.Errorf("no overrun was refused for the brake: %q", why)
	}
}

// A driver who brakes alike each time makes overruns that agree with each other; those of another gear tell
// that they are not clean.
func TestOverrunsBrakedAlikeAreNotBelieved(t *testing.T) {
	car, rng := sim.BenchMule(), rand.New(rand.NewPCG(9, 9))
	plan := styled(sim.RevStyle{}, 5)
	for range 2 {
		plan = append(plan, sim.Overrun(2, 5000, 1400), sim.Coast(75, 25))
	}
	for range 3 {
		plan = append(plan, sim.Overrun(3, 4800, 1400))
	}
	truth := sim.Drive(car, sim.LevelRoad(), plan, rng)
	l := sim.NewLogger(sim.CANMulti).Record(truth, rng)
	for _, c := range l.Channels { // the falls in third take half the time
		for i, at := range c.T {
			for _, o := range truth.Labelled("overrun")[2:] {
				c.T[i] -= 0.5 * math.Max(0, math.Min(at, o.EndS)-o.StartS)
			}
		}
	}
	f, _ := inertia.Measure([]*drive.Log{l}, car.Vehicle, nil, inertia.Options{})
	if f.Inertia == nil || math.Abs(f.Inertia.Value/car.Inertia-1) > 0.15 {
		t.Errorf("inertia %v, true %.3f", f.Inertia, car.Inertia)
	}
	for _, r := range f.Runs {
		if r.Kind == inertia.Overrun && r.Used != (r.Gear == 2) {
			t.Errorf("overrun in gear %d from %.0f s: used %v, %q", r.Gear, r.Start, r.Used, r.WhyNot)
		}
	}
}

// A lone overrun that was braked throughout, here in half of its time, passes for an engine of twice the inertia or more:
// nothing in the log bears it out, so there is no figure. Not braked, it gives one.
func TestALoneOverrunMayHaveBeenBraked(t *testing.T) {
	for _, shorter := range []float64{0, 0.5} {
		car, rng := sim.BenchMule(), rand.New(rand.NewPCG(9, 9))
		plan := append(styled(sim.RevStyle{}, 5), sim.Coast(75, 25), sim.Overrun(2, 5000, 1400))
		truth := sim.Drive(car, sim.LevelRoad(), plan, rng)
		l := sim.NewLogger(sim.CANMulti).Record(truth, rng)
		for _, c := range l.Channels {
			for i, at := range c.T {
				for _, o := range truth.Labelled("overrun") {
					c.T[i] -= shorter * math.Max(0, math.Min(at, o.EndS)-o.StartS)
				}
			}
		}
		f, _ := inertia.Measure([]*drive.Log{l}, car.Vehicle, nil, inertia.Options{})
		said := false
		for _, x := range f.WhatToDrive {
			said = said || x.Code() == finding.RunsNotBraked
		}
		if braked := shorter > 0; (f.Inertia == nil) != braked || said != braked {
			t.Errorf("%.1f of the time: inertia %v, true %.3f, to drive %v", 1-shorter, f.Inertia, car.Inertia, f.WhatToDrive)
		}
	}
}

// A foot that rests on the brake in every overrun alike, from the lift to the end, leaves runs that agree with each other
// and with the inertia of a usual heavier engine. It pulls alike at every engine speed, which no engine's drag does.
func TestOverrunsBrakedThroughoutAreNotBelieved(t *testing.T) {
	for _, link := range []sim.Link{sim.KLine, sim.CANMulti} {
		for _, slowing := range []float64{0, 0.7, 1.1} {
			car := sim.BenchMule()
			plan := styled(sim.RevStyle{}, 6)
			for range 3 {
				plan = append(plan, sim.BrakedOverrun(2, 5200, 1500, slowing), sim.BrakedOverrun(3, 4800, 1500, slowing))
			}
			f := measured(car, plan, sim.NewLogger(link), 7)
			said := false
			for _, x := range f.WhatToDrive {
				said = said || x.Code() == finding.RunsHeldBack
			}
			if braked := slowing > 0; (f.Inertia == nil) != braked || said != braked {
				t.Errorf("%v, braked by %.1f m/s²: inertia %v, true %.3f, to drive %v", link, slowing, f.Inertia, car.Inertia,
					f.WhatToDrive)
			}
		}
	}
}

// Without a vehicle file the runs are judged and the inertia is not known.
func TestNoVehicleNoInertia(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 6))
	truth := sim.Drive(sim.BenchMule(), sim.LevelRoad(), styled(sim.RevStyle{}, 4), rng)
	log := sim.NewLogger(sim.CANMulti).Record(truth, rng)
	f, warnings := inertia.Measure([]*drive.Log{log}, nil, nil, inertia.Options{})
	if f.Inertia != nil {
		t.Error("an inertia without a mass")
	}
	if used, _, why := count(f, inertia.RevDown); used < 3 {
		t.Errorf("%d rev-downs used (%s)", used, why)
	}
	said := false
	for _, w := range warnings {
		said = said || w.Code == "no_absolute_inertia"
	}
	if !said {
		t.Errorf("no word of why: %v", warnings)
	}
}

// On a rolling road the car's mass stands still: free revs are judged, and there is no absolute inertia.
func TestRollersGiveNoAbsoluteInertia(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	car := sim.BenchMule()
	truth := sim.Drive(car, sim.LevelRoad(), guided(), rng)
	logs := []*drive.Log{sim.NewLogger(sim.CANMulti).Record(truth, rng)}
	cal, _ := calibrate.Learn(logs, car.Vehicle)
	f, _ := inertia.Measure(logs, car.Vehicle, cal, inertia.Options{Rollers: true})
	if f.Inertia != nil {
		t.Errorf("%v kg m² from a rolling road", f.Inertia.Value)
	}
	if used, _, why := count(f, inertia.RevDown); used < 5 {
		t.Errorf("%d free revs used (%s)", used, why)
	}
}
