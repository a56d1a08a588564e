package compare

import (
	"math"
	"strings"
	"testing"

	"flywitness/analysis/inertia"
	"flywitness/analysis/stats"
	"flywitness/analysis/torquecurve"
	"flywitness/vehicle"
)

func smallCar() *vehicle.Vehicle {
	return &vehicle.Vehicle{Mass: 1200, RollingCircumference: 1.9, Engine: vehicle.Engine{LimitRPM: 6500},
		Gearbox: vehicle.Gearbox{Type: vehicle.Manual, Ratios: []float64{3.4, 1.95, 1.35, 1.0}, FinalDrive: 4.0,
			Efficiency: 0.95}}
}

// level is the curve of an engine that gives the same torque at every speed, from pulls in third gear.
func level(t *testing.T, car *torquecurve.Car, nm float64) *torquecurve.Curve {
	t.Helper()
	var points []torquecurve.Point
	for rpm := 1500.0; rpm <= 6300; rpm += 200 {
		// The engine speeds up by what is left of its torque over what turns and rolls, all seen from the engine.
		w, k := rpm*math.Pi/30, car.Gearing[3]
		alpha := k * car.Full(3, w, nm, car.Inertia[1])
		points = append(points, torquecurve.Point{Side: 1, Gear: 3, RPM: rpm, Alpha: alpha, AlphaSD: 0.01 * alpha,
			SlopeSD: 0.002})
	}
	c := torquecurve.Fit(points, car)
	if c == nil {
		t.Fatal("no torque curve")
	}
	return c
}

// valued fills what a change is worth for a small car with an engine of so much torque.
func valued(t *testing.T, change, after, torque float64) *Finding {
	t.Helper()
	c := &comparison{finding: &Finding{Change: stats.Normal(change, 0.03*math.Abs(change)),
		InertiaAfter: stats.Normal(after, 0.03*after)},
		after: Side{Vehicle: smallCar()}}
	car := c.car()
	car.usual.Inertia = [2]float64{after - change, after}
	car.curve = level(t, &car.usual, torque)
	w := c.worthOf(car)
	c.finding.ByGear, c.finding.SpanTimes, c.finding.Torque = w.byGear(), w.spanTimes(), w.band()
	return c.finding
}

// Common practice, no source: taking about 5.5 kg off a flywheel of about 10.7 kg is spoken of as about 115 kg
// of car in first gear, and of up to 25 hp there for a high-powered car, fading gear by gear and unmeasurable
// in fourth.
func TestSizeOfTheEffectIsWhatTheTradeSpeaksOf(t *testing.T) {
	// A flywheel of 10.7 kg is close to a disc of 280 mm; taking 5.5 kg off its rim (radius 110 to 140 mm)
	// takes m r^2 with r about 0.125 m.
	change := -5.5 * 0.125 * 0.125
	f := valued(t, change, 0.13, 250)
	first := f.ByGear[0]
	if m := first.EquivalentMass.Value; m < 115*0.6 || m > 115*1.8 {
		t.Errorf("worth %.0f kg in first gear (total ratio 13.6), spoken of as about 115 kg", m)
	}
	if p := first.EquivalentPower.Value / 0.745699872; p < 3 || p > 25 {
		t.Errorf("worth %.1f hp in first gear, spoken of as up to 25", p)
	}
	for i := range f.ByGear[1:] {
		a, b := f.ByGear[i], f.ByGear[i+1]
		want := math.Pow(smallCar().TotalRatio(i+1)/smallCar().TotalRatio(i+2), 2)
		if got := a.EquivalentMass.Value / b.EquivalentMass.Value; math.Abs(got/want-1) > 1e-9 {
			t.Errorf("gear %d over gear %d: %.3f, want the square of the ratios, %.3f", i+1, i+2, got, want)
		}
	}
	if g := f.ByGear[3].AccelerationGain.Value; g > 1.2 {
		t.Errorf("%.1f %% in fourth gear would be seen on a dyno", g)
	}
}

// Equivalent power over the power that accelerates the car is equivalent mass over the mass, at the same
// acceleration (common practice, no source; it is F v = m a v twice).
func TestPowerAndMassSayTheSame(t *testing.T) {
	for _, g := range valued(t, -0.05, 0.17, 180).ByGear {
		v := g.AtRPM * math.Pi / 30 / (smallCar().TotalRatio(g.Gear) / smallCar().Radius())
		car := 1200 * 1.03
		if got, want := g.EquivalentPower.Value*1000/(car*g.AtAcceleration*v),
			g.EquivalentMass.Value/car; math.Abs(got/want-1) > 1e-9 {
			t.Errorf("gear %d: power share %.4f, mass share %.4f", g.Gear, got, want)
		}
	}
}

// Mass factor of a car by gear, 1.04 + 0.0025 N^2 (Gillespie, Fundamentals of Vehicle Dynamics, ch. 2, from
// memory), and Taborek's table for a small car: high 1.11, second gear 1.20, first 1.50 (from memory).
func TestMassFactorsLieInThePublishedBand(t *testing.T) {
	car := smallCar()
	// all of the effective inertia of a usual small engine with its first flywheel
	whole := valued(t, -0.21, 0.001, 180).ByGear
	for gear, table := range map[int]float64{1: 1.50, 2: 1.20, 4: 1.11} {
		n := car.TotalRatio(gear)
		rule := 1.04 + 0.0025*n*n
		// with the wheels' 3 % of UN GTR 15, annex 4 (from memory)
		ours := 1.03 + whole[gear-1].EquivalentMass.Value/car.Mass
		if math.Abs(ours-rule) > 0.12*rule || math.Abs(ours-table) > 0.15*table {
			t.Errorf("gear %d: mass factor %.3f, rule %.3f, table %.2f", gear, ours, rule, table)
		}
	}
}

func TestSavedTimeIsTheIntegralOfMassOverForce(t *testing.T) {
	f := valued(t, -0.05, 0.17, 200)
	if len(f.SpanTimes) != 4 {
		t.Fatalf("%d spans, want one for each gear", len(f.SpanTimes))
	}
	s := f.SpanTimes[0]
	car := smallCar()
	k := car.TotalRatio(1) / car.Radius()
	// With the drag left out, dt = eta m dv / F exactly: what less inertia takes passes the gearbox too.
	want := 0.95 * 0.05 * k * k * (s.ToKmh - s.FromKmh) / 3.6 / (200 * k * 0.95)
	if got := s.Saved.Value; got < want || got > 1.1*want {
		t.Errorf("saves %.3f s from %.0f to %.0f km/h, want a little above %.3f s", got, s.FromKmh, s.ToKmh, want)
	}
}

// side with an absolute value of its own and nothing else.
func absoluteSide(value, own, common float64) Side {
	e := inertia.ErrorParts{Own: own, Common: common, RevDown: 1.1, RevDownSD: 0.01}
	return Side{Inertia: &inertia.Finding{Methods: []inertia.Method{{Name: "overrun",
		Inertia: stats.Normal(value, value*own), Error: e}}}}
}

// With the ratio, the common error of both absolute values cancels from the change: it is known better than
// from the two values alone.
func TestCombinationUsesWhatTheErrorsShare(t *testing.T) {
	c := &comparison{finding: &Finding{}, before: absoluteSide(0.22, 0.03, 0.05), after: absoluteSide(0.17, 0.03, 0.05)}
	c.combineInertias()
	alone := c.finding.Change.SD
	c = &comparison{finding: &Finding{}, before: absoluteSide(0.22, 0.03, 0.05), after: absoluteSide(0.17, 0.03, 0.05),
		answer: &answer{ln: math.Log(0.22 / 0.17), variance: 0.0004, df: 10}}
	c.combineInertias()
	if with := c.finding.Change.SD; with > 0.75*alone {
		t.Errorf("sd of the change %.4f with the ratio, %.4f without", with, alone)
	}
	if d := c.finding.Change.Value; math.Abs(d+0.05) > 0.001 {
		t.Errorf("change %.4f, want -0.05", d)
	}
}

// What the free revs of a side are wrong by is in its absolute value and in the ratio. However much of both it is, there
// are inertias that could have been measured so.
func TestSharedErrorsCanBe(t *testing.T) {
	side := func(value float64) Side {
		s := absoluteSide(value, 0.002, 0.002)
		s.Inertia.Methods[0].Error.RevDownSD = 0.02
		return s
	}
	c := &comparison{finding: &Finding{}, before: side(0.22), after: side(0.17), answer: &answer{ln: math.Log(0.22 / 0.17), variance: 0.0004, df: 10}}
	c.combineInertias()
	if c.finding.Change == nil || !(c.finding.Change.SD > 0) {
		t.Errorf("change %+v, warned %v", c.finding.Change, c.warnings)
	}
}

// A ratio and a part of known inertia give both absolute values: I_after = DI/(1-rho).
func TestRatioAndKnownPartGiveBothInertias(t *testing.T) {
	c := &comparison{finding: &Finding{}, answer: &answer{ln: math.Log(0.22 / 0.17), variance: 0.0001, df: 10},
		opt: Options{Parts: []KnownPart{{Name: "flywheel", Before: 0.151, After: 0.101, ChangeSD: 0.001}}}}
	c.combineInertias()
	if b, a := c.finding.InertiaBefore, c.finding.InertiaAfter; math.Abs(b.Value-0.22) > 1e-6 ||
		math.Abs(a.Value-0.17) > 1e-6 {
		t.Errorf("before %.4f, after %.4f, want 0.2200 and 0.1700", b.Value, a.Value)
	}
}

func TestContradictingMethodsAreNotCombined(t *testing.T) {
	c := &comparison{finding: &Finding{}, before: absoluteSide(0.22, 0.02, 0.02), after: absoluteSide(0.22, 0.02, 0.02),
		answer: &answer{ln: math.Log(1.3), variance: 0.0001, df: 10}}
	c.combineInertias()
	if c.finding.Change != nil {
		t.Error("a ratio of 1.3 and two equal absolute values were combined")
	}
	if len(c.warnings) == 0 || !strings.Contains(c.warnings[0].String(), "contradict") {
		t.Errorf("no word of the contradiction: %v", c.warnings)
	}
}
