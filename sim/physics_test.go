package sim

import (
	"math"
	"math/rand/v2"
	"testing"
)

func source(n uint64) *rand.Rand { return rand.New(rand.NewPCG(n, 20)) }

// quiet is the demo's car without anything random in it.
func quiet() Car {
	c := BenchMule()
	c.DragRunSD, c.DragSessionSD, c.TorqueRunSD = 0, 0, 0
	c.Engine.IdleNoise, c.Engine.DragPerK = 0, 0
	return c
}

// near fails when got is further from want than rel of want.
func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: got %g, want %g (within %g)", what, got, want, rel)
	}
}

// Everything that the engine gives is found again in motion, heat and work against the road.
func TestEnergyBalance(t *testing.T) {
	for i, c := range append(Cars(), BenchMule().WithCapacity(215)) {
		road := HillyRoad(source(3), 0.015, 300).Wet()
		d := &run{plant: newPlant(&c, &road), rng: source(4), ease: 1, tr: &Truth{Step: tick, car: c}}
		start := d.kinetic()
		for _, a := range []Action{FreeRev(4000), Launch(HardLaunch), Pull(3, 2200, 4500), Pull(4, 2200, 4000),
			Overrun(3, 3500, 1800), Coast(70, 50), Traffic(source(5), 3, MixedTraffic())} {
			d.act(a)
		}
		l := d.ledger
		spent := l.clutch + l.gearbox + l.synchro + l.tyre + l.road + l.brake
		gained := d.kinetic() - start
		turnover := math.Abs(l.engine) + math.Abs(l.brake)
		if miss := l.engine - spent - gained; math.Abs(miss) > 0.0001*turnover {
			t.Errorf("car %d: %.0f J of %.0f J are missing (%+v, kinetic %.0f)", i, miss, turnover, l, gained)
		}
	}
}

// A released engine in neutral obeys I dw/dt = -(D0 + D1 w + D2 w^2), which has a closed form.
func TestRevDownIsTheEquation(t *testing.T) {
	c := quiet()
	tr := Drive(c, LevelRoad(), []Action{FreeRev(5500)}, source(1))
	e := c.Engine
	s := math.Sqrt(4*e.D0*e.D2-e.D1*e.D1) / 2
	phase := func(rpm float64) float64 { return math.Atan((e.D2*rpm*radPerRPM + e.D1/2) / s) }
	peak := 0
	for i, n := range tr.EngineRPM {
		if n > tr.EngineRPM[peak] {
			peak = i
		}
	}
	cross := func(rpm float64) float64 {
		for i := peak; ; i++ {
			if tr.EngineRPM[i] < rpm {
				f := (tr.EngineRPM[i-1] - rpm) / (tr.EngineRPM[i-1] - tr.EngineRPM[i])
				return tr.T[i-1] + f*tr.Step
			}
		}
	}
	for _, to := range []float64{3500, 2500, 1600} {
		want := c.Inertia / s * (phase(4500) - phase(to))
		near(t, "time from 4500 rpm", cross(to)-cross(4500), want, 0.002)
	}
}

// In neutral the car obeys M dv/dt = -(F0 + F1 v + F2 v^2) with the wheels' rotating mass in M.
func TestCoastDownIsTheEquation(t *testing.T) {
	c := quiet()
	tr := Drive(c, LevelRoad(), []Action{Coast(110, 30)}, source(1))
	r := *c.Vehicle.RoadLoad
	s := math.Sqrt(4*r.F0*r.F2-r.F1*r.F1) / 2
	phase := func(v float64) float64 { return math.Atan((r.F2*v + r.F1/2) / s) }
	m := c.Vehicle.Mass + c.RotatingMass()
	end := tr.Len() - 1
	start := end
	for tr.Gear[start-1] == 0 && tr.Engagement[start-1] == 1 {
		start--
	}
	v0, v1 := tr.GroundKmh[start]/3.6, tr.GroundKmh[end]/3.6
	near(t, "coast-down time", tr.T[end]-tr.T[start], m/s*(phase(v0)-phase(v1)), 0.001)
	if tr.T[end]-tr.T[start] < 30 {
		t.Errorf("coast-down of %.1f s", tr.T[end]-tr.T[start])
	}
}

// A clutch that can carry the engine's torque never slips once it has locked, and locked the ratio is exact.
func TestHealthyClutchHolds(t *testing.T) {
	for _, c := range Cars() {
		tr := Drive(c, HillyRoad(source(2), 0.015, 300), []Action{Traffic(source(3), 12, MixedTraffic())}, source(4))
		for _, e := range tr.Events {
			t.Errorf("%s: %+v", c.Vehicle.Name, e)
		}
		locked := 0
		for i, g := range tr.Gear {
			if g == 0 || tr.Clutch[i] != Stuck {
				continue
			}
			locked++
			want := tr.WheelKmh[i] * c.Vehicle.RPMPerKmh(int(g))
			if math.Abs(tr.EngineRPM[i]-want) > 1e-6*want+1e-6 {
				t.Fatalf("%s: locked in %d at %.2f s: %g rpm, want %g", c.Vehicle.Name, g, tr.T[i], tr.EngineRPM[i], want)
			}
			if tr.ClutchTorqueNm[i] > c.Clutch.Capacity*1.0001 {
				t.Fatalf("%s: stuck with %g N m", c.Vehicle.Name, tr.ClutchTorqueNm[i])
			}
		}
		if float64(locked) < 0.5*float64(tr.Len()) {
			t.Errorf("%s: locked for %d of %d samples", c.Vehicle.Name, locked, tr.Len())
		}
	}
}

// A weak clutch breaks away at its capacity, then carries its sliding friction, and the engine runs off with the rest.
func TestClutchBreaksAwayAtCapacity(t *testing.T) {
	c := quiet().WithCapacity(225)
	c.Clutch.Kinetic, c.Clutch.FadePerK = 0.9, 0
	tr := Drive(c, LevelRoad(), []Action{Pull(4, 2000, 5000), Overrun(4, 3000, 2500)}, source(1))
	if len(tr.Events) == 0 {
		t.Fatal("no slip")
	}
	e := tr.Events[0]
	near(t, "onset torque", e.OnsetNm, 225, 0.01)
	i := tr.At(e.StartS) + 10
	near(t, "sliding torque", tr.ClutchTorqueNm[i], 0.9*225, 1e-9)
	rate := (tr.EngineRPM[i+5] - tr.EngineRPM[i-5]) * radPerRPM / (10 * tr.Step)
	net := 0.0
	for k := i - 4; k <= i+5; k++ {
		net += tr.EngineTorque[k] + gearboxDrag - tr.ClutchTorqueNm[k]
	}
	near(t, "run-away", rate, net/10/(c.Inertia-c.DiscInertia), 0.02)
	if j := tr.At(e.EndS) + 30; tr.Clutch[j] != Stuck {
		t.Errorf("not locked again 0.3 s after the event")
	}
	if e.PeakPct < 10 || e.EndS-e.StartS < 1 || e.FromEngagement {
		t.Errorf("event %+v of a driver who keeps his foot down", e)
	}
}

// A driver who lifts when the engine runs away ends the slip.
func TestDriverLifts(t *testing.T) {
	c := quiet().WithCapacity(225)
	keep := Drive(c, LevelRoad(), []Action{Pull(4, 2000, 5000)}, source(1)).Events[0]
	c.Driver.LiftsOnFlare, c.Driver.Reaction = true, 0.4
	lift := Drive(c, LevelRoad(), []Action{Pull(4, 2000, 5000)}, source(1)).Events[0]
	if lift.EndS-lift.StartS > 0.6*(keep.EndS-keep.StartS) || lift.EnergyJ > 0.6*keep.EnergyJ {
		t.Errorf("lifting %+v, keeping %+v", lift, keep)
	}
}

// Slip heats the clutch by its energy, and a hot clutch holds less.
func TestHeatFades(t *testing.T) {
	c := quiet().WithCapacity(225)
	c.Clutch.CoolTau = 1e9
	road := LevelRoad()
	d := &run{plant: newPlant(&c, &road), rng: source(4), ease: 1, tr: &Truth{Step: tick, car: c}}
	start := c.Clutch.SurfaceHeat*d.surface + c.Clutch.BodyHeat*d.body
	for range 5 {
		d.act(Pull(4, 2000, 5000))
	}
	stored := c.Clutch.SurfaceHeat*d.surface + c.Clutch.BodyHeat*d.body - start
	near(t, "heat in the clutch", stored, d.ledger.clutch, 0.001)
	d.tr.findSlip()
	ev := d.tr.Events
	if len(ev) < 5 || ev[len(ev)-1].OnsetNm > 0.98*ev[0].OnsetNm {
		t.Errorf("the fifth pull does not slip earlier than the first: %+v", ev)
	}
}

// The closed form of overrun, coast and free fall finds the inertia that the car has:
// I = eta M/k^2 (a_overrun - a_coast)/(a_free - a_overrun), all as decelerations of the engine.
func TestOverrunCoastFreeFallGiveInertia(t *testing.T) {
	c := quiet()
	c.Tyre.Creep = 0
	tr := Drive(c, LevelRoad(), []Action{FreeRev(5500), Overrun(2, 4800, 1500), Coast(70, 20)}, source(1))
	rate := func(kind string, rpm float64) float64 {
		l := tr.Labelled(kind)[0]
		k := c.Vehicle.RPMPerKmh(2)
		signal := tr.EngineRPM
		if kind == "coast" {
			signal = make([]float64, tr.Len())
			for i := range signal {
				signal[i] = tr.GroundKmh[i] * k
			}
		}
		for i := tr.At(l.EndS) - 1; ; i-- {
			if signal[i] > rpm {
				return (signal[i-5] - signal[i+5]) / (10 * tr.Step) * radPerRPM
			}
		}
	}
	m := c.Vehicle.Mass + c.RotatingMass()
	k := c.K(2)
	for _, rpm := range []float64{2000, 2800, 3600} {
		free, over, coast := rate("free_rev", rpm), rate("overrun", rpm), rate("coast", rpm)
		got := c.Vehicle.Gearbox.Efficiency * m / (k * k) * (over - coast) / (free - over)
		near(t, "inertia", got, c.Inertia, 0.01)
	}
}

// On a wet road a hard launch spins the driven wheels: they run ahead of the ground, with no clutch slip in it.
func TestWheelspin(t *testing.T) {
	c := quiet()
	tr := Drive(c, LevelRoad().Wet(), []Action{Launch(HardLaunch), Pull(1, 2500, 5500)}, source(1))
	most := 0.0
	for i := range tr.T {
		if tr.GroundKmh[i] > 5 && tr.Clutch[i] == Stuck {
			most = max(most, tr.WheelKmh[i]/tr.GroundKmh[i]-1)
		}
	}
	if most < 0.15 {
		t.Errorf("largest wheel slip %.3f", most)
	}
	if len(tr.Events) > 0 {
		t.Errorf("clutch slip reported: %+v", tr.Events)
	}
}

// Settled tyre creep is the coefficient times tractive force over weight.
func TestCreep(t *testing.T) {
	c := quiet()
	tr := Drive(c, LevelRoad(), []Action{Pull(3, 2500, 5000)}, source(1))
	i := tr.At(tr.Labels[0].EndS) - 100
	a := (tr.GroundKmh[i+5] - tr.GroundKmh[i-5]) / 3.6 / (10 * tr.Step)
	force := (c.Vehicle.Mass+c.RotatingMass())*a + c.Vehicle.RoadLoad.Force(tr.GroundKmh[i]/3.6)
	want := c.Tyre.Creep * force / (c.Vehicle.Mass * gravity)
	near(t, "creep", tr.WheelKmh[i]/tr.GroundKmh[i]-1, want, 0.03)
}

// The idle is held, and a lighter flywheel makes it less even: that much the torque noise must do.
func TestIdle(t *testing.T) {
	sd := func(c Car) (mean, sd float64) {
		tr := Drive(c, LevelRoad(), []Action{Idle(90)}, source(7))
		s, q := 0.0, 0.0
		for _, n := range tr.EngineRPM[1000:] {
			s += n
			q += n * n
		}
		k := float64(tr.Len() - 1000)
		return s / k, math.Sqrt(q/k - s/k*s/k)
	}
	heavyMean, heavy := sd(BenchMule())
	lightMean, light := sd(BenchMule().WithInertia(0.13))
	near(t, "idle speed", heavyMean, 850, 0.01)
	near(t, "idle speed", lightMean, 850, 0.01)
	if heavy < 3 || heavy > 25 || light <= heavy {
		t.Errorf("idle sd %.1f rpm heavy, %.1f rpm light", heavy, light)
	}
}
