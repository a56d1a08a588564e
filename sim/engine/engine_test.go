package engine

import (
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/drive"
)

// steady is what a hold at rpm settles at on a day without unrest: means over its last ten seconds.
func steady(e *Engine, d Day, rpm float64) state {
	d.FallSD, d.HoldSD, d.HoldWander, d.FanShare = 0, 0, 1e-9, 0
	tr := Sit(e, d, []Phase{{Kind: Idle, Seconds: 3}, {Kind: Hold, RPM: rpm, Seconds: 15}}, rand.New(rand.NewPCG(1, 1)))
	return mean(tr.states[len(tr.states)-1000:])
}

func mean(states []state) (m state) {
	n := float64(len(states))
	for _, s := range states {
		m.rpm, m.air, m.fuelFlow, m.pressure = m.rpm+s.rpm/n, m.air+s.air/n, m.fuelFlow+s.fuelFlow/n, m.pressure+s.pressure/n
	}
	return m
}

// Kinematic viscosity of a 10W-30 engine oil: SAE J300 wants 9.3 to 12.5 mm^2/s at 100 C; data sheets give some 60
// to 75 at 40 C. Both from memory.
func TestOilIsAsThickAsItsGradeSays(t *testing.T) {
	if v := viscosity(100); v < 9.3 || v > 12.5 {
		t.Errorf("%.1f mm^2/s at 100 C", v)
	}
	if v := viscosity(40); v < 50 || v > 80 {
		t.Errorf("%.1f mm^2/s at 40 C", v)
	}
}

// Heywood, Internal Combustion Engine Fundamentals, chapter 13 (from memory): motored friction of a car's petrol
// engine with its pumping at light load is some 150 to 250 kPa at 2500 rpm, of which rubbing and auxiliaries are 60
// to 110; the best gross indicated efficiency is 0.33 to 0.40.
func TestLossesAreThoseOfHandbooks(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 1))
	for range 100 {
		e := Random(rng)
		rubbing := e.rubbing(2500, viscosity(90)) + e.pumps(2500)
		if rubbing < 55 || rubbing > 115 {
			t.Errorf("rubbing and pumps %.0f kPa", rubbing)
		}
		s := steady(e, Usual(), 2500)
		if all := rubbing + Usual().Pressure - s.pressure; all < 130 || all > 250 {
			t.Errorf("with pumping %.0f kPa at %.0f kPa in the manifold", all, s.pressure)
		}
		if eta := e.indicated(1500) / 1500; eta < 0.31 || eta > 0.40 {
			t.Errorf("efficiency %.2f", eta)
		}
		if s.pressure < 20 || s.pressure > 45 {
			t.Errorf("%.0f kPa in the manifold at 2500 rpm unloaded", s.pressure)
		}
	}
}

// The Willans line: at one speed fuel flow is a straight line over load (Stone, Introduction to Internal Combustion
// Engines, from memory). Load is added by the alternator, which the engine does not know from a brake.
func TestFuelOverLoadIsAStraightLine(t *testing.T) {
	e := Random(rand.New(rand.NewPCG(3, 1)))
	e.LowLoadPower = 1 // the line itself; other powers bend it at the lower end
	fuel := func(watts float64) float64 {
		d := Usual()
		d.ConsumersOn = watts
		return steady(e, d, 2500).fuelFlow
	}
	a, b, c := fuel(0), fuel(350), fuel(700)
	if b <= a || math.Abs((c-b)/(b-a)-1) > 0.05 {
		t.Errorf("%.3f, %.3f, %.3f g/s", a, b, c)
	}
}

// What burns has met the air that it needs, and the trims say by how much meter and injectors are wrong.
func TestTrimsTellWhatMeterAndFuelHide(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 1))
	e := Random(rng)
	for what, c := range map[string]struct {
		change func(*Day)
		trim   float64
	}{
		"nothing":              {func(*Day) {}, 0},
		"the meter shows more": {func(d *Day) { d.Meter = 1.06 }, -math.Log(1.06)},
		"a tenth of alcohol":   {func(d *Day) { d.Stoichiometric = 14.1 }, math.Log(14.3 / 14.1)},
		"vapour from the tank": {func(d *Day) { d.Purge = 0.04 }, math.Log(0.96)},
		"air behind the meter": {func(d *Day) { d.LeakGS = 0.6 }, math.Log(1 + 0.6/steady(e, Usual(), 2500).air)},
	} {
		d := Usual()
		c.change(&d)
		tr := Sit(e, d, []Phase{{Kind: Idle, Seconds: 3}, {Kind: Hold, RPM: 2500, Seconds: 15}}, rng)
		sum := 0.0
		last := tr.states[len(tr.states)-1000:]
		for _, s := range last {
			sum += (s.short + s.long) / float64(len(last))
		}
		if math.Abs(sum-c.trim) > 0.012 {
			t.Errorf("%s: trims sum to %.3f, want %.3f", what, sum, c.trim)
		}
	}
}

// Only what stands on the engine's shaft slows it: a fall with the throttle shut lasts as long as inertia and
// torque say, and fuel keeps it up.
func TestFallsFollowTorque(t *testing.T) {
	fall := func(change func(*Engine, *Day)) float64 {
		e, d := Random(rand.New(rand.NewPCG(5, 1))), Usual()
		d.FallSD, d.FanShare = 0, 0
		change(e, &d)
		n := 0
		for _, s := range Sit(e, d, []Phase{{Kind: Idle, Seconds: 3}, {Kind: Fall, RPM: 5600}}, rand.New(rand.NewPCG(1, 1))).states {
			if !s.open && s.kind == Fall && s.rpm < 4500 && s.rpm > 1500 {
				n++
			}
		}
		return float64(n) * kept
	}
	usual := fall(func(*Engine, *Day) {})
	if heavy := fall(func(e *Engine, _ *Day) { e.Inertia *= 1.1 }); math.Abs(heavy/usual-1.1) > 0.02 {
		t.Errorf("a tenth more inertia: %.2f s for %.2f s", heavy, usual)
	}
	if cold := fall(func(_ *Engine, d *Day) { d.Oil = 70 }); cold > 0.97*usual || cold < 0.85*usual {
		t.Errorf("oil 25 K colder: %.2f s for %.2f s", cold, usual)
	}
	if fuelled := fall(func(_ *Engine, d *Day) { d.KeepFuel = true }); fuelled < 1.04*usual {
		t.Errorf("fuel not cut: %.2f s for %.2f s", fuelled, usual)
	}
}

// Every link gives what the car has at its own rate, and the same chance gives the same log.
func TestLinksSample(t *testing.T) {
	for _, l := range []Link{KLine, CAN, CANMulti} {
		record := func() *drive.Log {
			rng := rand.New(rand.NewPCG(6, 1))
			return l.Record(Sit(Random(rng), Usual(), Protocol(2500, 3500, 15, 5600, 3, rng), rng), Everything(), rng)
		}
		a, b := record(), record()
		for i, c := range a.Channels {
			for k := range c.V {
				if c.V[k] != b.Channels[i].V[k] || c.T[k] != b.Channels[i].T[k] {
					t.Fatalf("%s: %s differs the second time", l.Name, c.Name)
				}
			}
		}
		rate := a.Channel(drive.EngineSpeed).Len()
		seconds := 0.0
		if _, last := a.Span(); last > 0 {
			seconds = last
		}
		if hz := float64(rate) / seconds; hz > l.RateHz*1.1 || hz < l.RateHz*0.2 {
			t.Errorf("%s: engine speed at %.1f Hz", l.Name, hz)
		}
	}
}

func BenchmarkSit(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	e := Random(rng)
	for range b.N {
		CAN.Record(Sit(e, Usual(), Protocol(2500, 3500, 15, 5600, 8, rng), rng), Everything(), rng)
	}
}
