package slip_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/slip"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/numbers"
	"flywitness/sim"
	"flywitness/vehicle"
)

// judged drives a plan with a car, records it on a link and judges it.
func judged(t *testing.T, car sim.Car, plan []sim.Action, logger sim.Logger, opt slip.Options,
	number uint64) (*slip.Finding, []finding.Finding) {
	t.Helper()
	rng := rand.New(rand.NewPCG(number, 7))
	truth := sim.Drive(car, sim.LevelRoad(), plan, rng)
	_, f, warnings := judgedLog(logger.Record(truth, rng), car.Vehicle, opt)
	return f, warnings
}

// judgedLog calibrates, decodes and judges one log, of which the judge gets the channels that it says it reads.
func judgedLog(l *drive.Log, veh *vehicle.Vehicle, opt slip.Options) (*calibrate.Calibration, *slip.Finding,
	[]finding.Finding) {
	cal, _ := calibrate.Learn([]*drive.Log{l}, veh)
	f, warnings := slip.Judge([]*drive.Log{l.Only(slip.Channels...)}, []*gearstate.Track{cal.Decode(l)}, veh, cal, opt)
	return cal, f, warnings
}

// pulls is a drive with some traffic, to learn the gears from, and full-load pulls.
func pulls(n int) []sim.Action {
	rng := rand.New(rand.NewPCG(3, 3))
	plan := []sim.Action{sim.Idle(5), sim.Traffic(rng, 8, sim.GentleTraffic()), sim.Launch(sim.NormalLaunch)}
	for range n {
		plan = append(plan, sim.Pull(4, 1800, 5200))
	}
	return plan
}

func weak(share float64) sim.Car {
	car := sim.BenchMule()
	peak, _ := car.Engine.PeakNm()
	return car.WithCapacity(share * peak)
}

func TestHealthyClutchHoldsAndWeakOneSlips(t *testing.T) {
	numbers.Only(t)
	for _, link := range []sim.Link{sim.KLine, sim.CANSequential, sim.CANMulti} {
		f, _ := judged(t, weak(1.5), pulls(4), sim.NewLogger(link), slip.Options{}, 1)
		if f.Verdict != slip.Holds {
			t.Errorf("%v: healthy clutch: %s (%s)", link, f.Verdict, f.Reason)
		}
		if f.HighestTorqueHeld == nil || f.SmallestDetectable == nil {
			t.Fatalf("%v: holds without a torque or a smallest slip", link)
		}
		car := sim.BenchMule()
		peak, _ := car.Engine.PeakNm()
		if ci := f.HighestTorqueHeld.CI95; ci[0] > peak || ci[1] < 0.85*peak {
			t.Errorf("%v: held %v N m, the engine gives %.0f at most", link, ci, peak)
		}
		f, _ = judged(t, weak(0.9), pulls(4), sim.NewLogger(link), slip.Options{}, 1)
		if f.Verdict != slip.Slips || f.Pattern == "" || len(f.LikelyCauses) == 0 {
			t.Errorf("%v: clutch of 0.9 of the peak torque: %s, pattern %q, causes %v", link, f.Verdict, f.Pattern,
				f.LikelyCauses)
		}
	}
}

func TestBeddingInIsAGate(t *testing.T) {
	numbers.Only(t)
	km, need := 120.0, 500.0
	opt := slip.Options{KmSinceFitted: &km, BedInKm: &need}
	for _, share := range []float64{0.9, 1.5} {
		f, _ := judged(t, weak(share), pulls(3), sim.NewLogger(sim.CANMulti), opt, 2)
		if f.Verdict != slip.Inconclusive || !strings.Contains(f.Reason.String(), "Not yet") {
			t.Errorf("capacity %.1f of peak at 120 km of 500: %s, %q", share, f.Verdict, f.Reason)
		}
	}
	km = 600
	if f, _ := judged(t, weak(1.5), pulls(3), sim.NewLogger(sim.CANMulti), opt, 2); f.Verdict != slip.Holds {
		t.Errorf("bedded in: %s, %q", f.Verdict, f.Reason)
	}
}

func TestRollersGiveNoTorqueAndNameTheStrap(t *testing.T) {
	numbers.Only(t)
	f, _ := judged(t, weak(0.9), pulls(3), sim.NewLogger(sim.CANMulti), slip.Options{Rollers: true}, 2)
	if f.Verdict != slip.Slips || f.OnsetTorque != nil || f.HighestTorqueHeld != nil {
		t.Errorf("%s, onset %v, held %v; want slips without a torque", f.Verdict, f.OnsetTorque, f.HighestTorqueHeld)
	}
	if !strings.Contains(f.Reason.String(), "strap") || !strings.Contains(f.Reason.String(), "tyre") {
		t.Errorf("reason %q names neither strap nor tyre", f.Reason)
	}
}

func TestOnlyAManualGearboxIsJudged(t *testing.T) {
	numbers.Only(t)
	for _, kind := range []vehicle.GearboxType{vehicle.Automatic, vehicle.DualClutch, vehicle.CVT} {
		car := weak(0.9)
		v := *car.Vehicle
		v.Gearbox.Type = kind
		car.Vehicle = &v
		f, _ := judged(t, car, pulls(2), sim.NewLogger(sim.CANMulti), slip.Options{}, 4)
		if f.Verdict != slip.Inconclusive || !strings.Contains(f.Reason.String(), "by design") {
			t.Errorf("%s: %s, %q", kind, f.Verdict, f.Reason)
		}
	}
}

// One ratio alone may be the end of a belt's way: that it slips is said only of a gearbox that is told to be manual. Two gears show steps.
func TestOneGearShowsNoGearbox(t *testing.T) {
	numbers.Only(t)
	car := weak(0.9)
	rng := rand.New(rand.NewPCG(5, 7))
	plan := []sim.Action{sim.Idle(5), sim.Launch(sim.NormalLaunch)}
	for range 4 {
		plan = append(plan, sim.Pull(3, 1800, 4200), sim.Cruise(70, 40), sim.Pull(4, 1800, 5200), sim.Cruise(90, 40))
	}
	truth := sim.Drive(car, sim.LevelRoad(), plan, rng)
	l := sim.NewLogger(sim.CANMulti).Record(truth, rng)
	for _, c := range []struct {
		gears string
		told  vehicle.GearboxType
		want  slip.Verdict
	}{{"4", "", slip.Inconclusive}, {"4", vehicle.Manual, slip.Slips}, {"34", "", slip.Slips}} {
		cal, f, _ := judgedLog(inGears(l, truth, c.gears), nil, slip.Options{Gearbox: c.told})
		if f.Verdict != c.want || len(cal.Gears) != len(c.gears) {
			t.Errorf("gears %s, told %q: %d gears learnt, %s, %q", c.gears, c.told, len(cal.Gears), f.Verdict, f.Reason)
		}
	}
}

// inGears is a log of what was recorded in some gears, each a digit, alone.
func inGears(l *drive.Log, truth *sim.Truth, gears string) *drive.Log {
	out := *l
	out.Channels = nil
	for _, c := range l.Channels {
		kept := *c
		kept.T, kept.V = nil, nil
		for i, at := range c.T {
			k := min(max(0, int(at/truth.Step)-1), len(truth.Gear)-1)
			if strings.ContainsRune(gears, rune('0'+truth.Gear[k])) {
				kept.T, kept.V = append(kept.T, at), append(kept.V, c.V[i])
			}
		}
		out.Channels = append(out.Channels, &kept)
	}
	return &out
}

// Without a loaded pull nothing is proved either way.
func TestEasyDrivingNeverHolds(t *testing.T) {
	numbers.Only(t)
	plan := []sim.Action{sim.Idle(5)}
	for range 4 {
		plan = append(plan, sim.Accelerate(45), sim.Cruise(45, 40), sim.Accelerate(70), sim.Cruise(70, 60),
			sim.Cruise(90, 60), sim.Stop(), sim.Idle(10))
	}
	f, _ := judged(t, weak(1.5), plan, sim.NewLogger(sim.CANMulti), slip.Options{}, 5)
	if f.Verdict != slip.Inconclusive || len(f.WhatToDrive) == 0 {
		t.Errorf("%s (%s), what to drive %v", f.Verdict, f.Reason, f.WhatToDrive)
	}
}

func TestStandstillSaysNothing(t *testing.T) {
	f, _ := judged(t, weak(0.9), []sim.Action{sim.Idle(20), sim.FreeRev(4200), sim.FreeRev(4200)},
		sim.NewLogger(sim.CANMulti), slip.Options{}, 6)
	if f.Verdict != slip.Inconclusive || len(f.Pulls) != 0 {
		t.Errorf("%s with %d pulls", f.Verdict, len(f.Pulls))
	}
}

// Full-throttle shifts without a lift, blips, double declutching and a late lift are no slip.
func TestWaysToShiftAreNoSlip(t *testing.T) {
	numbers.Only(t)
	for _, style := range []sim.ShiftStyle{sim.NormalShift, sim.QuickShift, sim.LateLift, sim.FullThrottle,
		sim.DoubleClutch, sim.RevMatched, sim.LazyShift, sim.EarlyThrottle} {
		plan := pulls(1)
		for range 3 {
			plan = append(plan, sim.Pull(2, 2000, 5200), sim.Shift(3, style), sim.Pull(3, 3000, 5000), sim.Shift(4, style),
				sim.Cruise(90, 5))
		}
		f, _ := judged(t, weak(1.6), plan, sim.NewLogger(sim.CANSequential), slip.Options{}, 8)
		if f.Verdict == slip.Slips {
			t.Errorf("shift style %v: slips (%s)", style, f.Reason)
		}
	}
}

func TestTorqueChannelThatDiffersIsSaid(t *testing.T) {
	numbers.Only(t)
	for _, c := range []struct {
		scale float64
		want  bool
	}{{1, false}, {1.3, true}} {
		rng := rand.New(rand.NewPCG(9, 7))
		car := weak(1.5)
		truth := sim.Drive(car, sim.LevelRoad(), pulls(4), rng)
		logger := sim.NewLogger(sim.CANMulti)
		logger.Fast = []string{drive.EngineSpeed, drive.VehicleSpeed, drive.EngineLoad, drive.EngineTorque}
		logger.Slow = []string{drive.ReferenceTorque}
		l := logger.Record(truth, rng)
		pct := l.Channel(drive.EngineTorque)
		if pct == nil || l.Channel(drive.ReferenceTorque) == nil {
			t.Fatal("the recorder has no torque channel")
		}
		for i := range pct.V {
			pct.V[i] *= c.scale
		}
		_, _, warnings := judgedLog(l, car.Vehicle, slip.Options{})
		said := false
		for _, w := range warnings {
			said = said || w.Code == "torque_channel_differs"
		}
		if said != c.want {
			t.Errorf("channel times %.1f: said %v, want %v (%v)", c.scale, said, c.want, warnings)
		}
	}
}

// Where neither throttle nor load was recorded, the hardest pulls count as the full ones; a torque is stated
// where a vehicle file gives one.
func TestWithoutALoadChannel(t *testing.T) {
	logger := sim.NewLogger(sim.CANMulti)
	logger.Fast, logger.Slow = []string{drive.EngineSpeed, drive.VehicleSpeed}, []string{drive.CoolantTemp}
	rng := rand.New(rand.NewPCG(12, 7))
	car := weak(1.5)
	l := logger.Record(sim.Drive(car, sim.LevelRoad(), pulls(4), rng), rng)
	for _, known := range []bool{true, false} {
		veh := car.Vehicle
		if !known {
			veh = nil
		}
		_, f, _ := judgedLog(l, veh, slip.Options{})
		if known && (f.Verdict != slip.Holds || f.HighestTorqueHeld == nil || !strings.Contains(f.Reason.String(), "N m")) {
			t.Errorf("with a vehicle file: %s, %q", f.Verdict, f.Reason)
		}
		if !known && (f.Verdict != slip.Holds || f.HighestTorqueHeld != nil ||
			!strings.Contains(f.Reason.String(), "hardest pulls of this log")) {
			t.Errorf("without a vehicle file: %s, %q", f.Verdict, f.Reason)
		}
	}
}
