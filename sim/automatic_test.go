package sim

import (
	"math"
	"testing"
)

// selfShifting is the demo's car with a gearbox of its own mind.
func selfShifting(a Automatic) Car {
	c := quiet()
	if a.Converter.Capacity == 0 {
		a.Converter = Converter{Capacity: 0.0035, StallRatio: 2.1, Coupling: 0.87, Bend: 0.8}
	}
	if a.ShiftS == 0 {
		a.ShiftS = 0.4
	}
	c.Auto = &a
	c.DiscInertia, c.Inertia = 0.04, c.Inertia+0.03
	return c
}

func twoPedals(seed uint64, minutes float64) []Action {
	return []Action{Roam(source(seed), minutes, Habits{Town: 0.5, Road: 0.5, Opening: [2]float64{0.2, 0.7}, FloorsPerHour: 60,
		Floor: [2]float64{0.9, 1}, HoldS: [2]float64{3, 15}, StopShare: 0.4})}
}

// Stall: the pump takes Capacity w^2 and the turbine gives StallRatio times that. Coupling: one for one. Never does
// more come out than goes in.
func TestConverterCurve(t *testing.T) {
	c := Converter{Capacity: 0.0035, StallRatio: 2.1, Coupling: 0.87, Bend: 0.8}
	in, out := c.torques(200, 0)
	near(t, "pump torque at stall", in, 0.0035*200*200, 1e-12)
	near(t, "turbine over pump torque at stall", out/in, 2.1, 1e-12)
	in, out = c.torques(200, 0.87*200)
	near(t, "turbine over pump torque at the coupling point", out/in, 1, 1e-9)
	if in, out = c.torques(200, 200); in != 0 || out != 0 {
		t.Errorf("at equal speeds %g and %g N m", in, out)
	}
	for ratio := 0.0; ratio < 1.4; ratio += 0.01 {
		if in, out := c.torques(200, 200*ratio); out*ratio > in+1e-9 {
			t.Errorf("speed ratio %.2f: %.1f W out of %.1f W", ratio, out*ratio*200, in*200)
		}
	}
}

// Held by the brake with the accelerator down, the engine comes to rest where its torque is Capacity w^2: the stall
// speed.
func TestStallSpeed(t *testing.T) {
	c := selfShifting(Automatic{})
	tr := Drive(c, LevelRoad(), []Action{{Kind: "stall", do: func(d *run) {
		d.selectGear(4) // in lower gears the wheels spin under the brake
		d.foot, d.engagement, d.brake, d.car.Auto.HeldGear = 1, 0, d.mass*20, 4
		d.hold(15)
	}}}, source(1))
	i := tr.Len() - 1
	if tr.GroundKmh[i] > 0.01 {
		t.Fatalf("it moves at %.1f km/h", tr.GroundKmh[i])
	}
	w := tr.EngineRPM[i] * radPerRPM
	near(t, "stall speed in rpm", tr.EngineRPM[i], math.Sqrt((tr.EngineTorque[i]+gearboxDrag)/c.Auto.Converter.Capacity)/radPerRPM, 0.002)
	near(t, "pump torque in N m", tr.ClutchTorqueNm[i], c.Auto.Converter.Capacity*w*w, 0.002)
}

// What the engine gives is found again with a converter, a locked one, two clutches and a belt. A ratio that glides
// is stepped once a tick, which loses a little of the engine's own energy.
func TestEnergyBalanceOfAutomatics(t *testing.T) {
	for name, a := range map[string]Automatic{
		"open": {}, "locking": {LockFromKmh: 40}, "micro": {LockFromKmh: 30, SlipRPM: 40}, "stepless": {Stepless: true, LockFromKmh: 20},
		"dual": {DualClutch: true, ShiftS: 0.3}, "dual micro": {DualClutch: true, SlipRPM: 30, ShiftS: 0.3},
	} {
		c := selfShifting(a)
		road := LevelRoad()
		d := &run{plant: newPlant(&c, &road), rng: source(4), ease: 1, tr: &Truth{Step: tick, car: c}}
		start := d.kinetic()
		for _, act := range twoPedals(5, 4) {
			d.act(act)
		}
		l := d.ledger
		spent := l.clutch + l.gearbox + l.synchro + l.tyre + l.road + l.brake
		gained := d.kinetic() - start
		turnover := math.Abs(l.engine) + math.Abs(l.brake)
		if miss := l.engine - spent - gained; math.Abs(miss) > 0.004*turnover {
			t.Errorf("%s: %.0f J of %.0f J are missing (%+v)", name, miss, turnover, l)
		}
		if l.clutch <= 0 {
			t.Errorf("%s: no heat in clutch or converter: %.0f J", name, l.clutch)
		}
	}
}

// deepest returns the lowest force at the gearbox input through upshifts under power over that before them, mean of
// all upshifts. The accelerator is down from 0.8 s before until after s behind the change.
func deepest(tr *Truth, after float64) (share float64, n int) {
	for i := 100; i < tr.Len()-100; i++ {
		if tr.Gear[i] <= tr.Gear[i-1] || tr.Gear[i-1] == 0 && tr.Clutch[i] == Stuck {
			continue
		}
		pedal, before := 100.0, tr.ClutchTorqueNm[i-80]
		for k := i - 80; k < i+int(100*after); k++ {
			pedal = min(pedal, tr.Pedal[k])
		}
		if pedal < 40 || before < 50 || tr.Gear[i-80] == 0 {
			continue
		}
		low := before
		for k := i - 60; k < i+60; k++ {
			low = min(low, tr.ClutchTorqueNm[k])
		}
		share += low / before
		n++
	}
	return share / float64(max(n, 1)), n
}

// A driver's upshift takes the force from the wheels; two clutches that hand over do not.
func TestHandOverKeepsTheForce(t *testing.T) {
	hasty := []Action{Roam(source(6), 8, Habits{Road: 1, Opening: [2]float64{0.6, 0.9}, UpAt: [2]float64{0.5, 0.7}, HoldS: [2]float64{1, 3}, StopShare: 0.7})}
	manual, n := deepest(Drive(quiet(), LevelRoad(), hasty, source(7)), -0.6)
	if manual > 0.1 || n < 5 {
		t.Errorf("by hand %.2f of the torque are left in %d upshifts", manual, n)
	}
	hasty = []Action{Roam(source(6), 8, Habits{Road: 1, Opening: [2]float64{0.6, 0.9}, UpAt: [2]float64{0.5, 0.7}, HoldS: [2]float64{1, 3}, StopShare: 0.7})}
	dual, n := deepest(Drive(selfShifting(Automatic{DualClutch: true, ShiftS: 0.3}), LevelRoad(), hasty, source(7)), 0.6)
	if dual < 0.6 || n < 5 {
		t.Errorf("handed over %.2f of the torque are left in %d upshifts", dual, n)
	}
}

// A locked converter and a dual clutch without slip turn the engine as their gears say; one held at a slip turns it
// by that much faster.
func TestHeldSlip(t *testing.T) {
	for _, want := range []float64{0, 40} {
		for _, a := range []Automatic{{LockFromKmh: 30, SlipRPM: want}, {DualClutch: true, SlipRPM: want, ShiftS: 0.3}} {
			tr := Drive(selfShifting(a), LevelRoad(), []Action{{Kind: "cruise", do: func(d *run) {
				d.engagement = 0
				r := roam{run: d, rng: source(1), h: Habits{Brake: 2}}
				r.getOn(70, 0.4)
				r.along(70, 20)
			}}}, source(2))
			sum, n := 0.0, 0
			for i := tr.At(tr.Duration() - 8); i < tr.Len(); i++ {
				if tr.Pedal[i] > 3 {
					sum += tr.EngineRPM[i] * tr.SlipPct[i] / 100
					n++
				}
			}
			if mean := sum / float64(max(n, 1)); math.Abs(mean-want) > 15 || n < 300 {
				t.Errorf("dual %v: slip of %.0f rpm (%d samples), want %.0f", a.DualClutch, mean, n, want)
			}
		}
	}
}

// A belt stays between its longest and its shortest ratio, and lets the engine follow the foot: more accelerator,
// more engine speed at one road speed.
func TestBelt(t *testing.T) {
	c := selfShifting(Automatic{Stepless: true, LockFromKmh: 20})
	tr := Drive(c, LevelRoad(), twoPedals(8, 20), source(9))
	low, high := c.K(5)/1.000001, c.K(1)*1.000001
	speed := func(lo, hi float64) (sum float64) {
		n := 0.0
		for i := range tr.T {
			if tr.Clutch[i] != Stuck || tr.WheelKmh[i] < 5 {
				continue
			}
			if k := tr.EngineRPM[i] * radPerRPM / (tr.WheelKmh[i] / 3.6); k < low || k > high {
				t.Fatalf("ratio %.1f rad/m at %.1f s, bounds %.1f-%.1f", k, tr.T[i], low, high)
			}
			if v := tr.WheelKmh[i]; v > 50 && v < 70 && tr.Pedal[i] >= lo && tr.Pedal[i] <= hi {
				sum += tr.EngineRPM[i]
				n++
			}
		}
		return sum / max(n, 1)
	}
	if little, much := speed(2, 50), speed(85, 100); much < little+700 || little == 0 {
		t.Errorf("at 50-70 km/h %.0f rpm with little accelerator, %.0f rpm with much", little, much)
	}
}

// Slip by design is no event: nobody's clutch slips in a sound car that shifts itself.
func TestDesignSlipIsNoEvent(t *testing.T) {
	for _, a := range []Automatic{{}, {LockFromKmh: 40}, {LockFromKmh: 30, SlipRPM: 60}, {Stepless: true, LockFromKmh: 20}, {DualClutch: true}, {DualClutch: true, SlipRPM: 40}} {
		if tr := Drive(selfShifting(a), LevelRoad(), twoPedals(3, 5), source(3)); len(tr.Events) > 0 {
			t.Errorf("%+v: %d events", a, len(tr.Events))
		}
	}
	worn := selfShifting(Automatic{DualClutch: true})
	worn.Clutch.Capacity = 200
	if tr := Drive(worn, LevelRoad(), twoPedals(3, 5), source(3)); len(tr.Events) == 0 {
		t.Error("a dual clutch of 200 N m does not slip with 262 N m")
	}
}
