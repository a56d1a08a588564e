package sim

import (
	"math"
	"testing"
)

func peakRPM(tr *Truth, l Label) float64 {
	most := 0.0
	for i := tr.At(l.StartS); i < tr.At(l.EndS); i++ {
		most = max(most, tr.EngineRPM[i])
	}
	return most
}

// A free rev reaches its peak and falls to idle, standing, in neutral, foot off the clutch.
func TestFreeRev(t *testing.T) {
	for _, c := range Cars() {
		want := 0.6 * c.Vehicle.Engine.LimitRPM
		tr := Drive(c, LevelRoad(), []Action{FreeRev(want), FreeRev(want)}, source(1))
		if c.Engine.SoftLimitRPM > 0 {
			want = min(want, c.Engine.SoftLimitRPM)
		}
		for _, l := range tr.Labelled("free_rev") {
			near(t, c.Vehicle.Name+" peak", peakRPM(tr, l), want, 0.06)
			near(t, c.Vehicle.Name+" end", tr.EngineRPM[tr.At(l.EndS)-1], c.Vehicle.Engine.IdleRPM, 0.12)
		}
		for i := range tr.T {
			if tr.GroundKmh[i] != 0 || tr.Gear[i] != 0 || tr.Engagement[i] != 1 {
				t.Fatalf("%s at %.2f s: moving, in gear or foot on the clutch", c.Vehicle.Name, tr.T[i])
			}
		}
	}
}

// The ways of spoiling a free rev do spoil it.
func TestFreeRevStyles(t *testing.T) {
	c := quiet()
	shape := func(s RevStyle) (tr *Truth, fall float64) {
		tr = Drive(c, LevelRoad(), []Action{FreeRevWith(5000, s)}, source(1))
		peak := 0
		for i, n := range tr.EngineRPM {
			if n > tr.EngineRPM[peak] {
				peak = i
			}
		}
		for i := peak; i < tr.Len(); i++ {
			if tr.EngineRPM[i] < 2000 {
				return tr, tr.T[i] - tr.T[peak]
			}
		}
		return tr, math.Inf(1)
	}
	_, clean := shape(RevStyle{})
	if _, f := shape(RevStyle{NotShut: 0.02}); f < 1.1*clean {
		t.Errorf("throttle not shut: falls in %.2f s, clean %.2f s", f, clean)
	}
	if _, f := shape(RevStyle{FootOnClutch: true}); f > 0.99*clean || f < 0.85*clean {
		t.Errorf("foot on the clutch: falls in %.2f s, clean %.2f s", f, clean)
	}
	if _, f := shape(RevStyle{Reblip: true}); f < 1.3*clean {
		t.Errorf("re-blip: falls in %.2f s, clean %.2f s", f, clean)
	}
	tr, _ := shape(RevStyle{AtLimiter: 0.5})
	if p := peakRPM(tr, tr.Labels[0]); p < 6500 {
		t.Errorf("against the limiter: peak %.0f", p)
	}
}

// Each way of changing gear ends locked in the new gear, and full throttle stays full.
func TestShiftStyles(t *testing.T) {
	for s := NormalShift; s <= EarlyThrottle; s++ {
		for _, to := range []int{2, 4} {
			tr := Drive(BenchMule(), LevelRoad(), []Action{Accelerate(60), Pull(3, 2500, 3200), Shift(to, s), Cruise(70, 5)}, source(2))
			l := tr.Labelled("shift")[0]
			i := tr.At(l.EndS) - 1
			if int(tr.Gear[i]) != to || tr.Clutch[i] != Stuck {
				t.Errorf("style %d: gear %d, clutch %d", s, tr.Gear[i], tr.Clutch[i])
			}
		}
	}
	tr := Drive(BenchMule(), LevelRoad(), []Action{PullWith(2, 2500, 5500, PullStyle{UpTo: 4, Shifts: FullThrottle})}, source(2))
	least, seen := 100.0, map[int8]bool{}
	for i := tr.At(tr.Labels[0].EndS) - 250; i < tr.At(tr.Labels[0].EndS)-60; i++ {
		least = min(least, tr.Pedal[i])
	}
	for _, g := range tr.Gear {
		seen[g] = true
	}
	if least < 99 || !seen[3] || !seen[4] {
		t.Errorf("full-throttle shifts: pedal down to %.0f %%, gears %v", least, seen)
	}
}

// A pull, an overrun and a coast cover the speeds asked for in the state asked for.
func TestPullOverrunCoast(t *testing.T) {
	for _, c := range Cars() {
		limit := c.Vehicle.Engine.LimitRPM
		tr := Drive(c, LevelRoad(), []Action{Pull(4, 0.3*limit, 0.6*limit), Overrun(3, 0.6*limit, 0.3*limit), Coast(80, 50)}, source(1))
		pull, over, coast := tr.Labels[0], tr.Labels[1], tr.Labels[2]
		full, start := 0.0, 0.0
		for i := tr.At(pull.StartS); i < tr.At(pull.EndS); i++ {
			if tr.Throttle[i] > 97 && tr.Gear[i] == 4 && tr.Clutch[i] == Stuck {
				if start == 0 {
					start = tr.EngineRPM[i]
				}
				full = tr.EngineRPM[i]
			}
		}
		near(t, c.Vehicle.Name+" pull start", start, 0.3*limit, 0.15)
		near(t, c.Vehicle.Name+" pull end", full, 0.6*limit, 0.02)
		i := tr.At(over.EndS) - 20
		if tr.Gear[i] != 3 || tr.EngineTorque[i] > -5 || tr.Clutch[i] != Stuck {
			t.Errorf("%s overrun: gear %d, %.0f N m", c.Vehicle.Name, tr.Gear[i], tr.EngineTorque[i])
		}
		near(t, c.Vehicle.Name+" overrun end", tr.EngineRPM[tr.At(over.EndS)-1], 0.3*limit, 0.01)
		i = tr.At(coast.EndS) - 100
		if tr.Gear[i] != 0 || tr.Engagement[i] != 1 || tr.Pedal[i] != 0 {
			t.Errorf("%s coast: gear %d", c.Vehicle.Name, tr.Gear[i])
		}
		near(t, c.Vehicle.Name+" coast end", tr.GroundKmh[tr.At(coast.EndS)-1], 50, 0.01)
	}
}

// A dab at the clutch at full throttle is slip with the foot on the pedal: no event, an engagement.
func TestStab(t *testing.T) {
	tr := Drive(BenchMule(), LevelRoad(), []Action{PullWith(3, 2500, 5000, PullStyle{Stab: true})}, source(1))
	most := 0.0
	for i := range tr.T {
		if tr.GroundKmh[i] > 60 && tr.Engagement[i] < 1 {
			most = max(most, tr.SlipPct[i])
		}
	}
	if most < 5 || len(tr.Events) > 0 {
		t.Errorf("largest slip %.1f %%, events %+v", most, tr.Events)
	}
}

// A prescribed drive is followed in speed and gear.
func TestTrace(t *testing.T) {
	points := []TracePoint{{0, 0, 0}, {5, 0, 1}, {9, 15, 1}, {11, 15, 2}, {18, 32, 2}, {30, 32, 3}, {40, 50, 3}, {60, 50, 3}, {70, 10, 0}, {72, 0, 0}, {80, 0, 0}}
	tr := Drive(BenchMule(), LevelRoad(), []Action{Trace(points)}, source(1))
	for _, p := range []struct {
		t, kmh float64
		gear   int8
	}{{4, 0, 0}, {17, 29.6, 2}, {28, 32, 2}, {38, 46.4, 3}, {58, 50, 3}, {78, 0, 0}} {
		i := tr.At(p.t)
		if math.Abs(tr.GroundKmh[i]-p.kmh) > 2 || tr.Gear[i] != p.gear {
			t.Errorf("at %g s: %.1f km/h in %d, want %g in %d", p.t, tr.GroundKmh[i], tr.Gear[i], p.kmh, p.gear)
		}
	}
}

// Whatever is asked of it, the car stays a car: finite, never backwards, never far above its limiter, never stalled for long.
func TestAnyPlanIsSane(t *testing.T) {
	rng := source(77)
	for range 8 {
		c := Cars()[rng.IntN(4)]
		if rng.IntN(2) == 0 {
			c = c.Tired(0.6+0.5*rng.Float64(), rng)
		}
		o := MixedTraffic()
		o.PullsPerHour, o.StabsPerHour, o.HardStartsPerHour, o.OddShifts, o.FullThrottleShifts = 40, 20, 30, 0.8, 0.5
		plan := []Action{Cold(-10 + 30*rng.Float64()), Warmup(0.3), Traffic(rng, 2, o), TurnRound(), FreeRevWith(9000, RevStyle{Rolling: true}),
			Shift(4, RevMatched), Pull(1, 1000, 9000), Shift(6, NormalShift), Overrun(5, 4000, 100), Launch(LongLaunch), Coast(60, 59)}
		road := HillyRoad(rng, 0.04, 200)
		if rng.IntN(2) == 0 {
			road = road.Wet()
		}
		tr := Drive(c, road, plan, rng)
		low := 0
		for i := range tr.T {
			for _, x := range []float64{tr.EngineRPM[i], tr.ReportedRPM[i], tr.GroundKmh[i], tr.WheelKmh[i], tr.ClutchTorqueNm[i], tr.LoadPct[i], tr.SlipPct[i], tr.ClutchTemp[i]} {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					t.Fatalf("%s at %.2f s: not finite", c.Vehicle.Name, tr.T[i])
				}
			}
			if tr.GroundKmh[i] < 0 || tr.EngineRPM[i] > 1.25*c.Vehicle.Engine.LimitRPM {
				t.Fatalf("%s at %.2f s: %.0f rpm in %d, %.1f km/h", c.Vehicle.Name, tr.T[i], tr.EngineRPM[i], tr.Gear[i], tr.GroundKmh[i])
			}
			if low++; tr.EngineRPM[i] > 0.4*c.Vehicle.Engine.IdleRPM {
				low = 0
			}
			if low > 200 {
				t.Fatalf("%s at %.2f s: stalled", c.Vehicle.Name, tr.T[i])
			}
		}
		if tr.Duration() > 1800 {
			t.Errorf("%s: a plan of about five minutes took %.0f s", c.Vehicle.Name, tr.Duration())
		}
	}
}
