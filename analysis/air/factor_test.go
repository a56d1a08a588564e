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
		if f := m.Factor(99, 25); math.Abs(f-1) > 1e-3 {
			t.Errorf("%s in its reference air: %.5f", m.Name(), f)
		}
	}
	if f := J1349.Factor(95, 35); math.Abs(f-1.0702) > 1e-4 {
		t.Errorf("J1349: %.5f", f)
	}
	if f := ISO1585.Factor(95, 35); math.Abs(f-1.0717) > 1e-4 {
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
			if x := m.Factor(c.PressureKPa-h*saturated(c.TempC), c.TempC); math.Abs(x-f.Value) > 2*f.SD {
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
