package drag_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"flywitness/analysis/drag"
	"flywitness/analysis/inertia"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/sim/engine"
	"flywitness/vehicle"
)

// A sitting of the tests: falls from 4800 to 1500 rpm, so that the holds stand at 2500 and 3500.
const low, high, peak = 2500, 3500, 5700

// job is two sittings of one engine whose inertia does not change; after is what differs after the job.
type job struct {
	seed   uint64
	diesel bool
	gives  engine.Gives
	link   engine.Link
	both   func(*engine.Day)
	after  func(*engine.Day)
	engine func(*engine.Engine) // after
	plan   [2]func([]engine.Phase) []engine.Phase
	opt    drag.Options
}

func (j job) run(t *testing.T) *drag.Finding {
	t.Helper()
	rng := rand.New(rand.NewPCG(j.seed, 77))
	e := engine.Random(rng)
	top := float64(peak)
	if j.diesel {
		e, top = engine.RandomDiesel(rng), 4600
	}
	if j.gives == (engine.Gives{}) {
		j.gives = engine.Everything()
	}
	if j.link == (engine.Link{}) {
		j.link = engine.CAN
	}
	after := *e
	if j.engine != nil {
		j.engine(&after)
	}
	var sides [2]*drag.Side
	var falls drag.Falls
	for k, car := range []*engine.Engine{e, &after} {
		d := engine.Usual()
		if j.both != nil {
			j.both(&d)
		}
		if k == 1 && j.after != nil {
			j.after(&d)
		}
		p := engine.Protocol(low, high, 15, top, 9, rng)
		if j.plan[k] != nil {
			p = j.plan[k](p)
		}
		log := j.link.Record(engine.Sit(car, d, p, rng), j.gives, rng)
		fuel := "petrol"
		if j.diesel {
			fuel = "diesel"
		}
		runs, _ := inertia.Measure([]*drive.Log{log}, &vehicle.Vehicle{Engine: vehicle.Engine{IdleRPM: e.IdleRPM,
			Fuel: fuel}}, nil, inertia.Options{})
		sides[k] = drag.Measure([]*drive.Log{log}, nil, runs, j.diesel, j.opt.IdleFlow)
		shape, err := inertia.ShapeOf(runs.FreeRevs(inertia.RevDown))
		if err != nil {
			t.Fatalf("the falls cannot be fitted: %v", err)
		}
		falls.Session[k] = []int{0}
		sum := 0.0
		for _, r := range shape.Runs {
			// At one speed, so that shapes that were fitted apart compare: the time that the fall takes per rpm at
			// 3000 rpm.
			sum -= math.Log(shape.Rate(3000, r.B)) / float64(len(shape.Runs))
		}
		falls.Mean[k], falls.Variance[k] = []float64{sum}, []float64{1e-5}
	}

	falls.Ln, falls.Runs, falls.DF = falls.Mean[0][0]-falls.Mean[1][0], 2e-5, 10
	f := drag.Correct(sides[0], sides[1], falls, j.opt)
	if f != nil {
		f.Uncorrected = stats.LogNormal(falls.Ln, math.Sqrt(falls.Runs))
	}
	return f
}

func codes(f *drag.Finding) (out []finding.Code) {
	for _, r := range f.Refusals {
		out = append(out, r.Code)
	}
	return out
}

// What raises the drag of falls and holds alike is taken out, whatever it was.
func TestDragIsTakenOut(t *testing.T) {
	for what, after := range map[string]func(*engine.Day){
		"nothing":       nil,
		"colder oil":    func(d *engine.Day) { d.Oil -= 15 },
		"thinner oil":   func(d *engine.Day) { d.Oil += 12 },
		"consumers":     func(d *engine.Day) { d.ConsumersOn = 150 },
		"a stiff belt":  func(d *engine.Day) { d.Belt = 1.4 },
		"gearbox oil":   func(d *engine.Day) { d.GearboxOil -= 25 },
		"free exhaust":  func(d *engine.Day) { d.FreeExhaust = 0.5 },
		"air, E5 to 10": func(d *engine.Day) { d.Stoichiometric, d.HeatValue = 14.1, 41.8 },
	} {
		for _, diesel := range []bool{false, true} {
			j := job{seed: 3, after: after, diesel: diesel, opt: drag.Options{Checklist: false}}
			if diesel {
				j.gives = engine.OfDiesel()
			}
			f := j.run(t)
			if f.Answer == nil {
				t.Errorf("%s, diesel %v: refused: %v", what, diesel, f.Refusals)
				continue
			}
			if math.Abs(f.Answer.Ln) > 2.2*math.Sqrt(f.Answer.Variance) {
				t.Errorf("%s, diesel %v: ratio %.3f +- %.3f, truly 1", what, diesel, math.Exp(f.Answer.Ln),
					math.Sqrt(f.Answer.Variance))
			}
		}
	}
}

// Everything that makes the flow, or the falls, tell of something else than the drag is refused by its own reason.
// Each has a drive.
func TestWhatFoolsItIsRefused(t *testing.T) {
	cold := func(d *engine.Day) { d.Coolant = 70 }
	shorter := func(p []engine.Phase) []engine.Phase {
		for i := range p {
			if p[i].Kind == engine.Hold {
				p[i].Seconds = 1
			}
		}
		return p
	}
	faster := func(p []engine.Phase) []engine.Phase {
		for i := range p {
			if p[i].Kind == engine.Hold {
				p[i].RPM *= 1.18
			}
		}
		return p
	}
	startsNow := func(p []engine.Phase) []engine.Phase {
		return append([]engine.Phase{{Kind: engine.Start, Seconds: 3}}, p...)
	}
	none := func(p []engine.Phase) []engine.Phase {
		return slices.DeleteFunc(p, func(x engine.Phase) bool { return x.Kind == engine.Hold })
	}
	for _, c := range []struct {
		name string
		job  job
		want finding.Code
	}{
		{"open loop", job{after: func(d *engine.Day) { d.OpenLoop = true }}, finding.HoldOpenLoop},
		{"rich on command", job{after: func(d *engine.Day) { d.Lambda = 0.95 }}, finding.HoldRich},
		{"vapour burnt off in the holds", job{after: func(d *engine.Day) { d.TrimDrift = -0.06 }}, finding.HoldDrifts},
		{"cold", job{both: cold}, finding.HoldCold},
		{"just started", job{plan: [2]func([]engine.Phase) []engine.Phase{nil, startsNow}}, finding.HoldEarly},
		{"one side warmer", job{after: func(d *engine.Day) { d.Coolant += 8 }}, finding.CoolantDiffers},
		{"another air meter", job{after: func(d *engine.Day) { d.Meter = 1.09 }}, finding.MetersDisagree},
		{"another fuel", job{after: func(d *engine.Day) { d.Stoichiometric, d.HeatValue = 9.87, 29.2 }},
			finding.MetersDisagree},
		{"air that leaks in behind the meter", job{gives: engine.Gives{Air: true}, after: func(d *engine.Day) { d.LeakGS = 0.8 }}, finding.SpeedsDisagree},
		{"late spark", job{after: func(d *engine.Day) { d.LateSpark = 0.12 }}, finding.SparkDiffers},
		{"late spark that is not told", job{gives: engine.Gives{Air: true, Trims: true}, after: func(d *engine.Day) { d.LateSpark = 0.12 }},
			finding.FlowTooDifferent},
		{"a little of it, the checklist kept", job{gives: engine.Gives{Air: true, Trims: true}, after: func(d *engine.Day) { d.LateSpark = 0.08 },
			opt: drag.Options{Checklist: true}}, finding.FlowTooDifferent},
		{"the manifold's pressure in the falls", job{after: func(d *engine.Day) { d.ShutAir = 1.6 }},
			finding.PressureInFalls},
		{"another cam", job{engine: func(e *engine.Engine) { e.Residual += 0.05; e.Efficiency *= 0.96 }},
			finding.PressureInFalls},
		{"the battery is charged in the falls of both", job{both: func(d *engine.Day) { d.FallChargeW = 500 }},
			finding.ChargesApart},
		{"the battery is charged in the falls of one", job{after: func(d *engine.Day) { d.FallChargeW = 500 }},
			finding.ChargesOneSide},
		// 250 W are a twentieth of what brakes a fall
		{"it is charged a little", job{after: func(d *engine.Day) { d.FallChargeW = 250 }}, finding.ChargesOneSide},
		{"a fan in the falls of one", job{after: func(d *engine.Day) { d.FallFan = true }}, finding.ConsumerOneSide},
		{"fuel in the falls of both", job{both: func(d *engine.Day) { d.KeepFuel = true }}, finding.FuelNotCut},
		{"fuel in the falls of one", job{after: func(d *engine.Day) { d.KeepFuel = true }}, finding.FuelCutDiffers},
		{"a remap", job{opt: drag.Options{Parts: []string{"remap"}}}, finding.FlowPartsChanged},
		{"held too briefly", job{plan: [2]func([]engine.Phase) []engine.Phase{nil, shorter}}, finding.HoldShort},
		{"an unsteady foot", job{after: func(d *engine.Day) { d.HoldWander = 20 }}, finding.HoldUnsteady},
		{"other speeds", job{plan: [2]func([]engine.Phase) []engine.Phase{nil, faster}}, finding.NoCommonSpeed},
		{"one side was not held", job{plan: [2]func([]engine.Phase) []engine.Phase{nil, none}}, finding.OneSideHeld},
		{"no air and no fuel", job{gives: engine.Gives{Oil: true}}, finding.HoldNoFlow},
		{"a meter that tells nothing", job{after: func(d *engine.Day) { d.MeterSD = 0.08 }, gives: engine.Gives{Air: true}},
			finding.HoldsDisagree},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.job.seed = 5
			f := c.job.run(t)
			if f == nil {
				t.Fatal("nothing was found at all")
			}
			held := slices.ContainsFunc(f.After, func(h drag.Hold) bool { return h.Why == c.want })
			if !held && !slices.Contains(codes(f), c.want) {
				t.Errorf("refused for %v, want %s", f.Refusals, c.want)
			}
			if f.Corrected != nil {
				t.Error("and corrected all the same")
			}
			for _, r := range f.Refusals {
				if r.Fact().String() == "" || r.Next().String() == "" {
					t.Errorf("%s has no words", r.Code)
				}
			}
		})
	}
}

// A hold of ten seconds on the slowest link, a value of air each second, tells the flow.
func TestHoldsOnASlowLinkAreUsed(t *testing.T) {
	short := func(p []engine.Phase) []engine.Phase {
		for i := range p {
			if p[i].Kind == engine.Hold {
				p[i].Seconds = 10
			}
		}
		return p
	}
	f := job{seed: 3, link: engine.KLine, gives: engine.Gives{Air: true}, plan: [2]func([]engine.Phase) []engine.Phase{short, short}}.run(t)
	for _, h := range append(slices.Clone(f.Before), f.After...) {
		if !h.Used {
			t.Errorf("the hold at %.0f rpm is not used: %s", h.RPM, h.Why)
		}
	}
}

// Who cannot hold the engine lets it idle: with the oil's temperature that takes out most of what colder oil and some of
// what a stiff belt drags, and makes nothing worse.
func TestIdleTakesOutSomeOfTheDrag(t *testing.T) {
	idling := func(p []engine.Phase) []engine.Phase {
		return append([]engine.Phase{{Kind: engine.Idle, Seconds: 20}},
			slices.DeleteFunc(p, func(x engine.Phase) bool { return x.Kind == engine.Hold || x.Kind == engine.Again })...)
	}
	for what, after := range map[string]func(*engine.Day){
		"nothing":    nil,
		"colder oil": func(d *engine.Day) { d.Oil -= 25 },
		"a belt":     func(d *engine.Day) { d.Belt = 1.5 },
	} {
		for seed := range uint64(4) {
			f := job{seed: seed, after: after, gives: engine.Gives{Air: true, Oil: true}, opt: drag.Options{IdleFlow: true},
				plan: [2]func([]engine.Phase) []engine.Phase{idling, idling}}.run(t)
			if f.Answer == nil {
				t.Errorf("%s: refused: %v", what, f.Refusals)
				continue
			}
			as := math.Log(f.Uncorrected.Value)
			if math.Abs(f.Answer.Ln) > 2.2*math.Sqrt(f.Answer.Variance) || after != nil && math.Abs(f.Answer.Ln) > math.Abs(as) {
				t.Errorf("%s: ln ratio %.3f +- %.3f, as driven %.3f, truly 0", what, f.Answer.Ln, math.Sqrt(f.Answer.Variance), as)
			}
		}
	}
}

// What forbids the ratio itself is what happens in the falls.
func TestFallsThatDifferTakeTheVote(t *testing.T) {
	for _, after := range []func(*engine.Day){func(d *engine.Day) { d.FallChargeW = 500 },
		func(d *engine.Day) { d.KeepFuel = true }, func(d *engine.Day) { d.ShutAir = 1.6 }} {
		if f := (job{seed: 6, after: after}).run(t); f.NoRatio == nil {
			t.Errorf("the ratio may stand beside %v", codes(f))
		}
	}
	if f := (job{seed: 6, after: func(d *engine.Day) { d.LateSpark = 0.12 }}).run(t); f.NoRatio != nil {
		t.Error("late spark in the holds is none of the falls' business")
	}
}

// Vapour from the tank is fuel that the trims take for a drag that fell. A valve that is told to be open on one side alone
// takes the fuel its weight, and the air, which knows nothing of it, decides.
func TestAnOpenValveTakesTheFuelItsWeight(t *testing.T) {
	purge := func(d *engine.Day) { d.Purge, d.PurgePct = 0.04, d.PurgePct+40 }
	hidden := engine.Everything()
	hidden.Purge = false
	told, not := (job{seed: 6, after: purge}).run(t), (job{seed: 6, after: purge, gives: hidden}).run(t)
	if told.Answer == nil || math.Abs(told.Answer.Ln) > 2.2*math.Sqrt(told.Answer.Variance) {
		t.Errorf("the valve is told, and the drag is taken for changed: %+v, %v", told.Answer, codes(told))
	}
	if t1, t2 := math.Abs(told.FlowChange.Value), math.Abs(not.FlowChange.Value); t1 > 1.2 || t2 < 2 {
		t.Errorf("4 %% of vapour are %.1f %% of the flow where the valve is told and %.1f %% where it is not", t1, t2)
	}
}

// A log in which nobody held the engine has nothing to say, and neither has a broken one.
func TestNothingHeld(t *testing.T) {
	if f := drag.Correct(nil, nil, drag.Falls{}, drag.Options{}); f != nil {
		t.Error("found something in nothing")
	}
	odd := &drive.Log{Channels: []*drive.Channel{{Name: drive.EngineSpeed,
		T: []float64{0, math.NaN(), 1, 2, 1, 3, 4, 5, math.Inf(1)}, V: []float64{800, 1, 2, 3, 4, math.NaN(), 0, 0, 0}},
		{Name: drive.AirFlow, T: []float64{1}, V: nil}}}
	if s := drag.Measure([]*drive.Log{odd, {}}, nil, nil, false, true); s.Held() {
		t.Error("a hold in rubble")
	}
}

// ladder is a car that warms up, with free revs between holds.
func ladder(seed uint64, meterSD float64, trims bool) *drag.Ladder {
	rng := rand.New(rand.NewPCG(seed, 78))
	e, d, gives := engine.Random(rng), engine.Usual(), engine.Everything()
	d.MeterSD, gives.Trims = meterSD, trims
	p := []engine.Phase{{Kind: engine.Idle, Seconds: 3}}
	for _, oil := range []float64{60, 69, 78, 87, 95} {
		hold := func(rpm float64) engine.Phase {
			return engine.Phase{Kind: engine.Hold, RPM: rpm, Seconds: 15, Oil: oil}
		}
		p = append(p, hold(low), hold(high))
		for range 3 {
			p = append(p, engine.Phase{Kind: engine.Fall, RPM: peak}, engine.Phase{Kind: engine.Idle, Seconds: 1.5})
		}
		p = append(p, hold(low), hold(high))
	}
	log := engine.CAN.Record(engine.Sit(e, d, append(p, engine.Phase{Kind: engine.Idle, Seconds: 1}), rng), gives, rng)
	runs, _ := inertia.Measure([]*drive.Log{log}, &vehicle.Vehicle{Engine: vehicle.Engine{IdleRPM: e.IdleRPM,
		Fuel: "petrol"}}, nil, inertia.Options{})
	return drag.Climb([]*drive.Log{log}, runs, false)
}

// A ladder comes out level where the flow tells the drag. A meter that wanders from hold to hold earns nothing,
// and one that shows the same whatever the engine does speaks against the method on that car.
func TestLadderEarnsOrNot(t *testing.T) {
	earned, blind, saved := 0, 0, 0
	for seed := range uint64(8) {
		if l := ladder(seed, 0, true); l != nil && l.Verdict == drag.Earned {
			earned++
			if l.DragChange < 4 || l.Left > l.DragChange/2 {
				t.Errorf("%.1f %% of %.1f %% left", l.Left, l.DragChange)
			}
		}
		if l := ladder(seed, 0.08, false); l != nil && l.Verdict == drag.Earned {
			blind++
		}
		if l := ladder(seed, 0.08, true); l != nil && l.Verdict == drag.Earned {
			saved++ // the trims know what the meter does not
		}
	}
	if earned < 6 || blind > 1 || saved < 6 {
		t.Errorf("%d of 8 ladders earn trust, %d of 8 with a meter that tells nothing, %d where the trims make up for it",
			earned, blind, saved)
	}
}

// A ladder whose flow does not answer switches the correction off on this car.
func TestRefutedLadderSwitchesItOff(t *testing.T) {
	no := &drag.Ladder{Verdict: drag.Refuted, Elasticity: stats.Normal(0.3, 0.05)}
	f := job{seed: 3, opt: drag.Options{Checklist: true, Ladder: no}}.run(t)
	if !slices.Contains(codes(f), finding.FlowNoAnswer) || f.Corrected != nil || f.Trust.Verdict != drag.Refuted {
		t.Errorf("%v, %+v", f.Refusals, f.Trust)
	}
}

// BenchmarkMeasure looks for holds in a day of driving at 20 values a second in which nobody holds the engine.
func BenchmarkMeasure(b *testing.B) {
	const n = 24 * 3600 * 20
	rpm := &drive.Channel{Name: drive.EngineSpeed, T: make([]float64, n), V: make([]float64, n)}
	speed := &drive.Channel{Name: drive.VehicleSpeed, T: rpm.T, V: make([]float64, n)}
	rng := rand.New(rand.NewPCG(1, 1))
	for i := range n {
		t := float64(i) / 20
		rpm.T[i] = t
		if int(t/40)%4 == 0 {
			rpm.V[i] = 850 + 10*rng.NormFloat64()
		} else {
			rpm.V[i], speed.V[i] = 2200+400*math.Sin(t/9)+5*rng.NormFloat64(), 60
		}
	}
	l := &drive.Log{Channels: []*drive.Channel{rpm, speed}}
	b.ResetTimer()
	for range b.N {
		drag.Measure([]*drive.Log{l}, nil, nil, false, false)
	}
}

// What is likely to be in the falls of one side alone leaves the uncorrected ratio less sure: of a fan by the 5 % that it
// adds to the drag. So does a flow that changed and may tell the drag or not: by half of the square of what it would be
// worth. A like pair of sittings stays as sure as it was.
func TestWhatIsLikelyWidensTheRatio(t *testing.T) {
	variance := 0.03 * 0.03
	unsure := func(f *drag.Finding) float64 { return math.Sqrt(f.Unsure(math.Log(f.Uncorrected.Value), variance)) }
	if f := (job{seed: 6}).run(t); unsure(f) > 0.005 || f.NoRatio != nil {
		t.Errorf("two like sittings: %v, %v", unsure(f), codes(f))
	}
	f := (job{seed: 6, after: func(d *engine.Day) { d.FallFan = true }}).run(t)
	if math.Abs(unsure(f)-0.05) > 0.001 {
		t.Errorf("a fan in the falls: %v, %v", unsure(f), codes(f))
	}
	// 12 % less efficiency take some 11 % more flow, which as drag would be 13 %; half of its square is 0.09 squared
	gives := engine.Everything()
	gives.Spark = false
	f = job{seed: 6, gives: gives, after: func(d *engine.Day) { d.LateSpark = 0.12 }}.run(t)
	if sd := unsure(f); sd < 0.07 || sd > 0.11 {
		t.Errorf("late spark: %v, %v", sd, codes(f))
	}
	// and where the spark tells that it is no drag, nothing
	if f = (job{seed: 6, after: func(d *engine.Day) { d.LateSpark = 0.12 }}).run(t); unsure(f) != 0 {
		t.Errorf("late spark that is told: %v, %v", unsure(f), codes(f))
	}
}

// Where no hold of a side counts, it is said why, and not that the sides share no speed.
func TestHoldsThatDoNotCountSayWhy(t *testing.T) {
	f := job{seed: 5, after: func(d *engine.Day) { d.OpenLoop = true }}.run(t)
	if got := codes(f); !slices.Contains(got, finding.HoldOpenLoop) || slices.Contains(got, finding.NoCommonSpeed) {
		t.Errorf("refused for %v", got)
	}
}
