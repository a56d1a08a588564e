package gearstate

import (
	"math"
	"testing"
)

// The tables are right to the three digits that the decoder needs.
func TestTablesOfLogarithms(t *testing.T) {
	for x := 0.0; x < 25; x += 0.0371 {
		if d := softplus(-x) - math.Log1p(math.Exp(-x)); math.Abs(d) > 1e-3 {
			t.Errorf("ln(1 + exp -%g) is off by %g", x, d)
		}
	}
	for z := -4.99; z < 7; z += 0.0371 {
		if d := lnUpperNormal(z) - math.Log(0.5*math.Erfc(-z/math.Sqrt2)); math.Abs(d) > 1e-3 {
			t.Errorf("ln of the normal distribution at %g is off by %g", z, d)
		}
	}
	if softplus(math.NaN()) != 0 || math.Abs(lnUpperNormal(-8)-math.Log(0.5*math.Erfc(8/math.Sqrt2))) > 0.6 {
		t.Errorf("beyond the tables: %g, %g", softplus(math.NaN()), lnUpperNormal(-8))
	}
}

// From every state the model goes somewhere: the probabilities of its transitions add up to one.
func TestTransitionsAreProbabilities(t *testing.T) {
	for _, dt := range []float64{0.05, 0.11, 0.4, 1, 5} {
		const n = 5
		l := newTransitions(dt, n)
		p := math.Exp
		for from, sum := range map[string]float64{
			"locked": p(l.stayL) + p(l.lToO) + p(l.lToS) + (n-1)*p(l.direct), "slipping": p(l.stayS) + p(l.sToL) + p(l.sToO),
			"open": p(l.stayO) + n*(p(l.oToL)+p(l.oToS)),
		} {
			if !(math.Abs(sum-1) < 1e-9) {
				t.Errorf("%g s: from %s %.9f", dt, from, sum)
			}
		}
	}
}

// Densities integrate to one, that of slipping nearly, since it begins above what is locked: else one state is
// likelier than another for nothing.
func TestDensitiesIntegrateToOne(t *testing.T) {
	integral := func(lo, hi float64, ln func(x float64) float64) float64 {
		const steps = 20000
		sum := 0.0
		for i := range steps {
			sum += math.Exp(ln(lo+(hi-lo)*(float64(i)+0.5)/steps)) * (hi - lo) / steps
		}
		return sum
	}
	var locked lockedShape
	locked.set(0.3, halfOf(1))
	slip := newSlipShape(60)
	slip.sd = 0.3
	for _, c := range []struct {
		name string
		got  float64
	}{
		{"a free engine's rate", integral(-20000, 20000, lnOpenRate)}, {"idle", integral(-1000, 1000, lnIdle)},
		{"locked", integral(-40, 40, locked.ln)}, {"slipping", integral(-10, 100, slip.ln)},
	} {
		if math.Abs(c.got-1) > 0.1 {
			t.Errorf("%s: %.3f", c.name, c.got)
		}
	}
}

// The curves are right to the seven digits that a decision between two paths needs.
func TestCurves(t *testing.T) {
	for x := 1e-6; x < 1e6; x *= 1.0371 {
		if d := ln(x) - math.Log(x); math.Abs(d) > 1e-7 {
			t.Errorf("ln %g is off by %g", x, d)
		}
	}
	for x := -6.0; x < 6; x += 0.00371 {
		if d := erf(x) - math.Erf(x); math.Abs(d) > 1e-7 {
			t.Errorf("erf %g is off by %g", x, d)
		}
	}
	for x := 0.0; x < 20; x += 0.00371 {
		if d := expMinus(x) - math.Exp(-x); math.Abs(d) > 1e-7 {
			t.Errorf("exp -%g is off by %g", x, d)
		}
	}
}

// A gear is held for some ten seconds in town, and changed in one or two. Who hears nothing for three seconds may take it
// that the gear is still in; after eight seconds the car may be in any. On a link of a value in 1.5 s four intervals are
// three lost values, ten are an interruption.
func TestWhatWasBeforeAnInterruption(t *testing.T) {
	for _, c := range []struct {
		period, seconds float64
		remembered      bool
	}{{0.1, 3, true}, {0.1, 8, false}, {1.5, 6, true}, {1.5, 15, false}} {
		d := NewDecoder(Model{Step: 1, Period: c.period, Idle: 850, Gears: []Gearing{{Number: 3, K: 47}, {Number: 4, K: 36}}})
		o := Observation{DT: c.period, N: 47 * 60, V: 60, Load: math.NaN(), Valid: true}
		for range 200 {
			d.advance(&o)
		}
		o.DT = c.seconds
		d.advance(&o)
		third, fourth := d.lat.score[1]-d.lat.emit[1], d.lat.score[2]-d.lat.emit[2]
		if math.Abs(third-fourth) > 1e-9 != c.remembered {
			t.Errorf("%+v: third gear is likelier than fourth by %.2f nats for what was before", c, third-fourth)
		}
	}
}

// A change of gear takes three tenths of a second at least: one in four falls between two values that are 0.4 s apart, and
// none between two that are 0.1 s apart.
func TestChangesBetweenTwoValues(t *testing.T) {
	for dt, between := range map[float64][2]float64{0.1: {0, 0.05}, 0.4: {0.15, 0.4}} {
		l := newTransitions(dt, 5)
		direct := 4 * math.Exp(l.direct)
		if share := direct / (direct + math.Exp(l.lToO)); share < between[0] || share > between[1] {
			t.Errorf("%.1f s: %.2f of the changes", dt, share)
		}
	}
}

// In first, 118 rpm per km/h, a quick car gains 8 km/h/s, 940 rpm/s; 22 km/h/s, 2600 rpm/s, is what none gains: that engine
// is free.
func TestRateOfAFreeEngine(t *testing.T) {
	for rate, want := range map[float64]float64{-3000: 0, 940: 0, 2600: 1, 9000: 1} {
		if got := free(rate); got != want {
			t.Errorf("%.0f rpm/s: free %.2f", rate, got)
		}
	}
}

// In fifth, 29 rpm per km/h, a locked engine's own unrest is some 30 rpm/s: that says nothing. One that gains 200 rpm/s on
// its car slips by another 3 % within half a second, and says so.
func TestRateOfALockedEngine(t *testing.T) {
	lost := func(rate float64) float64 {
		return lockedRate(&Observation{}, 29) - lockedRate(&Observation{NDot: rate}, 29)
	}
	if lost(30) > 0.3 || lost(200) < 1.5 {
		t.Errorf("30 rpm/s cost %.2f nats, 200 rpm/s %.2f", lost(30), lost(200))
	}
}

// What keeps a car at 80 km/h on the level goes through its clutch, slipping or not. A car that loses speed as brakes make
// it is not pushed; a hill may do so, which no force tells from them: one in some hundreds, and no less however hard.
func TestForceOfASlippingClutch(t *testing.T) {
	for _, c := range []struct{ a, least, most float64 }{{3, 0, 0}, {0, 0, 0}, {-4, 2, 6}, {-12, 5, 8}, {-25, 5, 8}} {
		if got := slipForce(PhiFromAcceleration(c.a, 80)); got < c.least || got > c.most {
			t.Errorf("%.0f km/h/s: %.1f nats", c.a, got)
		}
	}
}
