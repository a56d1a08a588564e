package compare

import (
	"math"
	"testing"

	"flywitness/analysis/stats"
	"flywitness/analysis/torquecurve"
	"flywitness/vehicle"
)

// between makes the curve of level from pulls in third gear over a part of the engine speeds, with exact slopes and
// rates.
func between(t *testing.T, car *torquecurve.Car, nm, low, high float64) *torquecurve.Curve {
	t.Helper()
	var points []torquecurve.Point
	for rpm := low; rpm <= high+1; rpm += (high - low) / 20 {
		alpha := car.Gearing[3] * car.Full(3, rpm*math.Pi/30, nm, car.Inertia[1])
		points = append(points, torquecurve.Point{Side: 1, Gear: 3, RPM: rpm, Alpha: alpha})
	}
	c := torquecurve.Fit(points, car)
	if c == nil {
		t.Fatal("no torque curve")
	}
	return c
}

// worthOfPulls is the worth of 0.05 kg m^2 for the small car with an engine of nm from low to high rpm. Change,
// inertia and mass are known well, so that what is left is the error of all else.
func worthOfPulls(t *testing.T, nm, low, high float64, edit func(*vehicle.Vehicle)) *worth {
	t.Helper()
	v := smallCar()
	v.MassSD = 0.01
	if edit != nil {
		edit(v)
	}
	c := &comparison{finding: &Finding{Change: stats.Normal(-0.05, 1e-6), InertiaAfter: stats.Normal(0.17,
		1e-6)}, after: Side{Vehicle: v}}
	car := c.car()
	car.usual.Inertia = [2]float64{0.22, 0.17}
	if nm > 0 {
		car.curve = between(t, &car.usual, nm, low, high)
	}
	w := c.worthOf(car)
	w.set(byAfter, 1e-6) // not a guess here
	return w
}

// The spans over which time is saved, by hand: rolling circumference 1.9 m, total ratios 13.6, 7.8, 5.4 and 4, so
// 1000 rpm are 8.38, 14.6, 21.1 and 28.5 km/h.
func TestSpansOfRoadSpeedByHand(t *testing.T) {
	for name, c := range map[string]struct {
		nm, low, high float64
		gear          int
		from, to      float64 // 0 where there is no span
	}{
		// From 1500 rpm, below which nobody floors it: 12.6 km/h; to 0.9 times the limit of 6500 rpm, 49.0 km/h.
		"first gear": {200, 1000, 6300, 1, 15, 45},
		// The pulls in third reached 133 km/h. Drag of air is known a little beyond that, not to the 166 km/h of 5850
		// rpm in fourth.
		"fourth gear beyond the fastest pull": {200, 1500, 6300, 4, 45, 145},
		// 2500 to 4500 rpm are 21.0 to 37.7 km/h: ten km/h are left, which is worth telling; 2700 rpm to 4100 leave
		// five, 25 to 30.
		"a narrow span":     {200, 2500, 4500, 1, 25, 35},
		"a too narrow span": {200, 2700, 4100, 1, 0, 0},
		"next to no torque": {25, 1500, 6300, 4, 0, 0},
		// 0.95 * 13.23 * 92 - 141 - 0.39 * 40.28^2 = 382 N at 145 km/h, 0.3 m/s^2: it still pulls
		"a weak engine": {92, 1500, 6300, 4, 45, 145},
		// at 140 km/h 174 N are left for 1264 kg, 0.14 m/s^2: that takes for ever; at 135 km/h 215 N
		"a weaker engine": {72, 1500, 6300, 4, 45, 135},
	} {
		w := worthOfPulls(t, c.nm, c.low, c.high, nil)
		from, to, ok := w.span(c.gear)
		if from != c.from || to != c.to || ok != (c.to > 0) {
			t.Errorf("%s: %.0f to %.0f km/h (%v), by hand %.0f to %.0f", name, from, to, ok, c.from, c.to)
		}
	}
}

// Tyres, by hand: 0.95 * 44.98 * 180 N m is 0.65 of the weight, too much for one driven axle on a dry road and not
// for two; 260 N m are 0.94 of it, too much for both.
func TestTyresLimitFirstGear(t *testing.T) {
	for _, c := range []struct {
		nm     float64
		driven int
		want   bool
	}{{100, 2, false}, {180, 2, true}, {180, 4, false}, {260, 4, true}} {
		w := worthOfPulls(t, c.nm, 1500, 6300, func(v *vehicle.Vehicle) { v.DrivenWheels = c.driven })
		if g, s := w.gear(1), w.spanTimes()[0]; g.TyresMayLimit != c.want || s.TyresMayLimit != c.want {
			t.Errorf("%.0f N m on %d wheels: the tyres may limit: %v and %v", c.nm, c.driven, g.TyresMayLimit, s.TyresMayLimit)
		}
	}
}

// An engine whose limit nobody wrote down and that was never pulled is spoken of in the middle of the speeds that
// engines of cars reach.
func TestPowerSpeedOfAnUnknownEngine(t *testing.T) {
	w := worthOfPulls(t, 0, 0, 0, func(v *vehicle.Vehicle) { v.Engine.LimitRPM = 0 })
	if rpm := w.car.powerSpeed(1); rpm < 3000 || rpm > 5000 {
		t.Errorf("%.0f rpm", rpm)
	}
}

// What is left where change, inertia and mass are known: a tyre wears by 6 mm of 300, so the radius is known to
// half a per cent at best, 0.6 % as it is taken, and the equivalent mass, which goes with its square, to 1.2; a
// gearbox loses 4 to 6 %, so its efficiency is known to one and a half, which the gain of acceleration takes up
// in part.
func TestPaperAndGearboxLimitWhatIsKnown(t *testing.T) {
	w := worthOfPulls(t, 0, 0, 0, nil)
	g := w.gear(1)
	if sd := 100 * g.EquivalentMass.SD / g.EquivalentMass.Value; sd < 0.7 || sd > 1.5 {
		t.Errorf("the equivalent mass is known to %.2f %%, by hand 1.2", sd)
	}
	// By hand 0.015/0.95 and 2 * 0.006, each times 1236/1562.7, what moves without the engine's share: hypot(1.25,
	// 0.95) = 1.57 %.
	if sd := 100 * g.AccelerationGain.SD / g.AccelerationGain.Value; sd < 1.1 || sd > 2.2 {
		t.Errorf("the gain is known to %.2f %%, by hand 1.57", sd)
	}
}

// Torque differs by a per cent or two between gears (heat, ram air); where nothing told full load, the strongest
// pulls may have been at nine tenths of it.
func TestTorqueIsKnownAsWellAsGearsAgree(t *testing.T) {
	for blind, want := range map[bool][2]float64{false: {1.2, 3.2}, true: {4.5, 8}} {
		w := worthOfPulls(t, 180, 1500, 6300, nil)
		w.car.curve.Blind = blind
		w.curveErrors()
		w.none, w.kept = nil, nil
		e := w.estimate(func(p *state) float64 { return p.torque.At(3000) })
		if sd := 100 * e.SD / e.Value; sd < want[0] || sd > want[1] {
			t.Errorf("blind %v: torque is known to %.2f %%, want %v", blind, sd, want)
		}
	}
}

// Two inertias from driving and no free revs: what the change is worth needs no ratio.
func TestWorthWithoutFreeRevs(t *testing.T) {
	b, a := absoluteSide(0.22, 0.02, 0.02), absoluteSide(0.17, 0.02, 0.02)
	b.Vehicle, a.Vehicle = smallCar(), smallCar()
	f, _ := Compare(b, a, Options{})
	// By hand as with a promise: 0.05 kg m^2 in first gear are 101.1 kg.
	if len(f.ByGear) != 4 || math.Abs(f.ByGear[0].EquivalentMass.Value-101.1) > 1 {
		t.Errorf("%+v", f.ByGear)
	}
}
