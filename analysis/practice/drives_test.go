package practice_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"flywitness/analysis/compare"
	"flywitness/analysis/inertia"
	"flywitness/analysis/inertia/testcar"
	"flywitness/analysis/practice"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/sim"
	"flywitness/vehicle"
)

// A drive of the tests is the test car with one fault, a logger with one fault, or a log that was damaged afterwards.
type fault struct {
	car    *testcar.Car
	from   float64 // m/s
	phases []testcar.Phase
	link   testcar.Link
	veh    *vehicle.Vehicle
	damage func(*drive.Log)
}

func seeded(n uint64) *rand.Rand { return rand.New(rand.NewPCG(n, 31)) }

// free is six good free revs from 5300 rpm at 20 Hz.
func free() fault {
	return fault{car: testcar.Small(), phases: testcar.FreeRevs(6, 5300, 0.01, seeded(1)), link: testcar.CANMulti}
}

func (f fault) log() *drive.Log {
	l := f.link.Record(f.car.Drive(f.from, f.phases), seeded(2))
	if f.damage != nil {
		f.damage(l)
	}
	return l
}

func (f fault) measure() (*inertia.Finding, []finding.Finding) {
	return inertia.Measure([]*drive.Log{f.log()}, f.veh, nil, inertia.Options{})
}

// tops returns the moments at which engine speed turns from rising to falling well above 3000 rpm.
func tops(l *drive.Log) []float64 {
	c := l.Channel(drive.EngineSpeed)
	var out []float64
	for i := 1; i < c.Len()-1; i++ {
		if c.V[i] > 3000 && c.V[i] >= c.V[i-1] && c.V[i] > c.V[i+1] && (len(out) == 0 || c.T[i] > out[len(out)-1]+3) {
			out = append(out, c.T[i])
		}
	}
	return out
}

// without cuts what the channels show between two moments, s.
func without(l *drive.Log, from, to float64) {
	for _, c := range l.Channels {
		k := 0
		for i, t := range c.T {
			if t < from || t > to {
				c.T[k], c.V[k] = t, c.V[i]
				k++
			}
		}
		c.T, c.V = c.T[:k], c.V[:k]
	}
}

// stepped adds a channel that shows one value before a moment and another after it.
func stepped(l *drive.Log, name string, at, before, after float64) {
	c := &drive.Channel{Name: name}
	_, end := l.Span()
	for t := 0.0; t < end; t += 0.25 {
		v := before
		if t >= at {
			v = after
		}
		c.T, c.V = append(c.T, t), append(c.V, v)
	}
	l.Channels = append(l.Channels, c)
}

// rolled is engine speed and road speed of the test car that starts at a road speed in km/h.
func rolled(kmh float64, phases ...testcar.Phase) fault {
	f := free()
	f.from, f.phases = kmh/3.6, phases
	f.link.Poll = []string{drive.EngineSpeed, drive.VehicleSpeed}
	return f
}

// pulled is what the simulator's car shows of pulls in some gears.
func pulled(link sim.Link, change func(*sim.Car, *sim.Logger), plan ...sim.Action) (*inertia.Finding,
	[]finding.Finding) {
	car, rng := sim.BenchMule(), seeded(3)
	lg := sim.NewLogger(link)
	if change != nil {
		change(&car, &lg)
	}
	l := lg.Record(sim.Drive(car, sim.LevelRoad(), plan, rng), rng)
	return inertia.Measure([]*drive.Log{l}, car.Vehicle, nil, inertia.Options{})
}

// runDrives has a drive for every reason for which a run is refused.
var runDrives = map[finding.Code]func() (*inertia.Finding, []finding.Finding){
	finding.VehicleMoving: func() (*inertia.Finding, []finding.Finding) {
		f := rolled(4, free().phases...)
		f.car.F0, f.car.F1 = 0, 0 // the car creeps on a slope
		return f.measure()
	},
	finding.PeakTooLow: func() (*inertia.Finding, []finding.Finding) {
		f := free()
		f.phases = testcar.FreeRevs(6, 2500, 0.01, seeded(1))
		return f.measure()
	},
	finding.RoseAgain: func() (*inertia.Finding, []finding.Finding) {
		f := free()
		f.phases = nil
		for range 4 { // caught at 2500 rpm on the way down
			f.phases = append(f.phases, testcar.Phase{Time: 3}, testcar.Phase{Time: 6, Until: 5000 * testcar.RPM, Open: 0.5},
				testcar.Phase{Time: 6, Until: 2500 * testcar.RPM}, testcar.Phase{Time: 6, Until: 3500 * testcar.RPM, Open: 0.5},
				testcar.Phase{Time: 5})
		}
		return f.measure()
	},
	finding.CutShort: func() (*inertia.Finding, []finding.Finding) {
		f := free()
		f.damage = func(l *drive.Log) { without(l, tops(l)[2]+0.8, 1e9) }
		return f.measure()
	},
	finding.TooFewSamples: func() (*inertia.Finding, []finding.Finding) {
		f := free()
		f.phases = testcar.FreeRevs(6, 4000, 0.01, seeded(1))
		f.link = testcar.Link{Rate: 2.5, Jitter: 0.02, Interval: 0.1, Poll: []string{drive.EngineSpeed, drive.VehicleSpeed}}
		return f.measure()
	},
	finding.SpanTooSmall: func() (*inertia.Finding, []finding.Finding) {
		f := free()
		f.car.Idle = 1300 * testcar.RPM // fast idle
		f.phases = testcar.FreeRevs(6, 3600, 0.01, seeded(1))
		return f.measure()
	},
	finding.Gap: func() (*inertia.Finding, []finding.Finding) {
		f := free()
		f.damage = func(l *drive.Log) { at := tops(l)[2]; without(l, at+0.8, at+1.35) }
		return f.measure()
	},
	finding.RateImplausible: func() (*inertia.Finding, []finding.Finding) {
		f := free()
		f.car.Drag = func(float64) float64 { return 5 }
		for i := range f.phases {
			if f.phases[i].Open == 0 {
				f.phases[i].Time = 25
			}
		}
		return f.measure()
	},
	finding.ThrottleOpen: func() (*inertia.Finding, []finding.Finding) {
		return pulled(sim.CANMulti, nil, footOn(0.06)...)
	},
	finding.ThrottleHeldByCar: func() (*inertia.Finding, []finding.Finding) {
		f := free()
		f.car.HangTime, f.car.HangOpen = 1.6, 0.05
		f.phases = testcar.FreeRevs(6, 3800, 0.01, seeded(1))
		f.link.Rate = 40
		f.link.Poll, f.link.ClosedPct = []string{drive.EngineSpeed, drive.Throttle, drive.Pedal}, 15
		return f.measure()
	},
	finding.KeptFuelling: func() (*inertia.Finding, []finding.Finding) {
		f := free()
		f.damage = func(l *drive.Log) { stepped(l, drive.FuelSystemStatus, tops(l)[0]+4, 2, 4) }
		return f.measure()
	},
	finding.DiffersFromOthers: func() (*inertia.Finding, []finding.Finding) {
		f := free()
		f.phases[3].Drag, f.phases[5].Drag = 0.8, 1 // the second rev: a throttle that was not shut and not logged
		return f.measure()
	},
	finding.NotRepeated: func() (*inertia.Finding, []finding.Finding) {
		f := free()
		for i, torque := range []float64{1, 0.5, 1.6, 1.2, 0.65, 2} { // a starter-generator that brakes and drives
			f.phases[1+2*i].Drag = torque
		}
		return f.measure()
	},
	finding.FootMixed: func() (*inertia.Finding, []finding.Finding) {
		f := free()
		f.damage = func(l *drive.Log) { stepped(l, drive.ClutchSwitch, tops(l)[1]+4, 1, 0) }
		return f.measure()
	},
	finding.WholeSeconds: func() (*inertia.Finding, []finding.Finding) {
		f := free()
		f.link = testcar.Link{Rate: 1, WholeSecs: true}
		return f.measure()
	},
	finding.ThrottleByWire: func() (*inertia.Finding, []finding.Finding) { return free().measure() },
	finding.PictureOnly: func() (*inertia.Finding, []finding.Finding) {
		f := free()
		f.veh = &vehicle.Vehicle{Engine: vehicle.Engine{IdleRPM: 850, Throttle: "cable"}}
		return f.measure()
	},
	finding.Braked: func() (*inertia.Finding, []finding.Finding) {
		f := rolled(90, testcar.Phase{Time: 10})
		f.car.F0 = 2600
		return f.measure()
	},
	finding.Pushed: func() (*inertia.Finding, []finding.Finding) {
		car, rng := sim.BenchMule(), seeded(3)
		plan := []sim.Action{sim.FreeRev(5000), sim.FreeRev(5000), sim.FreeRev(5000), sim.FreeRev(5000)}
		for range 3 {
			plan = append(plan, sim.Overrun(2, 5000, 1400), sim.Coast(75, 30))
		}
		truth := sim.Drive(car, sim.LevelRoad(), plan, rng)
		l := sim.NewLogger(sim.CANMulti).Record(truth, rng)
		last := truth.Labelled("overrun")[2]
		for _, c := range l.Channels { // downhill it takes twice as long
			for i, t := range c.T {
				c.T[i] += math.Max(0, math.Min(t, last.EndS)-last.StartS)
			}
		}
		return inertia.Measure([]*drive.Log{l}, car.Vehicle, nil, inertia.Options{})
	},
	finding.TooShort: func() (*inertia.Finding, []finding.Finding) {
		return rolled(60, testcar.Phase{Time: 4}, testcar.Phase{Time: 20, Gear: 3, Open: 0.3}).measure()
	},
	finding.PullSpanTooSmall: func() (*inertia.Finding, []finding.Finding) {
		return pulled(sim.CANMulti, nil, sim.Accelerate(40), sim.Pull(4, 2400, 3000))
	},
	finding.PullTooShort: func() (*inertia.Finding, []finding.Finding) {
		return pulled(sim.CANMulti, func(_ *sim.Car, l *sim.Logger) { l.RateHz = 1 }, sim.Accelerate(30),
			sim.Pull(3, 3000, 5000), sim.Pull(3, 3000, 5000))
	},
	finding.TorqueByGear: func() (*inertia.Finding, []finding.Finding) {
		return pulled(sim.CANMulti, func(c *sim.Car, l *sim.Logger) {
			c.Engine.GearLimitNm = []float64{0, 140}
			l.Fast = []string{drive.EngineSpeed, drive.VehicleSpeed, drive.Throttle, drive.IntakePressure}
		},
			sim.Accelerate(30), sim.Pull(2, 2400, 5000), sim.Pull(3, 2400, 5000), sim.Pull(2, 2400, 5000),
			sim.Pull(3, 2400, 5000))
	},
}

// footOn is four free revs with the accelerator left a little open on the way down.
func footOn(opening float64) []sim.Action {
	plan := []sim.Action{sim.Idle(5)}
	for range 4 {
		plan = append(plan, sim.FreeRevWith(4300, sim.RevStyle{NotShut: opening}))
	}
	return plan
}

// Every reason for refusing a run has a drive that has just that fault; the reason, the sentence and the next
// step are those of the table. The fault is what makes the difference: without it the six free revs are all
// used.
func TestEveryRefusalHasItsDrive(t *testing.T) {
	clean, _ := free().measure()
	if n := len(clean.FreeRevs(inertia.RevDown)); n != 6 {
		t.Fatalf("%d of 6 good free revs used", n)
	}
	list, _ := practice.Sayings()
	for _, s := range list {
		drives, ok := runDrives[s.Code]
		if !ok {
			t.Errorf("%s has no drive", s.Code)
			continue
		}
		f, _ := drives()
		n := 0
		seen := map[finding.Code]int{}
		for _, r := range f.Runs {
			if !r.Used {
				seen[r.Why]++
			}
			if r.Why != s.Code {
				continue
			}
			n++
			if r.Used || !strings.HasSuffix(r.WhyNot.String(), ": "+finding.Example(s.Code).Next().String()) ||
				!like(r.WhyNot.String(), s.Code) {
				t.Errorf("%s: used %v, the reason reads %q", s.Code, r.Used, r.WhyNot)
			}
		}
		if n == 0 {
			t.Errorf("%s: not given; the drive's reasons are %v", s.Code, seen)
		}
	}
	if len(runDrives) != len(list) {
		t.Errorf("%d drives for %d reasons", len(runDrives), len(list))
	}
}

// like tells whether a sentence begins as the example of its code does, up to the first number.
func like(sentence string, code finding.Code) bool {
	example := finding.Example(code).String()
	if i := strings.IndexAny(example, "0123456789"); i >= 0 {
		example = example[:i]
	}
	return strings.HasPrefix(sentence, example)
}

// sides is two sides of the comparison with six good free revs each, after with less inertia.
func sides() (before, after compare.Side) {
	side := func(i float64) compare.Side {
		f := free()
		f.car.Inertia = i
		s := compare.Side{Logs: []*drive.Log{f.log()}}
		s.Inertia, _ = inertia.Measure(s.Logs, nil, nil, inertia.Options{})
		return s
	}
	return side(0.22), side(0.15)
}

// headed compares two good sides with a header line in each.
func headed(key, before, after string) func() []finding.Finding {
	return func() []finding.Finding {
		b, a := sides()
		b.Logs[0].Header = append(b.Logs[0].Header, drive.Field{Key: key, Value: before})
		a.Logs[0].Header = append(a.Logs[0].Header, drive.Field{Key: key, Value: after})
		_, w := compare.Compare(b, a, compare.Options{})
		return w
	}
}

// setDrives has a drive for everything that is said of a whole set.
var setDrives = map[finding.Code]func() []finding.Finding{
	finding.SoftLimitMet: func() []finding.Finding {
		f := free()
		f.car.Limit = 3950 * testcar.RPM
		f.veh = &vehicle.Vehicle{Engine: vehicle.Engine{IdleRPM: 850, LimitRPM: 6500}}
		for i := range f.phases {
			if f.phases[i].Open > 0 {
				f.phases[i].Until, f.phases[i].Time = 0, 2.5
			}
		}
		_, w := f.measure()
		return w
	},
	finding.EngineStopped: func() []finding.Finding {
		f := free()
		f.phases[4].Time = 14
		f.damage = func(l *drive.Log) { // stops two seconds after the second rev is down, and starts again for the third
			at := tops(l)
			c := l.Channel(drive.EngineSpeed)
			for i, t := range c.T {
				if c.V[i] < 1000 && t > at[1]+3 && t < at[2]-2 {
					c.V[i] = 0
				}
			}
		}
		_, w := f.measure()
		return w
	},
	finding.FootDiffers: func() []finding.Finding {
		b, a := sides()
		on, off := true, false
		b.FootOnClutch, a.FootOnClutch = &on, &off
		_, w := compare.Compare(b, a, compare.Options{})
		return w
	},
	finding.DifferentVehicle:   headed("vin", "TESTCAR0000000001", "TESTCAR0000000002"),
	finding.CalibrationDiffers: headed("calibration_verification", "1A2B3C4D", "99887766"),
	finding.StillLearning:      headed("distance_since_cleared_km", "900", "12"),
	finding.NoBefore: func() []finding.Finding {
		_, a := sides()
		_, w := compare.Compare(compare.Side{}, a, compare.Options{})
		return w
	},
	finding.NoAfter: func() []finding.Finding {
		b, _ := sides()
		_, w := compare.Compare(b, compare.Side{}, compare.Options{})
		return w
	},
}

func TestEveryRemarkOnASetHasItsDrive(t *testing.T) {
	_, list := practice.Sayings()
	_, none := free().measure()
	b, a := sides()
	_, w := compare.Compare(b, a, compare.Options{})
	none = append(none, w...)
	for _, s := range list {
		drives, ok := setDrives[s.Code]
		if !ok {
			t.Errorf("%s has no drive", s.Code)
			continue
		}
		is := func(w finding.Finding) bool { return w.Code == s.Code }
		w := drives()
		i := slices.IndexFunc(w, is)
		if i < 0 {
			t.Errorf("%s: not said, only %v", s.Code, w)
		} else if m := w[i].String(); !strings.HasSuffix(m, ": "+finding.Example(s.Code).Next().String()) {
			t.Errorf("%s reads %q", s.Code, m)
		}
		if slices.ContainsFunc(none, is) {
			t.Errorf("%s is said of good logs", s.Code)
		}
	}
	if len(setDrives) != len(list) {
		t.Errorf("%d drives for %d remarks", len(setDrives), len(list))
	}
}

// lnRatio is the logarithm of the ratio of two sides, NaN when there is none.
func lnRatio(b, a compare.Side) float64 {
	f, _ := compare.Compare(b, a, compare.Options{})
	if f.Ratio == nil {
		return math.NaN()
	}
	return math.Log(f.Ratio.Value)
}
