package detect

import (
	"fmt"
	"math"
	"slices"
	"testing"
)

// shift is a change of gear from second to third under force, with the force and the load of its own for a time
// out of gear.
func shift(h *handmade, out, force, load float64) *handmade {
	return h.drive(leg{s: 3, a: 8, gear: 2, load: 0.9}, leg{s: out, a: force, rpm: 4000, load: load}, leg{s: 3, a: 6,
		gear: 3, load: 0.9})
}

// By hand: a change in which nothing breaks speaks for a gearbox that slips by design by no more than
// ln(0.88/0.35) = 0.92 nats, one in which the foot lifts or the force breaks against it by no more than
// ln(0.65/0.12) = 1.69. 2.2 and -3 nats are what the verdict asks.
func TestGearboxToldByItsShifts(t *testing.T) {
	for _, c := range []struct {
		what        string
		period      float64
		n           int
		force, load float64 // km/h/s and fraction while out of gear; NaN: no load in the log
		lo, hi      float64 // nats
	}{
		{"three whole", 0.05, 3, 7, 0.9, 2.6, 2.8},
		{"one whole", 0.05, 1, 7, 0.9, 0.8, 0.93},
		{"one whole, no load", 0.05, 1, 7, nan, 0.7, 0.93},
		{"two whole, slow", 0.4, 2, 7, nan, 0.2, 1.8},
		{"one broken and lifted", 0.05, 1, -3, 0, -1.7, -1.65},
		{"two broken, no load", 0.05, 2, -3, nan, -3.39, -3.2},
		{"five broken, no more than 5 nats", 0.05, 5, -3, nan, -5, -5},
		{"two broken, slow", 0.4, 2, -3, nan, -3.39, -1},
		{"two broken, very slow", 0.7, 2, -3, nan, -3.39, -0.5},
		{"two lifted, slow", 0.4, 2, 7, 0, -3.39, -0.5},
		{"two lifted, very slow", 0.7, 2, 7, 0, -3.39, -2.5},
		// no value may have fallen into the lift: ln(0.904/0.48) = 0.63 each
		{"two whole, very slow", 0.7, 2, 7, 0.9, 1, 1.84},
		{"two cut by half", 0.05, 2, 7, 0.5, 1, 1.84},
		// the load speaks for a lift, ln 8.6, the force against it, -3.9 nats, unless it is hidden:
		// -ln(0.99 exp(-1.3) + 0.01 exp 2.3)
		{"two cut to a third, force kept", 0.05, 2, 7, 0.3, 0.9, 1.1},
	} {
		h := at(60, c.period)
		for range c.n {
			h.v = 60
			shift(h, 0.8, c.force, c.load)
			if math.IsNaN(c.load) {
				for i := range h.Load {
					h.Load[i] = nan
				}
			}
			h.drive(leg{s: 4, rpm: 900, load: c.load})
		}
		if got := GearboxOdds([]*Record{h.record()}); got < c.lo || got > c.hi {
			t.Errorf("%s: %.2f nats, want %.1f to %.1f", c.what, got, c.lo, c.hi)
		}
	}
}

// What tells something of a gearbox: a gear further up, soon, under force or load on both sides.
func TestShiftsThatTell(t *testing.T) {
	for _, c := range []struct {
		what string
		legs []leg
		want int
	}{
		{"second to third", []leg{{s: 3, a: 8, gear: 2, load: 1}, {s: 0.8, rpm: 4000}, {s: 3, a: 6, gear: 3, load: 1}}, 1},
		{"second to fourth", []leg{{s: 3, a: 8, gear: 2, load: 1}, {s: 0.8, rpm: 4000}, {s: 3, a: 6, gear: 4, load: 1}}, 1},
		{"third to second", []leg{{s: 3, a: 8, gear: 3, load: 1}, {s: 0.8, rpm: 4000}, {s: 3, a: 6, gear: 2, load: 1}}, 0},
		{"five seconds out of gear", []leg{{s: 3, a: 8, gear: 2, load: 1}, {s: 5, rpm: 4000},
			{s: 3, a: 6, gear: 3, load: 1}}, 0},
		// wheel force at 60 km/h: (a/3.6 + 0.11 + 0.08)/9.81; a = 1: 0.048, a = 0.1: 0.022
		{"gently before", []leg{{s: 3, a: 1, gear: 2, load: nan}, {s: 0.8, rpm: 4000}, {s: 3, a: 6, gear: 3, load: nan}}, 1},
		{"gently after", []leg{{s: 3, a: 8, gear: 2, load: nan}, {s: 0.8, rpm: 4000}, {s: 3, a: 1, gear: 3, load: nan}}, 1},
		{"rolling before", []leg{{s: 3, a: 0.1, gear: 2, load: 0.1}, {s: 0.8, rpm: 4000}, {s: 3, a: 6, gear: 3, load: 1}},
			0},
		{"rolling after", []leg{{s: 3, a: 8, gear: 2, load: 1}, {s: 0.8, rpm: 4000}, {s: 3, a: -0.6, gear: 3, load: 0.1}},
			0},
		{"up a hill", []leg{{s: 3, a: 0, gear: 2, load: 0.5}, {s: 0.8, rpm: 4000}, {s: 3, a: 0, gear: 3, load: 0.5}}, 1},
	} {
		if got := len(at(60, 0.05).drive(c.legs...).record().shifts()); got != c.want {
			t.Errorf("%s: %d shifts", c.what, got)
		}
	}
}

// Load is read over a second and a half and a value beside a change, the foot's own way left out, and lowest from just before it, half a value more on a slow link, to just after.
func TestLoadOfAShift(t *testing.T) {
	for _, c := range []struct {
		period, footUp, until, load, lowest float64 // s, s before the gear ends, s, fractions
	}{
		{0.05, 0.3, 3.7, 0.1, 0.1}, {0.05, 0.7, 3.7, 0.1, 0.1}, {0.4, 0.55, 3.7, 0.3, 0.3},
		{0.5, 1.1, 3.3, 0.3, 0.3}, // half a second before the last value of the gear, at 3.5 s
	} {
		r := at(60, c.period).drive(leg{s: 4, a: 8, gear: 2, load: 1}, leg{s: 0.8, a: 8, rpm: 4000, load: 1}, leg{s: 4, a: 8,
			gear: 3, load: 1}).record()
		for i, x := range r.Track.T {
			switch {
			case x < 3.9-loadBefore-2*c.period, x > 4.9+loadBefore+2*c.period:
				r.Track.Load[i] = 0.2 // long before and long after
			case x < 4-c.footUp:
				r.Track.Load[i] = 0.8
			case x < 5 && (c.period < 0.1 || x < c.until): // one low value on the slow link
				r.Track.Load[i] = c.load
			default:
				r.Track.Load[i] = 0.4
			}
		}
		s := r.shifts()
		if len(s) != 1 {
			t.Fatalf("%d shifts", len(s))
		}
		near(t, "load beside", s[0].Load, 0.4, 0.02)
		near(t, "lowest", s[0].Lowest, c.lowest/0.4, 0.02)
	}
}

// Force is read within a second of the change: what it was two seconds before is no matter. What a break of 0.8 s
// takes is missing in the speed afterwards, on a slow link in a longer change: wheel force at 75 km/h is
// (a/3.6 + 0.11 + 0.13)/9.81, 0.250 before and after, -0.032 in the break.
func TestForceOfAShift(t *testing.T) {
	for _, c := range []struct{ period, beside, took, broken, whole float64 }{
		{0.05, 2, 0.85, (-0.8*0.032 + 0.05*0.25) / 0.85 / 0.25, 1},
		{0.4, 2.4, 1.2, (-0.8*0.032 + 0.4*0.25) / 1.2 / 0.25, 1},
		{0.8, 4, 1.6, (-0.8*0.032 + 0.8*0.25) / 1.6 / 0.25, 1},
	} {
		for _, x := range []struct{ a, want float64 }{{-2, c.broken}, {8, c.whole}} {
			s := at(60, c.period).drive(leg{s: 2.4, a: 2, gear: 2, load: 1}, leg{s: c.beside, a: 8, gear: 2, load: 1},
				leg{s: 0.8, a: x.a, rpm: 4000, load: 1}, leg{s: c.beside, a: 8, gear: 3, load: 1},
				leg{s: 2.4, a: 2, gear: 3, load: 1}).record().shifts()
			if len(s) != 1 {
				t.Fatalf("%d shifts", len(s))
			}
			what := fmt.Sprintf("%.0f km/h/s, a value every %.2f s", x.a, c.period)
			near(t, what+", time", s[0].Push.took, c.took, 0.01)
			near(t, what+", through", s[0].Push.through, x.want, 0.15)
		}
	}
}

// A change by two clutches takes one value, on a slow link a break of 2.4 s looks like one of 3.2.
func TestShortestAndLongestChange(t *testing.T) {
	for _, c := range []struct{ period, open, took float64 }{{0.05, 0, 0.05}, {0.8, 2.4, 3.2}} {
		s := at(60, c.period).drive(leg{s: 4, a: 8, gear: 2, load: 1}, leg{s: c.open, a: 8, rpm: 4000, load: 1},
			leg{s: 4, a: 8, gear: 3, load: 1}).record().shifts()
		if len(s) != 1 {
			t.Fatalf("%d shifts", len(s))
		}
		near(t, "time", s[0].Push.took, c.took, 1e-6)
	}
}

// Easy driving in which the engine is not tied to the wheels, by hand: a share s has a density of 0.45 exp(-s/0.02)/0.02 +
// 0.55 exp(-s/0.25)/0.25 with gearboxes that slip by design, of 0.93 and 0.07 with manual ones: ln(24.7/46.8) of none, and
// ln(0.55/0.07) of much.
func TestGearboxToldByEasyDriving(t *testing.T) {
	for _, c := range []struct {
		what              string
		tied, loose       float64 // s
		load, force, turn float64 // of the engine, over weight, rpm
		want              float64
	}{
		{"half loose", 20, 20, 0.15, 0.03, 2000, 2.06},
		{"a third loose", 40, 20, 0.15, 0.03, 2000, 2.06},
		{"a tenth loose", 36, 4, 0.15, 0.03, 2000, 1.18},
		{"tied", 40, 0, 0.15, 0.03, 2000, -0.64},
		{"load not known", 20, 20, nan, 0.03, 2000, 2.06},
		{"twenty seconds of it", 10, 10, 0.15, 0.03, 2000, 2.06},
		{"ten seconds of it", 5, 5, 0.15, 0.03, 2000, 0},
		{"foot off, down a hill", 20, 20, 0.02, 0.03, 2000, 0},
		{"rolls down a hill in neutral", 20, 20, nan, 0.03, 800, -0.64},
		{"rolls", 20, 20, 0.15, 0, 2000, 0},
		{"pulls hard", 20, 20, 0.15, 0.12, 2000, 0},
	} {
		h := at(60, 0.05).drive(leg{s: c.tied, gear: 3, load: c.load}, leg{s: c.loose, rpm: c.turn, load: c.load})
		r := h.record()
		for i := range r.Track.T {
			r.push(i, c.force)
		}
		near(t, c.what, GearboxOdds([]*Record{r}), c.want, 0.05)
	}
}

// What is judged for a slip tells nothing of the gearbox beside: a clutch that slides for much of a drive is that of a
// manual one as well.
func TestSlipIsNoEasyDriving(t *testing.T) {
	r := at(60, 0.05).drive(leg{s: 20, gear: 3, load: 0.15}, leg{s: 20, rpm: 4000, load: 0.15}).record()
	if loose, all := r.easyDriving(); loose < 19 || all < 39 {
		t.Errorf("%.1f s of %.1f s", loose, all)
	}
	half := r.Track.Len() / 2
	r.Pulls = []Pull{{Run: &r.Runs[0], Departures: []Departure{{run: &r.Runs[0], lo: half, hi: 2 * half}}}}
	if loose, all := r.easyDriving(); loose > 0.5 || all > 20.5 {
		t.Errorf("%.1f s of %.1f s beside a slip", loose, all)
	}
}

// Changes of gear of 0.8 s in between, one part in eleven of the time, are one value of 0.4 s shorter than they look: one
// part in 22, as manual as not.
func TestChangesOfGearInEasyDriving(t *testing.T) {
	h := at(60, 0.4)
	for range 12 {
		h.drive(leg{s: 8, gear: 3, load: 0.15}, leg{s: 0.8, rpm: 2000, load: 0.15})
	}
	near(t, "nats", GearboxOdds([]*Record{h.record()}), looseOdds(0.4/8.8), 0.1)
}

// A driver lifts for something else once in 20 s: in a look of 1.5 s at the chance that is usual, in one of 4 s at
// 1 - 0.88 exp(-2.5/20) = 0.223; where load is not known nothing is looked at.
func TestLongLookSeesLiftsForSomethingElse(t *testing.T) {
	for _, c := range []struct{ took, period, lowest, want float64 }{
		{0.8, 0.05, 0, 0.12}, {2.7, 1.3, 0, 0.223}, {2.7, 1.3, nan, 0.12},
	} {
		got := Shift{Push: push{took: c.took}, Lowest: c.lowest}.lifts(sight{period: c.period})
		near(t, "chance of a lift", got, c.want, 0.001)
	}
}

// A clutch that slides carries no more than it had held, often less. What pushes harder as the engine runs away is a
// converter, and a lower gear behind it. Many slips of one car tell what one of them tells.
func TestSlipsTellTheGearbox(t *testing.T) {
	r := at(60, 0.1).drive(leg{s: 10, gear: 3, load: 1}).record()
	slips := func(shares ...float64) float64 {
		p := Pull{Run: &r.Runs[0]}
		for _, share := range shares {
			d := Departure{run: p.Run}
			d.Kind = KindSlip
			d.seen.within = share * r.capacity() * r.Track.Model.Gears[p.Run.Index].K
			p.Departures = append(p.Departures, d)
		}
		r.Pulls = []Pull{p}
		return SlipOdds([]*Record{r})
	}
	for _, c := range []struct {
		what      string
		shares    []float64
		low, high float64
	}{
		{"nothing slipped", nil, 0, 0},
		{"slides", []float64{0.9}, 0, 0},
		{"fades", []float64{0.5}, 0, 0},
		{"a little more than was held", []float64{1.15}, 0, 0.5},
		{"multiplies", []float64{1.8}, 2.5, 6},
		{"multiplies as a belt does in its low ratio", []float64{3.5}, 2.5, 6},
		{"pushes more than any converter makes of an engine", []float64{6}, 0, 0.1},
		{"slides, once more than was held", []float64{0.9, 0.95, 0.85, 0.9, 1.3}, 0, 0},
		{"kicked down, five times", []float64{1.2, 1.9, 1.1, 2.2, 1.6}, 1, 4},
	} {
		if got := slips(c.shares...); got < c.low || got > c.high {
			t.Errorf("%s: %.2f nats, want %g to %g", c.what, got, c.low, c.high)
		}
	}
}

// The excess of a sliding clutch grows, that of a converter shrinks as the car catches up, and is small in one of twelve:
// by hand ln(0.12/0.75) = -1.83, ln(0.55/0.07) = 2.06, and ln(0.33/0.18) = 0.61 where it stays; ln(0.08/0.4) = -1.61 where
// it is small, else ln(0.92/0.6) = 0.43; 3 at most in all. On a slow link, and in two seconds, a hand-over is not told from
// either.
func TestCourseOfASlip(t *testing.T) {
	for _, c := range []struct {
		what            string
		from, to        float64 // share of engine speed
		s, period, want float64
		times           int
	}{
		{"grows", 0.05, 0.3, 4, 0.1, -1.833 + 0.427, 1},
		{"shrinks", 0.3, 0.05, 4, 0.1, 2.061 + 0.427, 1},
		{"stays", 0.2, 0.2, 4, 0.1, 0.606 + 0.427, 1},
		{"stays small", 0.05, 0.05, 4, 0.1, 0.606 - 1.609, 1},
		{"shrinks, small", 0.07, 0.02, 4, 0.1, 2.061 - 1.609, 1},
		{"grows, in two seconds", 0.05, 0.3, 2, 0.1, 0, 1},
		{"grows, on a slow link", 0.05, 0.3, 4, 0.4, 0, 1},
		{"grow, three", 0.05, 0.3, 4, 0.1, -3, 3},
		{"shrink, three", 0.3, 0.05, 4, 0.1, 3, 3},
	} {
		ramp := func(u float64) float64 { return c.from + (c.to-c.from)*u/c.s }
		r := at(60, c.period).drive(leg{s: 3, gear: 3, load: 1}, leg{s: c.s, gear: 3, load: 1, slip: ramp}).record()
		d := Departure{run: &r.Runs[0], lo: r.at(3), hi: r.at(3 + c.s), duration: c.s, seen: evidence{within: math.NaN()}}
		d.Kind, d.Start, d.MeanSlip = KindSlip, 3, 100*(c.from+c.to)/2
		r.Pulls = []Pull{{Run: &r.Runs[0], Departures: slices.Repeat([]Departure{d}, c.times)}}
		near(t, c.what, SlipOdds([]*Record{r}), c.want, 0.002)
	}
}

// The load through a change is what it was from a moment before to a moment after, over what it was beside that. What
// the foot did a second before, or two thirds of a second after, is no part of it, nor is what it did three seconds
// before.
func TestLoadThroughAChange(t *testing.T) {
	gear := func(g int, s, load float64) leg { return leg{s: s, a: 5, gear: g, load: load} }
	open := func(load float64) leg { return leg{s: 0.5, a: 2, rpm: 4000, load: load} }
	for _, c := range []struct {
		what      string
		legs      []leg
		dip, load float64 // NaN: nothing is told
	}{
		{"lifted at a quarter of the load", []leg{gear(2, 3, 0.25), open(0), gear(3, 3, 0.25)}, 0, 0.25},
		{"with hardly a foot on it", []leg{gear(2, 3, 0.06), open(0), gear(3, 3, 0.06)}, nan, nan},
		{"lifted a second before", []leg{gear(2, 3, 0.9), gear(2, 0.1, 0), gear(2, 0.9, 0.9), open(0.9), gear(3, 3, 0.9)}, 1, 0.85},
		{"lifted two thirds of a second after", []leg{gear(2, 3, 0.9), open(0.9), gear(3, 0.6, 0.9), gear(3, 0.1, 0), gear(3, 3, 0.9)},
			1, 0.85},
		{"three seconds after an easy stretch", []leg{gear(2, 3, 0.3), gear(2, 2.5, 0.9), open(0), gear(3, 2.5, 0.9), gear(3, 3, 0.3)},
			0, 0.9},
	} {
		r := at(60, 0.05).drive(c.legs...).record()
		dip, load := r.loadDip(&r.Runs[0], &r.Runs[1])
		if math.IsNaN(c.dip) != math.IsNaN(dip) || math.Abs(dip-c.dip) > 0.1 || math.Abs(load-c.load) > 0.05 {
			t.Errorf("%s: %.2f of a load of %.2f, want %.2f of %.2f", c.what, dip, load, c.dip, c.load)
		}
	}
}

// A pause of five seconds in a recording is no driving.
func TestPauseIsNoEasyDriving(t *testing.T) {
	easy := leg{s: 10, gear: 3, load: 0.15}
	_, all := at(60, 0.05).drive(easy).pause(5).drive(easy).record().easyDriving()
	near(t, "s of easy driving", all, 20, 0.2)
}
