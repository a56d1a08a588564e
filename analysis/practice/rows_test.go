package practice_test

import (
	"math"
	"os"
	"strings"
	"testing"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/compare"
	"flywitness/analysis/inertia"
	"flywitness/analysis/inertia/testcar"
	"flywitness/analysis/practice"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/sim"
	"flywitness/vehicle"
)

// used is how many free revs at rest of a drive are used, with the reasons for the others.
func used(f *inertia.Finding, _ []finding.Finding) (n int, why map[finding.Code]int) {
	why = map[finding.Code]int{}
	for _, r := range f.Runs {
		if r.Kind != inertia.RevUp && !r.Used {
			why[r.Why]++
		}
	}
	return len(f.FreeRevs(inertia.RevDown)), why
}

// pairOf is two sides with 0.22 and 0.15 kg m², each changed.
func pairOf(before, after func(*fault)) (b, a compare.Side) {
	side := func(i float64, change func(*fault)) compare.Side {
		f := free()
		f.car.Inertia = i
		if change != nil {
			change(&f)
		}
		s := compare.Side{Logs: []*drive.Log{f.log()}}
		s.Inertia, _ = inertia.Measure(s.Logs, nil, nil, inertia.Options{})
		return s
	}
	return side(0.22, before), side(0.15, after)
}

// near fails unless the ratio of a pair is the true one within 4 %, which is more than four standard errors at 20 Hz.
func near(t *testing.T, b, a compare.Side) {
	t.Helper()
	if d := lnRatio(b, a) - math.Log(0.22/0.15); !(math.Abs(d) < 0.04) {
		t.Errorf("ratio off by %.1f %%", 100*d)
	}
}

// What the rows of the table that touch inertia do to a drive, beside the refusals of TestEveryRefusalHasItsDrive.
var rows = map[practice.Key]func(*testing.T){
	practice.SoftLimit: func(t *testing.T) {
		b, a := pairOf(func(f *fault) { f.phases = testcar.FreeRevs(8, 3900, 0.01, seeded(4)) }, nil)
		near(t, b, a)
	},
	practice.RevHang: func(t *testing.T) {
		logged := func(f *fault) {
			f.link.Poll, f.link.Rate = []string{drive.EngineSpeed, drive.Throttle, drive.Pedal}, 60
		}
		b, a := pairOf(logged, func(f *fault) { logged(f); f.car.HangTime, f.car.HangOpen = 0.6, 0.06 })
		near(t, b, a)
	},
	practice.Rises: func(t *testing.T) {
		for _, throttle := range []string{"wire", "cable"} {
			f := free()
			f.veh = &vehicle.Vehicle{Engine: vehicle.Engine{IdleRPM: 850, Throttle: throttle}}
			got, _ := f.measure()
			n := 0
			for _, r := range got.Runs {
				if r.Kind == inertia.RevUp {
					n++
					if r.Used {
						t.Errorf("%s: a rise is used", throttle)
					}
				}
			}
			if n < 4 {
				t.Errorf("%s: %d rises listed of 6", throttle, n)
			}
		}
	},
	practice.RollingRevDown: func(t *testing.T) {
		roll := func(f *fault) {
			f.from, f.car.F0, f.car.F1, f.car.F2 = 15, 40, 0, 0
			f.link.Poll, f.link.Rate = []string{drive.EngineSpeed, drive.VehicleSpeed}, 40
		}
		b, a := pairOf(nil, roll)
		if n := len(a.Inertia.FreeRevs(inertia.RollingRevDown)); n < 4 {
			t.Errorf("%d rolling rev-downs used", n)
		}
		if r := lnRatio(b, a); !math.IsNaN(r) {
			t.Errorf("standing before and rolling after gives a ratio of %.2f", math.Exp(r))
		}
		b, a = pairOf(roll, roll)
		near(t, b, a)
	},
	practice.FootOnClutch: func(t *testing.T) { // on both sides it is a good cross-check
		b, a := sides()
		on, on2 := true, true
		b.FootOnClutch, a.FootOnClutch = &on, &on2
		near(t, b, a)
	},
	practice.StartStop: func(t *testing.T) {
		if w := setDrives[finding.EngineStopped](); len(w) == 0 {
			t.Error("not said")
		}
		f := free() // switched off at the end by the driver
		f.damage = func(l *drive.Log) {
			c := l.Channel(drive.EngineSpeed)
			at := tops(l)
			for i, x := range c.T {
				if x > at[len(at)-1]+4 {
					c.V[i] = 0
				}
			}
		}
		got, w := f.measure()
		if n, why := used(got, w); n < 5 {
			t.Errorf("%d used, refused %v", n, why)
		}
		for _, x := range w {
			if x.Code == finding.EngineStopped {
				t.Error("an engine that the driver switched off is called start-stop")
			}
		}
	},
	practice.ThrottleSignal: func(t *testing.T) {
		f := free()
		f.link.Poll, f.link.Rate, f.link.ClosedPct = []string{drive.EngineSpeed, drive.Throttle}, 40, 17
		if n, why := used(f.measure()); n != 6 {
			t.Errorf("closed at 17 %%: %d used, refused %v", n, why)
		}
		// Open in the falls of the second half; what it means depends on the channel and on the fuel.
		open := func(channel string, closed, open float64, fuel string) (int, map[finding.Code]int) {
			f := free()
			f.veh = &vehicle.Vehicle{Engine: vehicle.Engine{IdleRPM: 850, Fuel: fuel}}
			f.damage = func(l *drive.Log) { stepped(l, channel, tops(l)[2]-1, closed, open) }
			return used(f.measure())
		}
		for _, c := range []struct {
			channel      string
			closed, open float64
			fuel         string
			want         int
		}{
			{drive.Throttle, 15, 25, "petrol", 2}, {drive.Throttle, 15, 25, "diesel", 6},
			{drive.DemandedTorque, 0, 15, "petrol", 2}, {drive.DemandedTorque, 0, 15, "diesel", 2},
			{drive.Pedal, 0, 6, "diesel", 2},
			{drive.IntakePressure, 30, 70, "petrol", 2}, {drive.IntakePressure, 100, 140, "diesel", 6},
		} {
			if n, why := open(c.channel, c.closed, c.open, c.fuel); n != c.want || c.want < 6 &&
				why[finding.ThrottleOpen] != 6-c.want {
				t.Errorf("%s of a %s from %v to %v: %d used, want %d; refused %v", c.channel, c.fuel, c.closed, c.open, n, c.want,
					why)
			}
		}
	},
	practice.SpeedResolution: func(t *testing.T) {
		for _, step := range []float64{10, 25, 40} {
			coarse := func(f *fault) { f.link.RPMStep = step }
			b, a := pairOf(coarse, coarse)
			if n, why := used(b.Inertia, nil); n != 6 {
				t.Errorf("steps of %v rpm: %d used, refused %v", step, n, why)
			}
			near(t, b, a)
		}
	},
	practice.SlowLink: func(t *testing.T) {
		f := free()
		f.link = testcar.Link{Rate: 3.5, Jitter: 0.03, Interval: 0.1}
		alone, _ := used(f.measure())
		f.link.Poll = []string{drive.EngineSpeed, drive.VehicleSpeed, drive.Throttle}
		shared, why := used(f.measure())
		if alone != 6 || shared > 3 || why[finding.TooFewSamples] == 0 {
			t.Errorf("%d used of engine speed alone, %d beside two other values, refused %v", alone, shared, why)
		}
	},
	practice.TorqueDiffers: func(t *testing.T) { // equal torque: every gear is used
		f, _ := pulled(sim.CANMulti, func(c *sim.Car, l *sim.Logger) {
			c.Engine.GearLimitNm, c.Engine.Boosted = nil, 0
			l.Fast = []string{drive.EngineSpeed, drive.VehicleSpeed, drive.Throttle, drive.IntakePressure}
		}, sim.Accelerate(30), sim.Pull(2, 2400, 5000), sim.Pull(3, 2400, 5000), sim.Pull(2, 2400, 5000),
			sim.Pull(3, 2400, 5000))
		n := map[int]int{}
		for _, r := range f.Runs {
			if r.Kind == inertia.PullRun && r.Used {
				n[r.Gear]++
			}
		}
		if n[2] != 2 || n[3] != 2 {
			t.Errorf("pulls used by gear %v, want two in second and in third", n)
		}
	},
	practice.RevMatch: func(t *testing.T) {
		var plan []sim.Action
		for range 4 {
			plan = append(plan, sim.Accelerate(80), sim.Shift(4, sim.NormalShift), sim.Cruise(70, 3),
				sim.Shift(3, sim.RevMatched), sim.Shift(2, sim.RevMatched), sim.Cruise(50, 5))
		}
		f, _ := pulled(sim.CANMulti, nil, plan...)
		if n := len(f.FreeRevs(inertia.RevDown)) + len(f.FreeRevs(inertia.RollingRevDown)); n > 0 {
			t.Errorf("%d blips are used as free revs", n)
		}
	},
	practice.ForeignTorque: func(t *testing.T) {
		erratic := func(f *fault) {
			for i, torque := range []float64{1, 0.5, 1.6, 1.2, 0.65, 2} {
				f.phases[1+2*i].Drag = torque
			}
		}
		b, a := pairOf(nil, erratic)
		if f, _ := compare.Compare(b, a, compare.Options{}); f.Verdict != compare.Inconclusive || f.Ratio != nil {
			t.Errorf("%s (%s)", f.Verdict, f.Reason)
		}
	},
	practice.PaperMass: func(t *testing.T) {
		rng, car := seeded(5), sim.BenchMule()
		plan := []sim.Action{sim.Idle(5)}
		for range 6 {
			plan = append(plan, sim.FreeRev(4500))
		}
		for range 2 {
			plan = append(plan, sim.Overrun(3, 4500, 1500), sim.Coast(90, 40), sim.Overrun(2, 4800, 1500), sim.Coast(90, 40))
		}
		logs := []*drive.Log{sim.NewLogger(sim.CANMulti).Record(sim.Drive(car, sim.LevelRoad(), plan, rng), rng)}
		cal, _ := calibrate.Learn(logs, car.Vehicle)
		sd := func(of float64) float64 {
			v := *car.Vehicle
			v.MassSD = of * v.Mass
			f, _ := inertia.Measure(logs, &v, cal, inertia.Options{})
			if f.Inertia == nil {
				t.Fatal("no inertia")
			}
			return f.Inertia.SD / f.Inertia.Value
		}
		papers, scales := sd(0.04), sd(0.015)
		if want := math.Sqrt(0.04*0.04 - 0.015*0.015); math.Abs(math.Sqrt(papers*papers-scales*scales)-want) > 0.003 {
			t.Errorf("sd %.4f from the papers and %.4f weighed, want the mass to make a difference of %.4f", papers, scales,
				want)
		}
	},
	practice.OneSide: func(t *testing.T) {
		_, a := sides()
		if f, _ := compare.Compare(compare.Side{}, a, compare.Options{}); f.Verdict != compare.Inconclusive ||
			!strings.Contains(f.Reason.String(), "no longer") {
			t.Errorf("%s (%s)", f.Verdict, f.Reason)
		}
	},
}

// Rows with a test of their own, by file and name.
var elsewhere = map[practice.Key][2]string{
	practice.FootBrake:        {"../inertia/runs_test.go", "TestBrakedOverrunsDoNotRaiseTheInertia"},
	practice.Rollers:          {"../inertia/runs_test.go", "TestRollersGiveNoAbsoluteInertia"},
	practice.SessionSpread:    {"../compare/verdict_test.go", "TestOneSessionShowsLargeChangesOnly"},
	practice.OtherCar:         {"../compare/verdict_test.go", "TestOtherCarOrTuneIsNotCompared"},
	practice.OtherTune:        {"../compare/verdict_test.go", "TestOtherCarOrTuneIsNotCompared"},
	practice.WeightAlone:      {"../part/part_test.go", "TestWeightAloneIsARange"},
	practice.SpeedSource:      {"../calibrate/learn_test.go", "TestCreepOfAnUndrivenSource"},
	practice.BeddingIn:        {"../slip/judge_test.go", "TestBeddingInIsAGate"},
	practice.NotManual:        {"../slip/judge_test.go", "TestOnlyAManualGearboxIsJudged"},
	practice.FlatShift:        {"../slip/judge_test.go", "TestWaysToShiftAreNoSlip"},
	practice.TorqueChannel:    {"../slip/judge_test.go", "TestTorqueChannelThatDiffersIsSaid"},
	practice.FourWheelDrive:   {"../slip/driveline_faults_test.go", "TestFourWheelDriveIsSaid"},
	practice.DualMassFlywheel: {"../slip/driveline_faults_test.go", "TestTipInShuffleIsNoSlip"},
	practice.ClutchHeat:       {"../../cmd/logger/guide/guide_test.go", "TestGuideSparesTheClutch"},
}

func TestEveryRowIsTested(t *testing.T) {
	for _, e := range practice.Entries() {
		at, named := elsewhere[e.Key]
		switch check := rows[e.Key]; {
		case check != nil:
			t.Run(string(e.Key), check)
		case named:
			if text, err := os.ReadFile(at[0]); err != nil || !strings.Contains(string(text), "func "+at[1]+"(t *testing.T)") {
				t.Errorf("%s: there is no %s in %s", e.Key, at[1], at[0])
			}
		default:
			t.Errorf("%s has no test", e.Key)
		}
	}
	if n := len(rows) + len(elsewhere); n != len(practice.Entries()) {
		t.Errorf("tests for %d rows of %d", n, len(practice.Entries()))
	}
}
