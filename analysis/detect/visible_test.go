package detect

import (
	"math"
	"testing"

	"flywitness/analysis/motion"
	"flywitness/analysis/stats"
	"flywitness/finding"
)

// pullOf is the one pull of a drive.
func pullOf(t *testing.T, h *handmade) (*Record, *Pull) {
	t.Helper()
	r := h.record()
	r.Pulls = r.findPulls()
	if len(r.Pulls) != 1 {
		t.Fatalf("%d pulls", len(r.Pulls))
	}
	return r, &r.Pulls[0]
}

// Full load counts for a moment above an engine speed: at 80 km/h in third 3680 rpm.
func TestFullLoadForAMoment(t *testing.T) {
	for _, c := range []struct {
		what      string
		load      float64
		full, rpm float64 // s, rpm
		want      bool
	}{{"a second", 1, 1, 2000, true}, {"0.3 s", 1, 0.3, 2000, false}, {"0.85 of full", 0.85, 1, 2000, true},
		{"0.7 of full", 0.7, 1, 2000, false}, {"below the speed", 1, 1, 5000, false}} {
		r, p := pullOf(t, at(80, 0.05).drive(leg{s: 2, gear: 3, load: 0.5}, leg{s: c.full, gear: 3, load: c.load},
			leg{s: 2, gear: 3, load: 0.5}))
		if got := r.FullLoad(p, c.rpm); got != c.want {
			t.Errorf("%s: full %v", c.what, got)
		}
	}
}

// The slip that would have shown, by hand: 80 km/h, steps of 1, nothing moves, so a window of any length has
// hypot(0.3, 0.0126) = 0.300 km/h: 1.5 % + 1.65 * 0.300/80 = 2.12 %, over 1.0174: 2.08 % of engine speed. On a link
// of 0.5 s the slip's rise and fall lie in a window of 2 s: over 1 - 0.3/2 = 0.85, 2.45 %.
func TestVisibleSlip(t *testing.T) {
	for _, c := range []struct{ period, step, pct, seconds float64 }{{0.05, 1, 2.083, 1.5}, {0.5, 1, 2.451, 2}} {
		h := at(80, c.period).drive(leg{s: 12, gear: 3, load: 1})
		h.Model.Step = c.step
		r, p := pullOf(t, h)
		v, why := r.Visible(p)
		if v == nil {
			t.Fatal(why)
		}
		near(t, "visible", v.Pct, c.pct, 0.005)
		near(t, "seconds", v.Seconds, c.seconds, 1e-9)
	}
}

// The duration that is stated shows 4 %: at 40 km/h in steps of 1 that crosses some, 1.5 s show more than that and
// 3 s show less.
func TestShortestDurationThatIsClear(t *testing.T) {
	h := at(40, 0.05).drive(leg{s: 10, a: 0.5, gear: 3, load: 1})
	h.Model.Step = 1
	r, p := pullOf(t, h)
	v, _ := r.Visible(p)
	// 1.5 s cross 0.75 steps: 0.3/sqrt(2.5) = 0.19 of 42: 1.5 % + 1.65 * 0.19/42 = 2.2 %
	if v.Seconds != 1.5 {
		t.Errorf("%.2f %% lasting %.1f s", v.Pct, v.Seconds)
	}
	h = at(30, 0.05).drive(leg{s: 10, a: 0.5, gear: 3, load: 1})
	h.Model.Step = 2
	r, p = pullOf(t, h)
	// 1.5 s cross 0.375 steps: 0.6/sqrt(1.75) = 0.45 of 32.5: 6.4 %; 6 s cross 1.5: 0.3 of 32.5: 4.3 %
	if v, _ = r.Visible(p); v.Seconds != 6 {
		t.Errorf("coarse: %.2f %% lasting %.1f s", v.Pct, v.Seconds)
	}
}

// A pull in which the engine stands ahead by more than three standard deviations, 0.9 km/h of 80, and by more than
// 1.5 %, is not said to show anything, whichever window shows it; less does nothing.
func TestExcessThatIsNoProof(t *testing.T) {
	for _, c := range []struct {
		ahead, seconds float64 // of engine speed, s
		want           bool
	}{{0.017, 2, true}, {0.017, 0.5, false}, {0.014, 2, false}, {-0.017, 2, false}} {
		still := leg{s: 5, gear: 3, load: 1}
		h := at(80, 0.05).drive(still, leg{s: c.seconds, gear: 3, load: 1, slip: constant(c.ahead)}, still)
		h.Model.Step = 1
		r, p := pullOf(t, h)
		if v, why := r.Visible(p); (v == nil) != c.want || c.want && why != finding.ExcessUnproven {
			t.Errorf("%.1f %% for %.1f s: %v (%s)", 100*c.ahead, c.seconds, v, why)
		}
	}
}

// Four fifths of a pull count: a bad tenth does not, a bad third does. What is bad here is a harsh acceleration
// whose delay is not known.
func TestVisibleOverMostOfAPull(t *testing.T) {
	size := func(bad float64) float64 {
		h := at(60, 0.05).drive(leg{s: 20 - bad, gear: 3, load: 1}, leg{s: bad, a: 6, gear: 3, load: 1})
		h.Model.LagSD = 0.2
		r, p := pullOf(t, h)
		v, _ := r.Visible(p)
		return v.Pct
	}
	if a, b, c := size(0.05), size(2), size(9); math.Abs(a-b) > 0.1 || c < 2*b {
		t.Errorf("%.2f %%, with a bad tenth %.2f %%, with a bad half %.2f %%", a, b, c)
	}
}

// The largest torque that lasted for half a second: 1030 kg, arm 0.1 m; 3.6 km/h/s are 103 N m, 7.2 are 206. A
// moment of 0.3 s is none, one of 0.9 s is.
func TestPeakTorqueLasts(t *testing.T) {
	for _, c := range []struct{ moment, want float64 }{{0.3, 103}, {0.9, 206}} {
		r, p := pullOf(t, at(60, 0.05).drive(leg{s: 4, gear: 3, load: 1}, leg{s: 4, gear: 3, load: 1}))
		for i := range r.Track.Len() {
			r.State(i).A = 3.6
			if x := r.Track.T[i]; x >= 4 && x < 4+c.moment {
				r.State(i).A = 7.2
			}
		}
		got := r.PeakTorque(p, motion.NewForce(handCar(), false))
		near(t, "N m", got.Value, c.want, 1)
	}
}

// Driven wheels spin up by 60 km/h/s, which no car does: what they gain is no torque. A hard pull of 18 km/h/s is one.
func TestWheelsThatSpinUpTellNoTorque(t *testing.T) {
	spins := leg{s: 1, a: 60, gear: 3, load: 1}
	for name, c := range map[string]struct {
		h          *handmade
		least, top float64
	}{
		"in the pull": {at(40, 0.1).drive(leg{s: 4, a: 4, gear: 3, load: 1}, spins, leg{s: 3, a: 4, gear: 3, load: 1}), 100, 140},
		"a hard pull": {at(40, 0.1).drive(leg{s: 4, a: 4, gear: 3, load: 1}, leg{s: 3, a: 18, gear: 3, load: 1}), 400, 600},
	} {
		r, p := pullOf(t, c.h)
		f := motion.NewForce(handCar(), false)
		for what, got := range map[string]*stats.Estimate{"peak": r.PeakTorque(p, f), "held": r.HeldTorque(p, f, Visible{Pct: 5, Seconds: 1.5})} {
			if got == nil || got.Value < c.least || got.Value > c.top {
				t.Errorf("%s: %s torque %v", name, what, got)
			}
		}
	}
}

// A pull of five seconds in steps of 2 km/h, on a link of a value every 0.4 s: two seconds cross half a step and show
// less than four seconds, which cross a whole one; six it does not have.
func TestDurationOnASlowLink(t *testing.T) {
	h := at(30, 0.4).drive(leg{s: 5.2, a: 0.5, gear: 3, load: 1})
	h.Model.Step = 2
	r, p := pullOf(t, h)
	if v, why := r.Visible(p); v == nil || v.Seconds != 4 {
		t.Errorf("%v (%s)", v, why)
	}
}

// A pull of 1.2 s shows no slip of the shortest duration that is asked for, on a quick link and on a slow one.
func TestPullShorterThanAnySlip(t *testing.T) {
	for _, period := range []float64{0.05, 0.45} {
		r, p := pullOf(t, at(80, period).drive(leg{s: 2, gear: 3, load: 0.2}, leg{s: 1.25 + period, gear: 3, load: 1}))
		if v, why := r.Visible(p); v != nil || why != finding.PullTooShortToSee {
			t.Errorf("a value every %.2f s: %v (%s)", period, v, why)
		}
	}
}

// Slip of 10 % in three values of a link of one a second is the most that a pull shows.
func TestMostSlipOnASlowLink(t *testing.T) {
	still := leg{s: 5, gear: 3, load: 1}
	r, p := pullOf(t, at(80, 1).drive(still, leg{s: 3, gear: 3, load: 1, slip: constant(0.1)}, still))
	near(t, "slip", r.MaxSlip(p), 10, 0.5)
}
