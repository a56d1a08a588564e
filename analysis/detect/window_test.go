package detect

import (
	"math"
	"testing"
)

// A window by hand: 100 samples at 80 km/h in steps of 1, no acceleration. Steps 0.3; creep 0.0271 of weight
// (0.012, and 0.39 * 22.2^2 N of 1300 kg) times 80 = 2.169 km/h, times what is known of it: 0.006 where the
// wheels that push are measured, or twice the doubt of it where the log alone says so, 0.015, or 0.3 of the creep seen, or twice its doubt where
// they are not.
func TestStandardDeviationOfAWindow(t *testing.T) {
	h := at(80, 0.05).drive(leg{s: 5, gear: 3, load: 1})
	h.Model.Step = 1
	r := h.record()
	for _, c := range []struct {
		creeps     bool
		creep, sd  float64
		load       string
		want       float64 // km/h
		difference string
	}{
		{false, 0, 0, "load", math.Hypot(0.3, 2.169*0.006), "driven wheels"},
		{false, 0, 0.012, "load", math.Hypot(0.3, 2.169*0.024), "driven wheels, as the log shows it"},
		{true, 0, 0, "load", math.Hypot(0.3, 2.169*0.015), "no creep seen"},
		{true, 0.1, 0, "load", math.Hypot(0.3, 2.169*0.030), "creep of 0.1"},
		{true, 0, 0.05, "load", math.Hypot(0.3, 2.169*0.1), "creep not known"},
		{true, 0, 0.05, "", math.Hypot(0.3, 2.169*0.1), "creep not known, no load channel"},
	} {
		m := &r.Track.Model
		m.MayCreep, m.Creep, m.CreepSD, m.Load.Channel = c.creeps, c.creep, c.sd, c.load
		near(t, c.difference, r.test(0, 100, 2).sd, c.want, 1e-4)
	}
	r.Track.Model.Load.Channel, r.Track.Model.CreepSD = "load", 0
	r.Spread = 2
	near(t, "twice the spread", r.test(0, 100, 2).sd, 2*math.Hypot(0.3, 2.169*0.015), 2e-4)
	r.Spread, r.Path = 1, 16
	near(t, "one wheel's path", r.test(0, 100, 2).sd, math.Hypot(0.2, math.Hypot(0.3, 2.169*0.015)), 2e-4)
	// at walking pace it is off by as much more: 16/10
	walks := at(10, 0.05).drive(leg{s: 5, gear: 1, load: 1}).record()
	walks.Path = 16
	near(t, "one wheel's path at 10 km/h", walks.test(0, 100, 0).sd, 1.6, 0.01)
	r.Path, r.Track.Model.RPMStep = 0, 2*r.Track.Model.Gears[2].K
	near(t, "engine speed in steps of 2 km/h", r.test(0, 100, 2).sd, math.Hypot(0.6, math.Hypot(0.3, 2.169*0.015)),
		2e-4)
}

// The slip that shows, by hand. With 0.6 km/h at 100: 4.65 * 0.006 = 2.79 % of road speed, over 1.0279: 2.714 %
// of engine speed. With 0.1 km/h the ratio counts: 1.5 % + 1.65 * 0.001 = 1.665 %, over 1.00465: 1.657 %.
func TestSmallestSlipOfAWindow(t *testing.T) {
	for _, c := range []struct{ sd, want, mean float64 }{{0.6, 2.714, 3.1}, {0.1, 1.657, 1.6}} {
		w := window{mean: c.mean, sd: c.sd, v: 100}
		near(t, "smallest", w.smallest(), c.want, 0.002)
		if !w.hit() {
			t.Errorf("%.1f km/h of %.1f is no hit", c.mean, c.sd)
		}
	}
	for _, w := range []window{{mean: 1.4, sd: 0.3, v: 100}, {mean: 1.4, sd: 0.1, v: 100}} {
		if w.hit() {
			t.Errorf("%.1f km/h of %.1f is a hit", w.mean, w.sd)
		}
	}
}

// A link of a value a second is looked at over longer windows than one of 0.4 s, and that than a quick one.
func TestSlowLinksAreLookedAtLonger(t *testing.T) {
	last := 0.0
	for _, period := range []float64{0.05, 0.4, 1} {
		lengths, least := windows(period)
		if lengths[0] <= last || lengths[0] < float64(least-1)*period {
			t.Errorf("period %.2f s: first window %.1f s of %d values", period, lengths[0], least)
		}
		last = lengths[0]
	}
}

// A road speed each second that wanders by more than its steps, told by a receiver that is half a second late wherever the
// car begins to pull: from 0 to 8 km/h/s that is 4 km/h, of which in the mean of 2.9 s (1 - exp(-2.9))/2.9 is left. Where
// acceleration falls it seems too high, and makes no slip; one that does not wander is not late.
func TestSluggishRoadSpeed(t *testing.T) {
	for _, c := range []struct {
		first, then float64 // km/h/s
		spread      float64
		want        float64 // km/h
	}{{0, 8, 2, 4 * 0.326}, {8, 0, 2, 0}, {0, 8, 1, 0}} {
		r := at(80, 0.1).drive(leg{s: 6, a: c.first, gear: 3, load: 1}, leg{s: 6, a: c.then, gear: 3, load: 1}).record()
		r.Spread, r.Track.Model.Drawn = c.spread, 1
		all, own := r.test(70, 100, 2).sd, r.withCorner(r.Spread*r.measured(70, 100, 2).sd, 70, 100)
		near(t, "what a late speed adds", math.Sqrt(math.Max(0, all*all-own*own)), c.want, 0.3)
	}
}
