package compare

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"flywitness/analysis/inertia"
	"flywitness/analysis/inertia/testcar"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/finding"
)

// Two absolute values known to 3 % each and a ratio known to sqrt(2) % have one degree of freedom: they miss each
// other with a standard deviation of sqrt(2 * 0.03^2 + 0.0002) = 0.0447. By the normal table 1.645 of those are p =
// 0.10, 2.17 are 0.03, 3.09 are 0.002 and 3.48 are 0.0005.
func TestHowFarTheWaysToTheInertiaMayDiffer(t *testing.T) {
	plain := func(value float64) Side {
		return Side{Inertia: &inertia.Finding{Methods: []inertia.Method{{Name: "overrun",
			Inertia: stats.Normal(value, 0.03*value), Error: inertia.ErrorParts{Own: 0.03}}}}}
	}
	for _, x := range []struct {
		z        float64
		warns    string
		combined bool
	}{{1.645, "", true}, {2.17, "methods_disagree", true}, {3.09, "methods_disagree", true},
		{3.48, "methods_contradict", false}} {
		c := &comparison{finding: &Finding{}, before: plain(0.22), after: plain(0.17),
			answer: &answer{ln: math.Log(0.22/0.17) + x.z*0.04472, variance: 0.0002, df: 10}}
		c.combineInertias()
		code := ""
		for _, w := range c.warnings {
			code += string(w.Code)
		}
		if code != x.warns || (c.finding.Change != nil) != x.combined || c.contradiction == x.combined {
			t.Errorf("%.2f standard deviations apart: warnings %q, combined %v", x.z, code, c.finding.Change != nil)
		}
	}
}

// Free revs that surely show a rise of 11 % contradict parts that surely took inertia off (2.5 of their own standard
// deviations), and not parts of which that is open.
func TestPartsAgainstFreeRevs(t *testing.T) {
	for sd, want := range map[float64]bool{0.016: true, 0.033: false} {
		c := &comparison{finding: &Finding{}, answer: &answer{ln: math.Log(0.9), variance: 0.0009, df: 20},
			opt: Options{Parts: []KnownPart{{Name: "flywheel", Before: 0.15, After: 0.11, ChangeSD: sd}}}}
		c.combineInertias()
		if c.contradiction != want {
			t.Errorf("parts known to %.3f kg m^2: contradiction %v", sd, c.contradiction)
		}
	}
}

// A part without an uncertainty is known as a pendulum knows it, to a few per cent: of 0.100 kg m^2, 0.007 less is a
// change and 0.004 less is not yet.
func TestAPartWithoutAnUncertainty(t *testing.T) {
	for after, want := range map[float64]Verdict{0.093: Reduced, 0.107: Increased, 0.096: Inconclusive} {
		f, _ := Compare(Side{}, Side{}, Options{Parts: []KnownPart{{Name: "flywheel", Before: 0.100, After: after}}})
		if f.Verdict != want {
			t.Errorf("0.100 to %.3f kg m^2: %s", after, f.Verdict)
		}
	}
}

// A ratio of few runs leaves its few degrees of freedom to whatever is worked out from it: a normal interval would be
// too short. By Student's table 3.18 standard deviations with three degrees, 1.96 with many.
func TestWorthKeepsTheFewDegreesOfFreedomOfTheRatio(t *testing.T) {
	width := func(df float64) float64 {
		c := &comparison{finding: &Finding{}, before: absoluteSide(0.22, 0.03, 0.01),
			answer: &answer{ln: math.Log(0.22 / 0.17), variance: 0.0025, df: df}}
		c.after.Vehicle = smallCar()
		c.combineInertias()
		e := c.worthOf(c.car()).estimate(func(p *state) float64 { return p.equivalentMass(1) })
		return (e.CI95[1] - e.Value) / e.SD
	}
	if few, many := width(3), width(1e6); few < 2.2 || many > 1.97 {
		t.Errorf("%.2f standard deviations with three degrees of freedom, %.2f with many", few, many)
	}
}

// How many sittings it takes to show a tenth where sittings differ by 4 %, by hand with a normal distribution: 2
// ((1.96 + 0.84) 0.04 / ln 1.1)^2 = 2.8, and one or two more for the few degrees of freedom.
func TestAdviceAsksForEnoughSessions(t *testing.T) {
	f := pair(0.22, 0.205, 1, 6, 0, 2, Options{})
	i := slices.IndexFunc(f.WhatToDrive, func(t finding.Text) bool { return t.Has(finding.MoreSessions) })
	if i < 0 {
		t.Fatalf("no advice on sessions: %v", f.WhatToDrive)
	}
	if n, _ := f.WhatToDrive[i][0].Value("sessions"); n.Float() < 3 || n.Float() > 6 {
		t.Errorf("%.0f sessions", n.Float())
	}
}

// By hand 2 (3.2415 * 0.04 / ln 1.024)^2 = 60 sittings: nobody drives them, and the advice must not ask for it.
func TestNobodyIsAskedForSixtySittings(t *testing.T) {
	if m, ok := SessionsForNoChange(0.024, 6, 1e-9, 0.04); ok {
		t.Errorf("%d sittings a side are asked for", m)
	}
}

// Two sittings a side tell their own spread badly. Where they scatter as is usual the interval holds the truth
// nineteen times in twenty; where a workshop's sittings scatter twice as much it still must, nearly: the usual spread
// may not drown what was seen.
func TestSessionsThatScatterMoreThanUsualAreBelieved(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	for times, least := range map[float64]float64{1: 0.95, 2: 0.86} {
		held := 0
		const n = 4000
		for range n {
			var mean, variance [2][]float64
			for k := range mean {
				for range 2 {
					mean[k], variance[k] = append(mean[k], times*sessionSD*rng.NormFloat64()), append(variance[k], 1e-8)
				}
			}
			between, df := sessionSpread(mean, variance, sessionSD)
			off := stats.Summarise(mean[0]).Mean - stats.Summarise(mean[1]).Mean
			if math.Abs(off) < stats.TQuantile(0.975, df)*math.Sqrt(between) {
				held++
			}
		}
		if share := float64(held) / n; share < least || share > 0.995 {
			t.Errorf("sittings that scatter %g times the usual: the interval holds in %.3f of all", times, share)
		}
	}
}

// Oil is 20 K warmer after the job. An engine's drag falls by 0.2 to 0.6 % a kelvin (common practice, no source), so
// the correction is 8 %, and its interval must hold 4 and 12 % without being so wide that the correction is lost.
// Coolant says less of the oil: a smaller correction with a larger error.
func TestTemperatureCorrectionByHand(t *testing.T) {
	at := func(oil, coolant float64) (runs []*inertia.Run, after []bool) {
		for i := range 6 {
			o, c := 70.0, 70.0
			if i >= 3 {
				o, c = o+oil, c+coolant
			}
			r := &inertia.Run{Coolant: &c}
			if oil > 0 {
				r.OilTemp = &o
			}
			runs, after = append(runs, r), append(after, i >= 3)
		}
		return runs, after
	}
	size := func(w *warmth) (by, sd float64) { return w.shift[5] - w.shift[0], math.Sqrt(w.variance()) }
	oil, oilSD := size(warmthOf(at(20, 0)))
	if oil < 0.06 || oil > 0.10 || 2*oilSD < 0.04 || 2*oilSD > 0.08 {
		t.Errorf("oil: %.3f ± %.3f", oil, oilSD)
	}
	coolant, coolantSD := size(warmthOf(at(0, 20)))
	if coolant < 0.5*oil || coolant > oil || coolantSD < oilSD || 2*coolantSD > 0.15 {
		t.Errorf("coolant: %.3f ± %.3f beside oil %.3f ± %.3f", coolant, coolantSD, oil, oilSD)
	}
	if warmthOf(at(0, 3)) != nil {
		t.Error("3 K of coolant are corrected for, and a thermostat makes them")
	}
}

// A control unit learns its throttle again within some tens of km: 100 km after a reset it counts as settled, 12 km
// are refused elsewhere.
func TestAResetIsForgottenAfterAHundredKm(t *testing.T) {
	rng := seeded(1, 9)
	side := func(i float64, km string) Side {
		s := revs(stand(i), 6, 4800, 0.01, 1, testcar.CANOne, rng)
		s.Logs[0].Header = append(s.Logs[0].Header, drive.Field{Key: keyDistance, Value: km})
		return s
	}
	if f, _ := Compare(side(0.22, "900"), side(0.16, "100"), Options{}); f.Verdict != Reduced {
		t.Errorf("%s: %s", f.Verdict, f.Reason)
	}
}

// Coolant that stands ten degrees lower is an engine that was not warm, and is corrected for. Three are the play of a
// thermostat.
func TestCoolantIsCorrectedWhereTheThermostatDoesNotHoldIt(t *testing.T) {
	for _, c := range []struct {
		colder  float64
		correct bool
	}{{10, true}, {3, false}} {
		before, after := 90.0, 90-c.colder
		w := warmthOf([]*inertia.Run{{Coolant: &before}, {Coolant: &after}}, []bool{false, true})
		if (w != nil) != c.correct {
			t.Errorf("%.0f K colder: %+v", c.colder, w)
		}
	}
}
