package part

import (
	"math"
	"math/rand"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat"

	"flywitness/job"
	"flywitness/vehicle"
)

func close(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if math.Abs(got-want) > relative*math.Abs(want) {
		t.Errorf("%s: got %.8g, want %.8g", what, got, want)
	}
}

// Source: Shigley, Mechanical Engineering Design, flywheels (from memory): I = m (Do^2 + Di^2)/8, U = I w^2/2,
// Cs = U/(I w^2). By hand: a steel disc of 300 mm and 20 mm weighs 7850 x 0.02 x pi/4 x 0.09 = 11.0977 kg; I =
// 11.0977 x 0.09/8 = 0.124849 kg m^2; as a ring with a bore of 100 mm, 9.86462 kg and 9.86462 x (0.09 + 0.01)/8
// = 0.123308; at 100 rad/s 616.54 J.
func TestDiscAndRingByHand(t *testing.T) {
	disc, mass, _, err := Rings([]Ring{{Outer: 0.3, Thickness: 0.02, Density: 7850}}, DefaultPrecision(1))
	if err != nil {
		t.Fatal(err)
	}
	close(t, "disc mass", mass.Value, 11.0977, 1e-5)
	close(t, "disc", disc.Value, 0.124849, 1e-5)
	ring, mass, _, err := Rings([]Ring{{Outer: 0.3, Inner: 0.1, Mass: 9.86462}}, DefaultPrecision(1))
	if err != nil {
		t.Fatal(err)
	}
	close(t, "ring mass", mass.Value, 9.86462, 1e-12)
	close(t, "ring", ring.Value, 0.123308, 1e-5)
	close(t, "energy", Energy(ring.Value, 100), 616.54, 1e-5)
	// The energy that a flywheel gives between two speeds is I w^2 Cs, Cs = (w2 - w1)/w about their mean w:
	// 0.123308 x 100^2 x 0.04 = 49.323 J.
	close(t, "energy of a speed fluctuation", Energy(ring.Value, 102)-Energy(ring.Value, 98), 49.323, 1e-5)
	cut, _, _, err := Rings([]Ring{{Outer: 0.3, Thickness: 0.02, Density: 7850},
		{Outer: 0.1, Thickness: 0.02, Density: 7850, Cut: true}}, DefaultPrecision(2))
	if err != nil {
		t.Fatal(err)
	}
	close(t, "a ring is a disc with a disc cut out", cut.Value, ring.Value, 1e-5)
}

func TestRingUncertainty(t *testing.T) {
	est, _, budget, err := Rings([]Ring{{Outer: 0.28, Inner: 0.03, Mass: 8}},
		Precision{Diameter: 0.001, Mass: 0.08, Shape: 0})
	if err != nil {
		t.Fatal(err)
	}
	// Outer diameter 2 x 0.357 % and mass 1 % dominate: sqrt(0.714^2 + 1^2) = 1.229 %.
	close(t, "relative sd", est.SD/est.Value, 0.0123, 0.02)
	if budget[0].Input != "mass of ring 1" || budget[1].Input != "outer diameter of ring 1" {
		t.Errorf("budget %v", budget)
	}
}

func TestRefusedRings(t *testing.T) {
	for want, ring := range map[string]Ring{
		"inner diameter":               {Outer: 0.2, Inner: 0.3, Mass: 5},
		"outer diameter":               {Outer: 280, Mass: 5},
		"not both":                     {Outer: 0.2, Mass: 5, Thickness: 0.01},
		"needs its mass":               {Outer: 0.2},
		"the mass is":                  {Outer: 0.2, Mass: -5},
		"not a finite":                 {Outer: math.NaN(), Mass: 5},
		"cannot be":                    {Outer: 0.2, Thickness: 12, Density: 7850},
		"cut out weigh more":           {Outer: 0.2, Mass: 5, Cut: true},
		"ring 1: the outer diameter i": {Mass: 5},
	} {
		if _, _, _, err := Rings([]Ring{ring}, DefaultPrecision(1)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%+v: %v, want %q", ring, err, want)
		}
	}
	if _, _, _, err := Rings(nil, DefaultPrecision(1)); err == nil {
		t.Error("no ring")
	}
}

func TestWeightAloneIsARange(t *testing.T) {
	low, high, err := WeightRange(8, 0)
	if err != nil || high < 5*low {
		t.Errorf("%g to %g %v", low, high, err)
	}
	low, high, err = WeightRange(8, 0.28)
	disc := 8 * 0.28 * 0.28 / 8
	if err != nil || low > disc || high < disc || high > 8*0.14*0.14 {
		t.Errorf("%g to %g around a disc of %g: %v", low, high, disc, err)
	}
	for _, m := range []float64{0, -1, math.NaN(), 900} {
		if _, _, err := WeightRange(m, 0); err == nil {
			t.Errorf("%g kg accepted", m)
		}
	}
}

// rig is the bench of the method's budget: 140 +- 1 mm, 1200 +- 3 mm, 20 g, 0.15 s on 20 swings.
var rig = Rig{Radius: 0.14, RadiusSD: 0.001, Length: 1.2, LengthSD: 0.003, MassSD: 0.02}

// period is T = 2 pi sqrt(J L / (m g R^2)), solved from the textbook form I = m g R^2 T^2 / (4 pi^2 L) (from memory).
func period(r Rig, mass, inertia float64) float64 {
	return 2 * math.Pi * math.Sqrt(inertia*r.Length/(mass*9.80665*r.Radius*r.Radius))
}

// A disc of 10 kg and 280 mm has 10 x 0.28^2 / 8 = 0.098 kg m^2. As a bifilar pendulum on threads 280 mm apart,
// I = m g d^2 T^2 / (16 pi^2 L) (textbook, from memory), it swings in the same time.
func TestKnownDiscRoundTrip(t *testing.T) {
	const mass, want = 10, 0.098
	T := period(rig, mass, want)
	d := 2 * rig.Radius
	close(t, "bifilar", mass*9.80665*d*d*T*T/(16*math.Pi*math.Pi*rig.Length), want, 1e-12)
	got, _, err := rig.Swing(Hung{"disc", mass, Timing{[]float64{20 * T}, 20}})
	if err != nil {
		t.Fatal(err)
	}
	close(t, "trifilar", got.Value, want, 1e-12)

	platform := rig
	platform.PlatformMass = 2
	const own = 0.011
	platform.Platform = Timing{[]float64{20 * period(rig, 2, own)}, 20}
	loaded := period(rig, mass+2, want+own)
	got, _, err = platform.Swing(Hung{"disc", mass, Timing{[]float64{20 * loaded}, 20}})
	if err != nil {
		t.Fatal(err)
	}
	close(t, "on a platform", got.Value, want, 1e-12)
}

func TestPendulumBudget(t *testing.T) {
	hang := func(name string, mass, inertia float64) Hung {
		return Hung{name, mass, Timing{[]float64{20 * period(rig, mass, inertia)}, 20}}
	}
	before, after := hang("old", 10.7, 0.151), hang("new", 5.9, 0.083)
	one, _, err := rig.Swing(before)
	if err != nil {
		t.Fatal(err)
	}
	if r := one.SD / one.Value; r < 0.015 || r > 0.022 {
		t.Errorf("one part: %.2f %%, want about 1.8 %%", 100*r)
	}
	change, budget, err := rig.Change(before, after)
	if err != nil {
		t.Fatal(err)
	}
	close(t, "change", change.Value, -0.068, 1e-9)
	if r := -change.SD / change.Value; r < 0.018 || r > 0.03 {
		t.Errorf("change: %.2f %%, want about 2.4 %%", 100*r)
	}
	// The hand on the stopwatch and the place of the threads come before all else.
	if budget[0].Input != "times of old" || budget[1].Input != "radius of threads" {
		t.Errorf("budget %v", budget)
	}
	// Counting the rig's errors twice as if they were independent would claim more than this.
	two, _, _ := rig.Swing(after)
	if independent := math.Hypot(one.SD, two.SD); change.SD >= independent {
		t.Errorf("common errors did not cancel: %g >= %g", change.SD, independent)
	}
}

func TestRepeatsUseStudent(t *testing.T) {
	T := period(rig, 8, 0.08)
	free := Rig{Radius: 0.14, Length: 1.2}
	times := []float64{20*T - 0.1, 20 * T, 20*T + 0.1}
	got, _, err := free.Swing(Hung{"x", 8, Timing{times, 20}})
	if err != nil {
		t.Fatal(err)
	}
	// sd 0.1 s, mean of 3: 0.0577 s; twice that relative to 20 T, and gravity 0.13 %.
	want := got.Value * math.Hypot(2*0.0577350/(20*T), 0.013/9.80665)
	close(t, "sd", got.SD, want, 1e-4)
	if h := (got.CI95[1] - got.Value) / got.SD; h < 2.3 || h > 4.4 {
		t.Errorf("interval is %.2f sd, want Student's for few repeats", h)
	}
}

func TestMonteCarloAgrees(t *testing.T) {
	rng := rand.New(rand.NewSource(1))
	r := rig
	r.PlatformMass = 1.5
	T0, T1, T2 := period(rig, 1.5, 0.009), period(rig, 9.5, 0.118), period(rig, 6.5, 0.071)
	r.Platform = Timing{[]float64{20 * T0}, 20}
	change, _, err := r.Change(Hung{"a", 8, Timing{[]float64{20 * T1}, 20}}, Hung{"b", 5, Timing{[]float64{20 * T2}, 20}})
	if err != nil {
		t.Fatal(err)
	}
	draws := make([]float64, 40000)
	for i := range draws {
		g := 9.80665 + 0.013*rng.NormFloat64()
		R, L := 0.14+0.001*rng.NormFloat64(), 1.2+0.003*rng.NormFloat64()
		mp := 1.5 + 0.02*rng.NormFloat64()
		s := func(T float64) float64 { return T + 0.15/20*rng.NormFloat64() }
		c := g * R * R / (4 * math.Pi * math.Pi * L)
		t0, t1, t2 := s(T0), s(T1), s(T2)
		m1, m2 := 8+0.02*rng.NormFloat64(), 5+0.02*rng.NormFloat64()
		draws[i] = c * ((m2+mp)*t2*t2 - mp*t0*t0 - (m1+mp)*t1*t1 + mp*t0*t0)
	}
	close(t, "sd", change.SD, stat.StdDev(draws, nil), 0.015)
	close(t, "value", change.Value, stat.Mean(draws, nil), 0.002)
}

// The wide swing against the exact integral of the threads' potential.
func TestWideSwing(t *testing.T) {
	for _, degrees := range []float64{2, 10, 25} {
		a := degrees * math.Pi / 180
		R, L := 0.14, 0.6
		drop := func(q float64) float64 { return L - math.Sqrt(L*L-2*R*R*(1-math.Cos(q))) }
		// T = 4 int_0^a dq / sqrt(2 m g (drop(a) - drop(q)) / J), q = a sin u, over T0 = 2 pi sqrt(J L / (m g R^2)).
		exact := quad.Fixed(func(u float64) float64 {
			return a * math.Cos(u) / math.Sqrt(2*(drop(a)-drop(a*math.Sin(u))))
		}, 0, math.Pi/2, 200, nil, 0) * 4 / (2 * math.Pi * math.Sqrt(L/(R*R)))
		r := Rig{Radius: R, Length: L, Amplitude: a}
		if got := r.widening(); math.Abs(got-exact) > 2e-4 {
			t.Errorf("%g degrees: %.6f, exact %.6f", degrees, got, exact)
		}
	}
}

func TestRefusedPendulums(t *testing.T) {
	good := Hung{"part", 8, Timing{[]float64{18, 18.1, 18.05}, 20}}
	with := func(change func(*Rig, *Hung)) error {
		r, p := rig, good
		change(&r, &p)
		_, _, err := r.Swing(p)
		return err
	}
	if err := with(func(*Rig, *Hung) {}); err != nil {
		t.Fatal(err)
	}
	for want, change := range map[string]func(*Rig, *Hung){
		"tied at a radius":     func(r *Rig, _ *Hung) { r.Radius = 140 },
		"long":                 func(r *Rig, _ *Hung) { r.Length = 0 },
		"its own times":        func(r *Rig, _ *Hung) { r.PlatformMass = 1 },
		"has no mass":          func(r *Rig, _ *Hung) { r.Platform = good.Timing },
		"too wide":             func(r *Rig, _ *Hung) { r.Amplitude = 1 },
		"the mass is":          func(_ *Rig, p *Hung) { p.Mass = 0 },
		"swings were counted":  func(_ *Rig, p *Hung) { p.Swings = 0 },
		"no times":             func(_ *Rig, p *Hung) { p.Times = nil },
		"cannot be":            func(_ *Rig, p *Hung) { p.Times = []float64{-18} },
		"miscounted":           func(_ *Rig, p *Hung) { p.Times = []float64{18, 18, 27} },
		"not a finite":         func(r *Rig, _ *Hung) { r.Radius = math.NaN() },
		"standard deviation":   func(r *Rig, _ *Hung) { r.RadiusSD = -1 },
		"than the empty platf": func(r *Rig, p *Hung) { r.PlatformMass = 50; r.Platform = Timing{[]float64{60}, 20} },
	} {
		if err := with(change); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}

// Source: Shigley, Mechanical Engineering Design, disc clutch (from memory). By hand for D 240, d 155 mm, F
// 7200 N, mu 0.3, two faces: wear 2 x 0.3 x 7200 x 0.395/4 = 426.6 N m; pressure 4320/3 x (0.013824 -
// 0.003723875)/(0.0576 - 0.024025) = 1440 x 0.010100125/0.033575 = 433.185 N m.
func TestClutchCapacityOfTextbook(t *testing.T) {
	c := Clutch{Outer: 0.24, Inner: 0.155, Clamp: 7200, ClampSD: 360, Friction: 0.3, FrictionSD: 0.04, Faces: 2}
	got, err := c.Capacity()
	if err != nil {
		t.Fatal(err)
	}
	close(t, "wear", got.Wear.Value, 426.6, 1e-9)
	close(t, "pressure", got.Pressure.Value, 433.185, 1e-6)
	close(t, "clamp", c.ClampFor(426.6), 7200, 1e-12)
	close(t, "sd", got.Wear.SD/got.Wear.Value, math.Hypot(0.04/0.3, 0.05), 1e-9)
	for inner := 0.01; inner < 0.24; inner += 0.01 {
		c.Inner = inner
		got, err := c.Capacity()
		if err != nil || got.Wear.Value > got.Pressure.Value {
			t.Errorf("inner %g: wear %g above pressure %g (%v)", inner, got.Wear.Value, got.Pressure.Value, err)
		}
	}
}

// Common practice, no source: a 240 mm disc instead of 228 mm at the same clamp raises capacity by about the
// ratio of mean radii, which for discs of like proportion is about the ratio of diameters (5 %).
func TestLargerDiscHoldsMore(t *testing.T) {
	small := Clutch{Outer: 0.228, Inner: 0.150, Clamp: 7200, ClampSD: 360, Friction: 0.3, FrictionSD: 0.04, Faces: 2}
	large := small
	large.Outer, large.Inner = 0.240, 0.155
	ratio, err := small.Ratio(large)
	if err != nil {
		t.Fatal(err)
	}
	close(t, "ratio of mean radii", ratio.Value, (240+155.0)/(228+150), 1e-12)
	close(t, "about the ratio of diameters", ratio.Value, 240.0/228, 0.02)
	if ratio.SD != 0 {
		t.Errorf("common friction and clamp did not drop out: sd %g", ratio.SD)
	}
	large.Clamp, large.ClampSD = 9000, 450
	ratio, err = small.Ratio(large)
	if err != nil {
		t.Fatal(err)
	}
	close(t, "sd of two clamps", ratio.SD/ratio.Value, 0.05*math.Sqrt2, 0.01)
}

func TestRefusedClutches(t *testing.T) {
	good := Clutch{Outer: 0.24, Inner: 0.155, Clamp: 7200, Friction: 0.3, Faces: 2}
	for want, change := range map[string]func(*Clutch){
		"outer diameter": func(c *Clutch) { c.Outer = 240 }, "inner diameter": func(c *Clutch) { c.Inner = 0.25 },
		"clamp load": func(c *Clutch) { c.Clamp = 0 }, "friction coefficient": func(c *Clutch) { c.Friction = 3 },
		"friction faces": func(c *Clutch) { c.Faces = 0 }, "finite": func(c *Clutch) { c.Clamp = math.Inf(1) },
		"negative": func(c *Clutch) { c.ClampSD = -1 },
	} {
		c := good
		change(&c)
		if _, err := c.Capacity(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
		if _, err := good.Ratio(c); err == nil {
			t.Errorf("ratio with %+v", c)
		}
	}
}

// Common practice, no source: taking about 5.5 kg off a flywheel of about 10.7 kg is spoken of as about 115 kg
// of car in first gear, fading gear by gear with the square of the ratio and unmeasurable in fourth.
func TestSizeOfAFlywheelChange(t *testing.T) {
	before, _, _, err := Rings([]Ring{{Outer: 0.28, Inner: 0.04, Mass: 10.7}}, DefaultPrecision(1))
	if err != nil {
		t.Fatal(err)
	}
	after, _, _, err := Rings([]Ring{{Outer: 0.28, Inner: 0.04, Mass: 5.2}}, DefaultPrecision(1))
	if err != nil {
		t.Fatal(err)
	}
	change := *before
	change.Value = after.Value - before.Value
	v, _, err := vehicle.Parse([]byte("[vehicle]\nrolling_circumference_m = 1.9\n[gearbox]\nratios = [3.2, 1.9, "+
		"1.35, 1.0]\nfinal_drive = 4.1\n"), "x")
	if err != nil {
		t.Fatal(err)
	}
	worth := EquivalentMass(v, &change)
	if m := worth[0].EquivalentMass.Value; m < 115/1.5 || m > 115*1.5 {
		t.Errorf("first gear: %.0f kg, want of the order of 115", m)
	}
	for i, g := range worth {
		want := worth[0].EquivalentMass.Value * math.Pow(v.TotalRatio(i+1)/v.TotalRatio(1), 2)
		close(t, "square of the ratio", g.EquivalentMass.Value, want, 1e-12)
	}
	if worth[3].EquivalentMass.Value > 0.1*worth[0].EquivalentMass.Value {
		t.Error("fourth gear should be a tenth of first or less")
	}
	if EquivalentMass(nil, &change) != nil || EquivalentMass(&vehicle.Vehicle{}, &change) != nil {
		t.Error("no vehicle, no equivalent mass")
	}
}

func TestJobBlockIsReadByAJob(t *testing.T) {
	T1, T2 := period(rig, 10.7, 0.151), period(rig, 5.9, 0.083)
	before, after := Hung{"old", 10.7, Timing{[]float64{20 * T1}, 20}}, Hung{"new", 5.9, Timing{[]float64{20 * T2}, 20}}
	f := Finding{Name: "fly\"wheel\n"}
	f.Inertia, _, _ = rig.Swing(before)
	f.After, _, _ = rig.Swing(after)
	f.Change, _, _ = rig.Change(before, after)
	dir := t.TempDir()
	text := "before = \"a.csv\"\n" + f.JobBlock()
	for name, content := range map[string]string{"a.csv": "", "job.toml": text} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	j, warnings, err := job.Load(filepath.Join(dir, "job.toml"))
	if err != nil || len(warnings) != 0 {
		t.Fatalf("%v %v\n%s", err, warnings, text)
	}
	close(t, "change", j.Parts[0].Change, -0.068, 1e-3)
	close(t, "sd", j.Parts[0].ChangeSD, (f.Change.CI95[1]-f.Change.CI95[0])/3.92, 0.01)
	if (&Finding{}).JobBlock() != "" {
		t.Error("nothing to state")
	}
}

// Whoever typed millimetres for metres, grams for kilograms or one swing's time for that of all is told; what a workshop
// has is taken.
func TestWhatWasTypedWrong(t *testing.T) {
	for _, c := range []struct {
		what string
		err  func(times float64) error
		good []float64
		bad  []float64
	}{
		{"radius of the threads, m", func(x float64) error {
			return Rig{Radius: x, Length: 1.2}.check()
		}, []float64{0.02, 0.14, 0.5}, []float64{0.002, 2}},
		{"length of the threads, m", func(x float64) error {
			return Rig{Radius: 0.14, Length: x}.check()
		}, []float64{0.2, 1.2, 5}, []float64{0.02, 20}},
		{"swings", func(x float64) error {
			return Timing{Times: []float64{x}, Swings: int(x)}.check("part")
		}, []float64{1, 20, 5000}, []float64{20000}},
		{"s for a swing", func(x float64) error {
			return Timing{Times: []float64{20 * x}, Swings: 20}.check("part")
		}, []float64{0.5, 10}, []float64{60}},
		{"kg of a part", func(x float64) error {
			_, _, err := rig.Swing(Hung{"part", x, Timing{[]float64{18, 18.1, 18.05}, 20}})
			return err
		}, []float64{8, 100}, []float64{500}},
		{"N of clamp load", func(x float64) error {
			return Clutch{Outer: 0.24, Inner: 0.155, Clamp: x, Friction: 0.3, Faces: 2}.check()
		}, []float64{7200, 30000}, []float64{2e6}},
		{"friction faces", func(x float64) error {
			return Clutch{Outer: 0.24, Inner: 0.155, Clamp: 7200, Friction: 0.3, Faces: int(x)}.check()
		}, []float64{1, 2, 12}, []float64{60}},
		{"kg/m^3", func(x float64) error { return Ring{Outer: 0.2, Thickness: 0.02, Density: x}.check(1) },
			[]float64{2700, 7850, 19300}, []float64{50000}},
	} {
		for _, x := range c.good {
			if err := c.err(x); err != nil {
				t.Errorf("%g %s: %v", x, c.what, err)
			}
		}
		for _, x := range c.bad {
			if c.err(x) == nil {
				t.Errorf("%g %s is taken", x, c.what)
			}
		}
	}
}
