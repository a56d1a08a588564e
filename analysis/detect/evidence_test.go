package detect

import (
	"math"
	"testing"

	"flywitness/analysis/motion"
)

// departure marks samples from to to (s) of a record as a departure in a run; the record holds one run or the last
// one counts.
func departure(r *Record, from, to float64) *Departure {
	run := &r.Runs[len(r.Runs)-1]
	d := &Departure{run: run, lo: r.at(from), hi: r.at(to), duration: to - from}
	d.Start, d.End, d.Gear = from, to, run.Gear
	d.speed = r.MeanV(d.lo, d.hi)
	return d
}

// Force is read just before a departure, at its rise and in its middle. It rises here as 0.30 + 0.1 t about the
// start, of weight:
//
//	before, -1.2 to -0.1 s: mean time -0.65, 0.235;  rise, -0.2 to 0.8 s: 0.3, 0.33;
//	middle of 2 s, 0.5 to 1.8 s: 1.15, 0.415
func TestForceAboutADeparture(t *testing.T) {
	r := at(60, 0.02).drive(leg{s: 10, gear: 3, load: 1}).record()
	for i, x := range r.Track.T {
		r.push(i, 0.30+0.1*(x-6))
	}
	e := r.evidenceOf(departure(r, 6, 8))
	near(t, "before", e.before, 0.235, 0.003)
	near(t, "rise", e.rise, 0.33, 0.003)
	near(t, "within", e.within, 0.415, 0.003)
	if e.footDown {
		t.Error("the foot went down")
	}
	for i, x := range r.Track.T {
		if x < 6 {
			r.push(i, 0.1)
		}
	}
	if e = r.evidenceOf(departure(r, 6, 8)); !e.footDown {
		t.Errorf("%.2f before and %.2f within: the foot did not go down", e.before, e.within)
	}
}

// A departure that stays is none that settles; one that falls to a third is.
func TestSettlingAndStayingDepartures(t *testing.T) {
	for _, c := range []struct {
		slip            func(u float64) float64
		settles, steady bool
	}{
		{constant(0.06), false, true},
		{func(u float64) float64 { return 0.25 * math.Exp(-u) }, true, false},
		{func(u float64) float64 { return 0.02 + 0.04*u }, false, false},
		{func(u float64) float64 { return 0.06 + 0.03*math.Sin(8*u) }, false, false}, // 2 % about a ratio: no gear's
	} {
		r := at(60, 0.05).drive(leg{s: 4, a: 3, gear: 3, load: 1}, leg{s: 2, a: 3, gear: 3, load: 1, slip: c.slip},
			leg{s: 2, a: 3, gear: 3, load: 1}).record()
		r.Without([]motion.Span{{Start: 3.9, End: 6.1}})
		d := departure(r, 4, 6)
		if steady, _, _ := r.steady(d); r.settles(d) != c.settles || steady != c.steady {
			t.Errorf("slip %.3f, then %.3f: settles %v, steady %v", c.slip(0.2), c.slip(1.8), r.settles(d), steady)
		}
	}
}

// A gear that was not learnt keeps its ratio until the foot lifts for the next change: what comes then is no part of it.
func TestRatioThatStaysUntilTheFootLifts(t *testing.T) {
	for load, want := range map[float64]bool{1: false, 0: true} {
		r := at(60, 0.25).drive(leg{s: 4, a: 3, gear: 3, load: 1}, leg{s: 5, a: 3, gear: 3, load: 1, slip: constant(0.2)},
			leg{s: 1.5, gear: 3, load: load, slip: constant(0.27)}).record()
		r.Without([]motion.Span{{Start: 3.9, End: 10.6}})
		if steady, _, _ := r.steady(departure(r, 4, 10.5)); steady != want {
			t.Errorf("load %.0f while engine speed leaves the ratio: steady %v", load, steady)
		}
	}
}

// Two values until the foot lifts show no ratio that stays: then the whole departure is looked at.
func TestRatioOfFewValuesUntilTheFootLifts(t *testing.T) {
	r := at(60, 1).drive(leg{s: 4, a: 3, gear: 3, load: 1}, leg{s: 3, a: 3, gear: 3, load: 1, slip: constant(0.2)},
		leg{s: 4, gear: 3, load: 0, slip: constant(0.4)}).record()
	r.Without([]motion.Span{{Start: 3.5, End: 11.5}})
	if steady, _, _ := r.steady(departure(r, 4, 11)); steady {
		t.Error("steady by two values")
	}
}

// Only a clutch that takes hold pulls an engine down against full load. At 80 km/h in third 25 % of slip are
// 80*46/0.75 - 80*46 = 1227 rpm.
func TestEngineThatIsPulledDown(t *testing.T) {
	for _, c := range []struct {
		load, top float64
		want      bool
	}{{1, 0.25, true}, {1, 0.08, false}, {0.5, 0.25, false}} {
		r := at(80, 0.05).drive(leg{s: 3, gear: 3, load: 1}, leg{s: 2, gear: 3, load: c.load, slip: hump(c.top, 0.5, 2)},
			leg{s: 2, gear: 3, load: 1}).record()
		if got := r.pulledDown(departure(r, 3, 5)); got != c.want {
			t.Errorf("load %.1f, %.0f %% that fall to nothing: pulled down %v", c.load, 100*c.top, got)
		}
	}
}

// On a link of a value every 0.4 s the foot may be up before the next value of load tells: an engine that falls
// between the two was not pulled down.
func TestFootThatLiftsBetweenTwoValues(t *testing.T) {
	r := at(80, 0.4).drive(leg{s: 4, gear: 3, load: 1}, leg{s: 1.2, gear: 3, load: 1, slip: constant(0.3)},
		leg{s: 0.4, gear: 3, load: 0.9}, leg{s: 2, gear: 3, load: 0.3}).record()
	if r.pulledDown(departure(r, 4, 5.6)) {
		t.Error("pulled down")
	}
}

// A hump that rises for a second, stays for one and falls for one stands above half of its peak for two.
func TestTimeAboveHalfOfThePeak(t *testing.T) {
	r := at(80, 0.05).drive(leg{s: 3, gear: 3, load: 1}, leg{s: 3, gear: 3, load: 1, slip: hump(0.2, 1, 3)},
		leg{s: 2, gear: 3, load: 1}).record()
	r.Without([]motion.Span{{Start: 2.9, End: 6.1}})
	d := departure(r, 3, 6)
	d.PeakSlip = 20
	near(t, "s above half", r.stands(d), 2, 0.06)
}

// Who lifts may change gear: the longest part without a lift counts. A quarter of the load is no lift.
func TestPartWithoutALift(t *testing.T) {
	for _, c := range []struct{ load, want float64 }{{0.25, 4}, {0.1, 2}} {
		h := at(80, 0.05).drive(leg{s: 3, gear: 3, load: 1}, leg{s: 2, gear: 3, load: 1, slip: constant(0.1)},
			leg{s: 0.5, gear: 3, load: c.load, slip: constant(0.1)}, leg{s: 1.5, gear: 3, load: 1, slip: constant(0.1)},
			leg{s: 2, gear: 3, load: 1})
		r := h.record()
		near(t, "s without a lift", r.withoutLift(departure(r, 3, 7)), c.want, 0.06)
	}
}

// Locked in this gear before: for half a second at least, and not on its way in.
func TestLockedBeforeADeparture(t *testing.T) {
	for _, c := range []struct {
		what string
		h    *handmade
		from float64
		want bool
	}{
		{"locked for three seconds", at(80, 0.05).drive(leg{s: 3, gear: 3, load: 1}), 3, true},
		{"another slip until a second ago", at(80, 0.05).drive(leg{s: 2, gear: 3, load: 1, slip: constant(0.05)},
			leg{s: 1, gear: 3, load: 1}), 3, true},
		{"on its way in a second ago", at(80, 0.05).drive(leg{s: 2.2, gear: 3, load: 1, slip: constant(0.09)},
			leg{s: 0.8, gear: 3, load: 1}), 3, false},
		{"sliding before", at(80, 0.05).drive(leg{s: 3, gear: 3, load: 1, slip: constant(0.05)}), 3, false},
		{"sliding until three seconds ago", at(80, 0.05).drive(leg{s: 6, gear: 3, load: 1, slip: constant(0.05)},
			leg{s: 3, gear: 3, load: 1}), 9, true},
		{"locked for a little longer than half a second", at(80, 0.05).drive(leg{s: 2, rpm: 3000},
			leg{s: 0.6, gear: 3, load: 1}), 2.6, true},
		{"the gear just went in", at(80, 0.05).drive(leg{s: 2, rpm: 3000}, leg{s: 0.2, gear: 3, load: 1}), 2.2, false},
	} {
		r := c.h.drive(leg{s: 2, gear: 3, load: 1, slip: constant(0.08)}).record()
		d := departure(r, c.from, c.from+2)
		d.level = 7
		r.Slips = []motion.Span{{Start: 0, End: 2}} // of another departure
		if got := r.lockedBefore(d); got != c.want {
			t.Errorf("%s: %v", c.what, got)
		}
	}
}

// Before a departure of 1.5 km/h an engine that stands 1.2 km/h ahead was not locked: it has hardly departed since. One
// that stands 0.3 km/h ahead was.
func TestLockedBeforeASmallDeparture(t *testing.T) {
	for _, c := range []struct {
		ahead float64 // km/h
		want  bool
	}{{0.3, true}, {1.2, false}} {
		slips := func(ahead float64) func(float64) float64 { return constant(ahead / (80 + ahead)) }
		r := at(80, 0.05).drive(leg{s: 3, gear: 3, load: 1, slip: slips(c.ahead)},
			leg{s: 2, gear: 3, load: 1, slip: slips(1.5)}).record()
		d := departure(r, 3, 5)
		d.level = 1.5
		if got := r.lockedBefore(d); got != c.want {
			t.Errorf("%.1f km/h ahead: %v", c.ahead, got)
		}
	}
}

// Where road speed comes in whole km/h, its rounding alone leaves 0.3 km/h, and so much is allowed beside: 0.5 km/h ahead
// is locked, however small the departure, and 0.8 km/h is not.
func TestLockedBeforeInCoarseSteps(t *testing.T) {
	for _, c := range []struct {
		ahead float64 // km/h
		want  bool
	}{{0.5, true}, {0.8, false}} {
		h := at(80, 0.05)
		h.Model.Step = 1
		r := h.drive(leg{s: 3, gear: 3, load: 1, slip: constant(c.ahead / (80 + c.ahead))},
			leg{s: 2, gear: 3, load: 1, slip: constant(0.02)}).record()
		d := departure(r, 3, 5)
		d.level = 0.5
		if got := r.lockedBefore(d); got != c.want {
			t.Errorf("%.1f km/h ahead: %v", c.ahead, got)
		}
	}
}

// An engine that runs away passes the ratios of lower gears, and without a load channel nothing follows it to the gear
// that its clutch slips in: a departure that begins as second goes in is under suspicion where the clutch slipped in third
// a moment before. It is not where third was locked, where a lower gear slipped, or where the slip is long over.
func TestEngineThatSlidIntoALowerGear(t *testing.T) {
	in := func(gear int, s float64, slip func(float64) float64) leg {
		return leg{s: s, a: 3, gear: gear, load: nan, slip: slip}
	}
	for _, c := range []struct {
		what   string
		before []leg
		want   bool
	}{
		{"it slipped in third", []leg{in(3, 3, nil), in(3, 1.5, hump(0.3, 1.5, 4))}, true},
		{"third was locked", []leg{in(3, 3, nil)}, false},
		{"it slipped in first", []leg{in(3, 3, nil), in(1, 1, constant(0.1))}, false},
		{"it slipped in third, and a foot was on the pedal for two seconds", []leg{in(3, 3, nil), in(3, 1, hump(0.3, 1, 4)),
			{s: 2, rpm: 5500, load: nan}}, false},
	} {
		h := at(60, 0.05).drive(c.before...)
		start := h.now
		r := h.drive(in(2, 2, hump(0.1, 1, 4))).record()
		d := departure(r, start, start+2)
		if d.seen = r.evidenceOf(d); d.Slid() != c.want {
			t.Errorf("%s: slid %v", c.what, d.Slid())
		}
	}
}

// Engine speed that lies 0.7 km/h off the line of second may be second; 3 km/h off, at errors of a tenth, it is between
// the gears.
func TestHowNearAGearIs(t *testing.T) {
	for _, c := range []struct {
		off  float64 // km/h below the line of second
		fits bool
	}{{0.7, true}, {3, false}} {
		share := 1 - 80*ladder[2]/((80-c.off)*ladder[1])
		r := at(80, 0.2).drive(leg{s: 2, gear: 3, load: 1}, leg{s: 4, gear: 3, load: 1, slip: constant(share)},
			leg{s: 1, gear: 3, load: 1}).record()
		r.Without([]motion.Span{{Start: 1.9, End: 6.1}})
		d := departure(r, 2, 6)
		fit, _ := r.fits(d)
		if longest, all := r.between(d); (fit == 1) != c.fits || (longest < 1) != c.fits || (all < 1) != c.fits {
			t.Errorf("%.1f km/h off second: %.2f of the values fit, between the gears for %.1f s", c.off, fit, longest)
		}
	}
}

// A gear that is known to 2.5 %, by the tyre and a file alone, may lie 4 km/h away at 80 km/h.
func TestHowNearAGearIsThatIsHardlyKnown(t *testing.T) {
	for _, c := range []struct {
		sd   float64 // of the gear, a share
		fits bool
	}{{0.001, false}, {0.025, true}} {
		share := 1 - 80*ladder[2]/((80-4)*ladder[1])
		h := at(80, 0.2).drive(leg{s: 2, gear: 3, load: 1}, leg{s: 4, gear: 3, load: 1, slip: constant(share)})
		for i := range h.Model.Gears {
			h.Model.Gears[i].SD = c.sd * h.Model.Gears[i].K
		}
		r := h.record()
		r.Without([]motion.Span{{Start: 1.9, End: 6.1}})
		if fit, _ := r.fits(departure(r, 2, 6)); (fit == 1) != c.fits {
			t.Errorf("known to %.1f %%: %.2f of the values fit", 100*c.sd, fit)
		}
	}
}

// An engine that met its line after a change of gear, be it for a moment, is no longer on its way in. On a link of a
// value every 0.2 s a fall across the line leaves one value there.
func TestEngineThatHadMetItsLine(t *testing.T) {
	for _, c := range []struct {
		on   float64 // s on the line
		rose bool
	}{{0, false}, {0.2, false}, {0.4, true}} {
		r := at(80, 0.2).drive(leg{s: 2, rpm: 3000}, leg{s: c.on, gear: 3, load: 1},
			leg{s: 2, gear: 3, load: 1, slip: func(u float64) float64 { return 0.25 * math.Exp(-u) }},
			leg{s: 2, gear: 3, load: 1}).record()
		d := departure(r, 1.99+c.on, 3.99+c.on)
		d.seen = r.evidenceOf(d)
		if d.Rose() != c.rose || d.ComesToRest() == c.rose {
			t.Errorf("%.1f s on the line: rose %v, comes to rest %v", c.on, d.Rose(), d.ComesToRest())
		}
	}
}

// Locked again afterwards: in the same gear.
func TestLockedAfterADeparture(t *testing.T) {
	for _, c := range []struct {
		what string
		next []leg
		want bool
	}{
		{"the same gear", []leg{{s: 2, gear: 3, load: 1}}, true},
		{"the next gear", []leg{{s: 0.5, rpm: 3500}, {s: 2, gear: 4, load: 1}}, false},
		{"no gear", []leg{{s: 3, rpm: 900}}, false},
		{"the same gear after a moment", []leg{{s: 1.5, rpm: 2000}, {s: 2, gear: 3, load: 1}}, true},
		{"the same gear after six seconds", []leg{{s: 6, rpm: 900}, {s: 2, gear: 3, load: 1}}, false},
	} {
		h := at(80, 0.05).drive(leg{s: 3, gear: 3, load: 1}, leg{s: 2, gear: 3, load: 1, slip: constant(0.08)})
		r := h.drive(c.next...).record()
		d := departure(r, 3, 5)
		d.run, d.Gear = &r.Runs[0], 3
		if got := r.locksAfter(d); got != c.want {
			t.Errorf("%s follows: %v", c.what, got)
		}
	}
}

// A departure that lies between the lines of two gears is no other gear, nor one that was not learnt, for as long as it
// is there and moves on. 70 to 46 rpm per km/h is a step of 34 % of engine speed.
func TestBetweenTwoGears(t *testing.T) {
	ramp := func(from, to float64) func(u float64) float64 {
		return func(u float64) float64 { return from + (to-from)*u/4 }
	}
	step := 1 - ladder[2]/ladder[1]
	for _, c := range []struct {
		what     string
		slip     func(u float64) float64
		complete bool
		want     float64
	}{
		{"below the lower gear", ramp(0.05, 0.7*step), false, 4},
		{"at the lower gear", constant(step), false, 0},
		{"at a ratio of its own", constant(step / 2), false, 0},
		{"at a ratio of its own, where all gears are known", constant(step / 2), true, 4},
		{"at the lower gear, where all gears are known", constant(step), true, 0},
	} {
		r := at(80, 0.5).drive(leg{s: 4, gear: 3, load: 1}, leg{s: 4.5, gear: 3, load: 1, slip: c.slip}).record()
		r.Track.Model.Complete = c.complete
		d := departure(r, 4, 8.4)
		near(t, c.what+", s", r.evidenceOf(d).between, c.want, 0.6)
	}
}

// A clutch that is let in comes to rest; an excess that grows is none.
func TestExcessThatGrows(t *testing.T) {
	for _, c := range []struct {
		from, to float64
		want     bool
	}{{0.02, 0.1, true}, {0.1, 0.02, false}} {
		r := at(80, 0.1).drive(leg{s: 2, gear: 3, load: 1}, leg{s: 3, gear: 3, load: 1,
			slip: func(u float64) float64 { return c.from + (c.to-c.from)*u/3 }}).record()
		if got := r.grows(departure(r, 2, 4.9)); got != c.want {
			t.Errorf("from %.2f to %.2f: %v", c.from, c.to, got)
		}
	}
}

// A gear of the ladder explains a departure that began with the foot off, and one that is passed on the way up. From a
// foot that was down, or from a lower gear on, a clutch that slides may stand at the same ratio.
func TestGearOfTheLadderInADeparture(t *testing.T) {
	step := constant(1 - ladder[2]/ladder[1]) // second, while third is taken to be in
	in := func(load float64, s float64) leg { return leg{s: s, gear: 3, load: load, slip: step} }
	for _, c := range []struct {
		what string
		legs []leg
		want bool
	}{
		{"down, foot off", []leg{{s: 3, gear: 3, load: 0.1}, in(0.1, 1), in(0.9, 3)}, true},
		{"down, foot down", []leg{{s: 3, gear: 3, load: 0.9}, in(0.9, 4)}, false},
		{"up from second, foot off", []leg{{s: 3, gear: 2, load: 0.9}, {s: 0.5, rpm: 3000}, in(0.1, 1), in(0.9, 3)}, false},
		{"up from first through second", []leg{{s: 3, gear: 1, load: 0.9}, {s: 0.5, rpm: 3000}, in(0.9, 4)}, true},
	} {
		r := at(60, 0.1).drive(c.legs...).record()
		start := r.Track.T[r.Track.Len()-1] - 3.9
		d := departure(r, start, start+3.9)
		d.MeanSlip = 100 * step(0)
		d.seen = r.evidenceOf(d)
		if got := d.InLearntGear(); got != c.want {
			t.Errorf("%s: %v", c.what, got)
		}
	}
}

// An engine that follows the car through a wide change of speed at the ratio of a gear is in it, whatever the foot did. One
// that a sliding clutch lets stand at one speed passes that ratio; a quarter more speed may keep it by chance, and two values
// always have one ratio.
func TestEngineThatFollowsTheCarIsInGear(t *testing.T) {
	step := 1 - ladder[2]/ladder[1]
	for _, c := range []struct {
		what      string
		period, a float64
		ratio     func(u float64) float64
		want      bool
	}{
		{"in second", 0.1, 2, constant(step), true},
		{"at its ratio for a quarter more speed", 0.1, 0.9, constant(step), false},
		{"two values", 3, 5, constant(step), false},
		{"sliding", 0.1, 3, func(u float64) float64 { return step + 0.15 - 0.025*u }, false},
	} {
		r := at(45, c.period).drive(leg{s: 3 + c.period, gear: 3, load: 0.9},
			leg{s: 12, a: c.a, gear: 3, load: 0.9, slip: c.ratio}).record()
		end := r.Track.T[r.Track.Len()-1]
		d := departure(r, end-12+c.period, end)
		d.MeanSlip = 100 * step
		d.seen = r.evidenceOf(d)
		if got := d.InLearntGear(); got != c.want || d.seen.tied != c.want {
			t.Errorf("%s: %v, tied %v", c.what, got, d.seen.tied)
		}
	}
}

// Third is known by its neighbours alone, to a twentieth: one ratio near it is it, an engine that runs away through all
// that it may be is in no gear.
func TestGearThatIsHardlyKnownIsOneRatio(t *testing.T) {
	for name, c := range map[string]struct {
		slips []float64
		want  bool
	}{"steady": {[]float64{0.24, 0.24, 0.24, 0.24, 0.24}, true}, "away": {[]float64{0.18, 0.22, 0.26, 0.3, 0.34}, false}} {
		h := at(60, 0.05).drive(leg{s: 2, gear: 4, load: 1})
		for _, s := range c.slips {
			h.drive(leg{s: 1, gear: 4, load: 1, slip: constant(s)})
		}
		h.Model.Gears[2].SD = 0.05 * h.Model.Gears[2].K
		r := h.record()
		if share, _ := r.fits(departure(r, 2, 7)); (share > otherShare) != c.want {
			t.Errorf("%s: %.2f of it fits third", name, share)
		}
	}
}
