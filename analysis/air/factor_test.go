package air

import (
	"math"
	"testing"
)

// SAE J1349 and ISO 1585 (from memory): in their own reference air, 990 hPa dry at 25 C, the factor is one.
// Away from it the figures are worked by hand from the printed formulas: 95 kPa dry at 35 C gives 1.180 x
// (990/950) x sqrt(308/298) - 0.18 = 1.0702 and (99/95)^1.2 (308/298)^0.6 = 1.0717.
func TestReferenceAir(t *testing.T) {
	for _, m := range Methods {
		if f := m.factor(99, 25); math.Abs(f-1) > 1e-3 {
			t.Errorf("%s in its reference air: %.5f", m.Name(), f)
		}
	}
	if f := J1349.factor(95, 35); math.Abs(f-1.0702) > 1e-4 {
		t.Errorf("J1349: %.5f", f)
	}
	if f := ISO1585.factor(95, 35); math.Abs(f-1.0717) > 1e-4 {
		t.Errorf("ISO 1585: %.5f", f)
	}
}

// Saturated water vapour (steam tables, from memory): 2.339 kPa at 20 C, 4.247 kPa at 30 C.
func TestVapour(t *testing.T) {
	for temp, want := range map[float64]float64{20: 2.339, 30: 4.247} {
		if p := saturated(temp); math.Abs(p/want-1) > 0.004 {
			t.Errorf("%g C: %.4f kPa, want %.3f", temp, p, want)
		}
	}
}

// Humidity that nobody logs is in the interval: dry and saturated air lie within two standard deviations. Thin
// air and heat ask for more, and beyond what the standards allow there is no factor.
func TestCorrect(t *testing.T) {
	for _, m := range Methods {
		c := Conditions{PressureKPa: 98, TempC: 28, TempSD: 2}
		f, err := m.Correct(c)
		if err != nil {
			t.Fatal(err)
		}
		for _, h := range []float64{0, 1} {
			if x := m.factor(c.PressureKPa-h*saturated(c.TempC), c.TempC); math.Abs(x-f.Value) > 2*f.SD {
				t.Errorf("%s: humidity %g gives %.4f, told %.4f ± %.4f", m.Name(), h, x, f.Value, f.SD)
			}
		}
		if thin, err := m.Correct(Conditions{PressureKPa: 96, TempC: 28, TempSD: 2}); err != nil || thin.Value <= f.Value {
			t.Errorf("%s: thinner air does not ask for more: %v %v", m.Name(), thin, err)
		}
		if inlet, err := m.Correct(Conditions{PressureKPa: 98, TempC: 28, TempSD: 6}); err != nil || inlet.SD <= f.SD {
			t.Errorf("%s: a worse thermometer is trusted as much", m.Name())
		}
		for _, far := range []Conditions{{PressureKPa: 80, TempC: 20}, {PressureKPa: 104, TempC: -20}} {
			if x, err := m.Correct(far); err == nil {
				t.Errorf("%s corrects %+v by %.3f", m.Name(), far, x.Value)
			}
		}
	}
}

// The deviation of the factor has three parts: a uniform distribution between dry and saturated air, whose
// standard deviation is its width over the root of twelve; a barometer that may be off by 0.7 kPa, a factor of
// 1/98 for each; and the thermometer.
func TestDeviationOfTheFactor(t *testing.T) {
	c := Conditions{PressureKPa: 98, TempC: 28, TempSD: 0}
	width := J1349.factor(98-saturated(28), 28) - J1349.factor(98, 28)
	barometer := 1.18 * 99 * math.Sqrt(301.0/298) * 0.7 / ((98 - saturated(28)/2) * (98 - saturated(28)/2))
	f, err := J1349.Correct(c)
	if want := math.Hypot(width/math.Sqrt(12), barometer); err != nil || math.Abs(f.SD/want-1) > 0.03 {
		t.Errorf("sd %.5f, want %.5f (%v)", f.SD, want, err)
	}
	// A degree more takes a half of 1/301 by the root, and by its vapour a half of 0.225 kPa (steam tables at
	// 28 and 29 C, from memory) from the dry air.
	perDegree := 1.18 * 99 / 96.11 * math.Sqrt(301.0/298) * (0.5/301 + 0.5*0.225/96.11)
	c.TempSD = 2
	warm, err := J1349.Correct(c)
	if want := math.Hypot(f.SD, 2*perDegree); err != nil || math.Abs(warm.SD/want-1) > 0.03 {
		t.Errorf("with a thermometer that may be 2 C off: %.5f, want about %.5f (%v)", warm.SD, want, err)
	}
}
