package detect

import (
	"math"
	"testing"

	"flywitness/analysis/gearstate"
)

// wander is a drive at light load in third whose engine speed stands off its gear by a share that changes sign
// every ten seconds.
func wander(share, seconds float64) *handmade {
	return at(80, 0.05).drive(leg{s: seconds, gear: 3, load: 0.2, clutch: gearstate.Slipping,
		slip: func(u float64) float64 { return math.Copysign(share, math.Sin(2*math.Pi*u/20)) }})
}

func spread(h *handmade) float64 {
	r := h.record()
	r.learnNull()
	return r.Spread
}

// The log's own control, by hand: at a constant 80 km/h in steps of 0.1 no step averages out, so the standard
// deviation is 0.3*0.1 = 0.03 km/h, beside 0.006 of creep times (0.11+0.148)/9.81 = 0.0263 of weight times 80 =
// 0.0126: hypot 0.0325. Half a per cent is 0.4 km/h, 12.3 standard deviations: over 3 makes 4.1.
func TestSpreadOfTheControl(t *testing.T) {
	for _, c := range []struct {
		what           string
		share, seconds float64
		want, by       float64
	}{
		{"behaves", 0, 60, 1, 1e-9},
		{"wanders by 0.5 %", 0.005, 60, 4.1, 0.2},
		{"for half a minute", 0.005, 33, 4.1, 0.2},
		{"for eight seconds, some thirty windows", 0.005, 8, 4.1, 0.2},
		{"for four seconds, too few", 0.005, 4, 1, 1e-9},
	} {
		near(t, c.what, spread(wander(c.share, c.seconds)), c.want, c.by)
	}
}

// Where the speed may be that of other wheels and no load is known, what wanders at light load may be the force in it,
// and grows with the force of a pull. By hand: 0.0263 of weight times 80 is 2.1 km/h, so that creep known to 0.015 leaves 0.0316, with the
// steps 0.0436 km/h; 0.4 km/h are 9.2 of those, 3.06 times what behaves, and sqrt(3.06^2-1) 0.0436/2.1 = 0.060 of creep
// would make it. In a pull of 5 km/h/s, 0.168 of weight and 13.4 km/h, that is 0.80 km/h.
func TestWanderThatMayBeForce(t *testing.T) {
	for _, c := range []struct {
		other, blind bool
		creeps       float64
	}{{true, true, 0.060}, {false, true, 0}, {true, false, 0}} {
		h := wander(0.005, 60)
		h.Model.MayCreep = c.other
		if c.blind {
			h.Model.Load = gearstate.LoadScale{}
		}
		r := h.drive(leg{s: 1, gear: 3, a: 5, load: 1}).record()
		r.learnNull()
		near(t, "creep", r.creeps, c.creeps, 0.004)
		if n := r.Track.Len(); c.creeps > 0 {
			near(t, "km/h in a pull", r.test(n-18, n-2, 2).sd, 0.80, 0.1)
		}
	}
}

// A foot on the clutch pedal, or another gear, is no error of a signal.
func TestFootIsNoSpread(t *testing.T) {
	h := at(80, 0.05)
	for range 3 {
		h.drive(leg{s: 8, gear: 3, load: 0.2, slip: constant(0.25)}, leg{s: 2, rpm: 900}, leg{s: 8, gear: 3, load: 0.2},
			leg{s: 2, rpm: 900})
	}
	near(t, "spread", spread(h), 1, 1e-9)
}

// No slip makes an engine slower than the road. 0.4 km/h below it under load are 12.3 standard deviations, over
// 4.5 makes 2.7; one run may carry a wrong label.
func TestSpreadOfTheNegativeSide(t *testing.T) {
	for _, c := range []struct {
		below []float64 // slip of each pull
		want  float64
	}{{[]float64{-0.005, 0, 0}, 1}, {[]float64{-0.005, -0.005, 0}, 2.7}, {[]float64{0.005, 0.005, 0.005}, 1}} {
		h := at(80, 0.05)
		for _, x := range c.below {
			h.drive(leg{s: 6, gear: 3, load: 1, slip: constant(x), clutch: gearstate.Slipping}, leg{s: 2, rpm: 900})
		}
		near(t, "spread", spread(h), c.want, 0.1)
	}
}

// Half a minute in each of four runs, 0.4 km/h off in one or in two of them: one may carry a wrong label, and two are
// what the log shows, 12.3 standard deviations over 3.
func TestOneRunMayCarryAWrongLabel(t *testing.T) {
	for _, c := range []struct {
		off       int
		want, all float64
	}{{0, 1, 1}, {1, 1, 4.1}, {2, 4.1, 4.1}} {
		h := at(80, 0.05)
		for i := range 4 {
			x := 0.0
			if i < c.off {
				x = 0.005
			}
			h.drive(leg{s: 30, gear: 3, load: 0.2, clutch: gearstate.Slipping, slip: constant(x)}, leg{s: 2, rpm: 900})
		}
		r := h.record()
		r.learnNull()
		near(t, "spread of pulls", r.PullSpread, c.want, 0.1)
		near(t, "of all", r.Spread, c.all, 0.1)
	}
}

// A foot that lifts in the middle of an interval of 0.4 s turns 12 km/h/s into -4: the straight line between the two
// values lies 16 x 0.4/4 = 1.6 km/h below the top, and one of ten values in a window shows that: 0.16 km/h of their
// mean. A pull without a lift has no corner.
func TestCornerBetweenValues(t *testing.T) {
	window := func(legs ...leg) window {
		r := at(80, 0.4).drive(legs...).record()
		return r.inPull(5, 15, 2)
	}
	steady := window(leg{s: 8, a: 4, gear: 3, load: 1})
	cut := window(leg{s: 4, a: 12, gear: 3, load: 1}, leg{s: 4, a: -4, gear: 3, load: 0})
	near(t, "what a lift adds", math.Sqrt(cut.sd*cut.sd-steady.sd*steady.sd), 1.6/10, 0.05)
	// a line of 0.4 s, read eight times as often
	r := at(80, 0.05).drive(leg{s: 4, a: 12, gear: 3, load: 1}, leg{s: 4, a: -4, gear: 3, load: 0}).record()
	r.Track.Model.Drawn = 0.4
	near(t, "what it adds to a line that is read often", r.withCorner(0, 40, 112), 1.6/10, 0.05)
	drawn, logged := r.test(40, 112, 2).sd, r.measured(40, 112, 2).sd
	near(t, "and to what departs from it", math.Sqrt(drawn*drawn-logged*logged), 1.6/10, 0.05)
}

// Stretches of two and a half seconds in gear tell the spread as well as long ones: half a second in their middle is
// neither what is left of the engagement nor the pedal that goes down.
func TestShortStretchesTellTheSpread(t *testing.T) {
	h := at(80, 0.05)
	for range 24 {
		h.drive(leg{s: 2.7, gear: 3, load: 0.2, clutch: gearstate.Slipping, slip: constant(0.005)}, leg{s: 2, rpm: 900, load: 0.2})
	}
	near(t, "spread", spread(h), 4.1, 0.2)
}

// What is left of an engagement in the first second of a gear, or of a pedal that goes down in its last, is no spread.
func TestEndsOfAGearAreNoSpread(t *testing.T) {
	h := at(80, 0.05)
	for range 8 {
		h.drive(leg{s: 0.9, gear: 3, load: 0.2, clutch: gearstate.Slipping, slip: constant(0.005)}, leg{s: 8, gear: 3, load: 0.2},
			leg{s: 0.7, gear: 3, load: 0.2, clutch: gearstate.Slipping, slip: constant(0.005)}, leg{s: 2, rpm: 900, load: 0.2})
	}
	near(t, "spread", spread(h), 1, 1e-9)
}
