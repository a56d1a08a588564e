package detect

import (
	"testing"

	"flywitness/analysis/motion"
)

// weigh is one weighing of an explanation: what the departure looks like, and whether slip must beat the
// explanation, lose, or be left open.
type weigh struct {
	what string
	slow bool // on a slow link
	d    Departure
	want int // 1: slip is Proven against it, -1: it stands, 0: neither
}

func (w weigh) check(t *testing.T, nats func(*Record, *Departure) float64) {
	t.Helper()
	r := quick()
	if w.slow {
		r = slow()
	}
	d := w.d
	d.run = &motion.Run{Gear: 3, Index: 2, Lo: 0, Hi: r.Track.Len()}
	d.Gear = 3
	n := nats(r, &d)
	got := 0
	switch {
	case n >= Proven:
		got = 1
	case n < 0:
		got = -1
	}
	if got != w.want {
		t.Errorf("%s: %.2f nats for slip, want sign %d", w.what, n, w.want)
	}
}

// lasting is a departure of a duration (s), with a peak and a mean (% of engine speed).
func lasting(duration, peak, mean float64, seen evidence) Departure {
	d := Departure{duration: duration, seen: seen, Moving: true, speed: 100, level: 100 * mean / (100 - mean)}
	d.PeakSlip, d.MeanSlip = peak, mean
	return d
}

// A late value or two look like a moment of slip.
func TestShortDeparture(t *testing.T) {
	for _, w := range []weigh{
		{"half a second on a quick link", false, lasting(0.5, 5, 3, evidence{}), -1},
		{"one second on a quick link", false, lasting(1, 5, 3, evidence{}), 1},
		{"one second of a value every 0.4 s", true, lasting(1, 5, 3, evidence{}), -1},
		{"2.2 s of a value every 0.4 s", true, lasting(2.2, 5, 3, evidence{}), 1},
	} {
		w.check(t, tooShort)
	}
	r := at(60, 0.3).drive(leg{s: 4, gear: 3}).record() // four values take 1.2 s
	d := lasting(1.4, 5, 3, evidence{})
	if tooShort(r, &d) < 0 {
		t.Error("1.4 s of a value every 0.3 s is called short")
	}
}

// A clutch that was not seen locked may be on its way, for as long as a foot takes.
func TestEngagement(t *testing.T) {
	locked := evidence{locked: true}
	still := lasting(4, 5, 4, evidence{alone: 5})
	still.Moving = false
	for _, w := range []weigh{
		{"locked before", false, lasting(1, 5, 4, locked), 1},
		{"a second after the gear went in", false, lasting(1, 5, 4, evidence{alone: 1}), -1},
		{"two seconds after it", false, lasting(2, 5, 4, evidence{alone: 2}), 0},
		{"still sliding 4.5 s after it", false, lasting(4.5, 5, 4, evidence{alone: 4.5}), 1},
		{"coming to rest", false, lasting(5, 5, 4, evidence{alone: 5, settles: true}), -1},
		{"coming to rest again from the line", false, lasting(5, 5, 4, evidence{alone: 5, settles: true, rose: true}), 1},
		{"at one ratio", false, lasting(5, 5, 4, evidence{alone: 5, steady: true}), -1},
		{"setting off", false, still, -1},
		{"where another gear may lie", false, lasting(5, 45, 40, evidence{alone: 5}), -1}, // 1 - 46/70 = 34 %
		{"there, but at no ratio for long", false, lasting(5, 45, 40, evidence{alone: 5, between: 5, wanders: 0.3}), 1},
		{"there, at a ratio that the road shakes", false, lasting(5, 45, 40, evidence{alone: 5, between: 5, wanders: 0.05}), -1},
		{"there, at a ratio for a while", false, lasting(5, 45, 40, evidence{alone: 5, between: 5, wanders: 0.3, geared: 1}), -1},
	} {
		w.check(t, engaging)
	}
}

// Where every gear is known, no other can look like a clutch that does not lock.
func TestEngagementWithAllGearsKnown(t *testing.T) {
	r := quick()
	for _, c := range []struct {
		complete bool
		d        Departure
		slip     bool
	}{
		{true, lasting(5, 5, 4, evidence{alone: 5, steady: true}), true},
		{true, lasting(5, 45, 40, evidence{alone: 5}), true},
		{true, lasting(5, 5, 4, evidence{alone: 5, settles: true}), false},
		{false, lasting(5, 5, 4, evidence{alone: 5, steady: true}), false},
	} {
		r.Track.Model.Complete = c.complete
		c.d.run = &r.Runs[0]
		if n := engaging(r, &c.d); (n >= Proven) != c.slip {
			t.Errorf("all gears known %v, steady %v, settles %v, %.0f %%: %.1f nats", c.complete, c.d.seen.steady,
				c.d.seen.settles, c.d.MeanSlip, n)
		}
	}
}

// In a gear that is known for sure, a clutch that took four seconds to come to rest with all the torque that it held at
// most was not slow because of a foot.
func TestComingToRestUnderAllItsTorque(t *testing.T) {
	for _, c := range []struct {
		complete bool
		within   float64 // of the most
		slip     bool
	}{{true, 0.9, true}, {true, 0.5, false}, {false, 0.9, false}} {
		r := quick()
		r.Track.Model.Complete = c.complete
		r.measureHeld()
		d := lasting(4.5, 15, 6, evidence{alone: 4.5, settles: true})
		d.run = &r.Runs[0]
		d.seen.within = c.within * r.capacity() * r.Track.Model.Gears[d.run.Index].K
		if n := engaging(r, &d); (n >= Proven) != c.slip {
			t.Errorf("gears known %v, %.1f of the most: %.1f nats", c.complete, c.within, n)
		}
	}
}

// A gear that was not learnt hides below the lowest one and in a wide step.
func TestHiddenGear(t *testing.T) {
	r := quick()
	for _, c := range []struct {
		place    int
		mean     float64
		wide     bool
		expected bool
	}{{0, 5, false, true}, {2, 5, false, false}, {2, 40, false, true}, {2, 5, true, true}} {
		d := lasting(3, c.mean, c.mean, evidence{})
		d.run = &motion.Run{Index: c.place}
		r.Track.Model.Gears[1].K = 70
		if c.wide {
			r.Track.Model.Gears[1].K = 92 // twice the gear above it
		}
		if got := r.hides(&d); got != c.expected {
			t.Errorf("place %d, %.0f %%, wide step %v: hides %v", c.place, c.mean, c.wide, got)
		}
	}
}

// A step of 1.86 from first to second, and 1.52 to third: between the first two there is no gear, or steps would grow from
// gear to gear. There may be where the third is as near as half of such a step, or a gear may be missing above as well.
func TestNoGearHidesWhereStepsWouldGrow(t *testing.T) {
	for _, c := range []struct {
		third float64
		hides bool
	}{{46, false}, {54, true}, {38, true}} {
		r := quick()
		g := r.Track.Model.Gears
		g[0].K, g[1].K, g[2].K = 130, 70, c.third
		d := lasting(3, 15, 15, evidence{})
		d.run = &motion.Run{Index: 1}
		if got := r.hides(&d); got != c.hides {
			t.Errorf("130, 70, %.0f rpm per km/h: hides %v", c.third, got)
		}
		r.Track.Model.Gears = g[:2]
		if !r.hides(&d) {
			t.Error("two gears, 1.86 apart, hide none")
		}
	}
}

// A late lift before a gear change: the engine runs up for a moment, the force goes, another gear follows.
func TestLateLift(t *testing.T) {
	for _, w := range []weigh{
		{"locks again", false, lasting(0.7, 20, 10, evidence{relocks: true}), 1},
		{"a second, force gone", false, lasting(1, 5, 4, evidence{before: 0.3, within: 0.1}), -1},
		{"1.5 s with the force that was", false, lasting(1.5, 15, 4, evidence{before: 0.3, within: 0.27}), 1},
		{"0.7 s with the force that was", false, lasting(0.7, 15, 4, evidence{before: 0.3, within: 0.27}), -1},
		{"two seconds of a little", false, lasting(2, 5, 4, evidence{before: 0.3, within: 0.1}), 1},
		{"1.5 s of a flare", false, lasting(1.5, 15, 9, evidence{before: 0.3, within: 0.1}), -1},
		{"three seconds of a flare", false, lasting(3, 15, 9, evidence{before: 0.3, within: 0.1}), 1},
		{"1.4 s of a little on a slow link", true, lasting(1.4, 5, 4, evidence{before: 0.3, within: 0.1}), -1},
		{"2.5 s of a little on a slow link", true, lasting(2.5, 5, 4, evidence{before: 0.3, within: 0.1}), 1},
		{"four seconds of a flare on a slow link", true, lasting(4, 15, 9, evidence{before: 0.3, within: 0.1}), 1},
	} {
		w.check(t, shifting)
	}
}

// A foot on the clutch pedal: a spike, an engine that spins up free or is pulled down, a moment, and no force.
func TestFootOnThePedal(t *testing.T) {
	kept := evidence{locked: true, relocks: true, before: 0.3, within: 0.28}
	with := func(change func(e *evidence)) evidence { e := kept; change(&e); return e }
	free := with(func(e *evidence) { e.longest = 7000 })
	for _, w := range []weigh{
		{"small", false, lasting(1, 6, 5, free), 1},
		{"a spike of 20 %", false, lasting(1, 20, 8, kept), -1},
		{"a peak of 2.5 times the mean for a second", false,
			lasting(1, 30, 12, with(func(e *evidence) { e.relocks = false })), -1},
		{"2.3 s with a peak, force kept", false, lasting(2.3, 30, 10, kept), 1},
		{"30 % for 1.5 s, an engine that runs up free", false, lasting(1.5, 30, 20, free), -1},
		{"12 % for 1.5 s", false, lasting(1.5, 12, 9, free), 1},
		{"30 % for 2.2 s, force kept", false, lasting(2.2, 30, 20, free), 1},
		{"the engine pulled down", false, lasting(2.2, 30, 20, with(func(e *evidence) { e.pulled = true })), -1},
		{"longer than a foot stays", false, lasting(4, 30, 20, with(func(e *evidence) { e.pulled = true })), 1},
		{"long and the force gone", false, lasting(2.2, 30, 20, with(func(e *evidence) { e.within = 0.05 })), -1},
	} {
		w.check(t, onThePedal)
	}
}

// A dab of a second that left no other trace is told by the foot on the accelerator afterwards: who dabs goes on,
// who slips lifts.
func TestDabIsToldByWhatFollows(t *testing.T) {
	for _, c := range []struct {
		load float64
		want float64
	}{{1, -1}, {0.1, 1}} {
		h := at(60, 0.05).drive(leg{s: 3, gear: 3, load: 1}, leg{s: 1, gear: 3, load: 1, slip: constant(0.2)}, leg{s: 2,
			gear: 3, load: c.load})
		r := h.record()
		d := lasting(1, 20, 15, evidence{locked: true, relocks: true, before: 0.3, within: 0.28})
		d.lo, d.hi, d.Start, d.End = 60, 80, 3, 4
		if n := onThePedal(r, &d); n*c.want < 0 {
			t.Errorf("load %.1f afterwards: %.1f nats", c.load, n)
		}
	}
}

// On a link of a value every 0.4 s a dab of 1.2 s may seem to last 2 s: one value more on either side.
func TestDabOnASlowLink(t *testing.T) {
	r := at(60, 0.4).drive(leg{s: 4, gear: 3, load: 1}, leg{s: 2, gear: 3, load: 1, slip: constant(0.2)},
		leg{s: 4, gear: 3, load: 1}).record()
	for _, c := range []struct {
		duration float64
		dab      bool
	}{{1.9, true}, {2.1, false}} {
		d := lasting(c.duration, 20, 15, evidence{locked: true, relocks: true, before: 0.3, within: 0.28})
		d.lo, d.hi, d.Start, d.End = 10, 15, 4, 4+c.duration
		if n := onThePedal(r, &d); (n < 0) != c.dab {
			t.Errorf("%.1f s: %.1f nats", c.duration, n)
		}
	}
}

// Another gear fits the samples, and pushes the car harder where it is a lower one.
func TestOtherGear(t *testing.T) {
	for _, w := range []weigh{
		{"too near for a gear", false, lasting(2, 5, 4, evidence{otherFit: 0.9}), 1},
		{"fits no gear", false, lasting(2, 14, 10, evidence{otherFit: 0.3}), 1},
		{"fits one", false, lasting(2, 14, 10, evidence{otherFit: 0.8}), -1},
		{"fits one, locked before, no more force", false, lasting(2, 14, 10, evidence{otherFit: 0.8, locked: true,
			before: 0.2, within: 0.2}), 1},
		{"fits one, locked before, twice the force", false, lasting(2, 14, 10, evidence{otherFit: 0.8, locked: true,
			before: 0.2, within: 0.4}), -1},
		{"fits one for a part, force as before", false, lasting(2, 14, 10, evidence{otherFit: 0.3, locked: true,
			before: 0.2, rise: 0.2, within: 0.23}), 1},
		{"fits one for a part, and then half as much force again", false, lasting(2, 14, 10, evidence{otherFit: 0.3,
			locked: true, before: 0.2, rise: 0.2, within: 0.3}), -1},
		{"half as much force again, but no gear fits", false, lasting(2, 14, 10, evidence{otherFit: 0.1, locked: true,
			before: 0.2, rise: 0.2, within: 0.3}), 1},
		{"the same from the rise on", false, lasting(2, 14, 10, evidence{otherFit: 0.3, locked: true, before: 0.2,
			rise: 0.3, within: 0.3}), 1},
		{"the same as the foot goes down", false, lasting(2, 14, 10, evidence{otherFit: 0.3, locked: true, before: 0.1,
			rise: 0.2, within: 0.3, footDown: true}), 1},
		{"one ratio, and more force: a lower gear that was not learnt", false, lasting(8, 22, 20, evidence{steady: true,
			locked: true, before: 0.05, within: 0.25, footDown: true}), -1},
		{"one ratio, and more force, where there is no room for a gear", false, lasting(8, 11, 10, evidence{steady: true,
			locked: true, before: 0.05, within: 0.25, footDown: true}), 1},
		{"the same, and as near as a gear for a part", false, lasting(8, 11, 10, evidence{steady: true, otherFit: 0.3,
			locked: true, before: 0.05, within: 0.25, footDown: true}), -1},
		{"one gear for a part, between two moments in which the engine ran free", false, lasting(3, 26, 20, evidence{
			otherFit: 0.4, locked: true, before: 0.25, rise: 0.25, within: 0.25, longest: 2 * freeRate, between: 0.5}), -1},
		{"the same, and between gears for two seconds", false, lasting(3, 26, 20, evidence{otherFit: 0.4, locked: true,
			before: 0.25, rise: 0.25, within: 0.25, longest: 2 * freeRate, between: 2}), 1},
		{"the same, and the engine never free", false, lasting(3, 26, 20, evidence{otherFit: 0.4, locked: true, before: 0.25,
			rise: 0.25, within: 0.25, longest: 0.5 * freeRate, between: 0.5}), 1},
		{"one gear after the other, and one value between", true, lasting(7, 50, 35, evidence{otherFit: 0.4, paired: true,
			locked: true, before: 0.2, within: 0.2, between: 1}), -1},
		{"the same, and two seconds between", true, lasting(7, 50, 35, evidence{otherFit: 0.4, paired: true, locked: true,
			before: 0.2, within: 0.2, between: 2}), 1},
		{"the same, and never two values in one", true, lasting(7, 50, 35, evidence{otherFit: 0.4, locked: true, before: 0.2,
			within: 0.2, between: 1}), 1},
		{"the same on a quick link", false, lasting(7, 50, 35, evidence{otherFit: 0.4, paired: true, locked: true,
			before: 0.2, within: 0.2, between: 1}), 1},
		{"a gear that was not learnt, and changes of gear", false, lasting(4, 26, 25, evidence{locked: true, before: 0.25,
			within: 0.25, geared: 2.5, beside: 0.8}), -1},
		{"and two seconds beside it, of an engine that ran far", false, lasting(5, 26, 25, evidence{locked: true, before: 0.25,
			within: 0.25, geared: 2.5, beside: 2}), -1},
		{"and of one that ran less far", false, lasting(5, 8, 7, evidence{locked: true, before: 0.25, within: 0.25,
			geared: 2.5, beside: 2}), 1},
		{"and three seconds beside it", false, lasting(6, 26, 25, evidence{locked: true, before: 0.25, within: 0.25,
			geared: 2.5, beside: 3}), 1},
		{"one ratio, and no more force", false, lasting(8, 26, 25, evidence{steady: true, locked: true, before: 0.25,
			within: 0.25}), 1},
		{"ahead while the foot was off still: a lower gear went in", true, lasting(8, 26, 20, evidence{locked: true,
			before: 0.25, within: 0.25, unasked: true}), -1},
	} {
		w.check(t, inOtherGear)
	}
}

// A value each second does not tell a kick-down into a gear that was not learnt from slip of the lowest one that was: not so
// on a quicker link, in a taller gear, in a car whose gears are known, or where the engine hardly runs ahead.
func TestLowerGearThatWasNotLearnt(t *testing.T) {
	for _, c := range []struct {
		period   float64
		place    int
		complete bool
		peak     float64
		slips    bool
	}{{1, 0, false, 30, false}, {0.5, 0, false, 30, true}, {1, 1, false, 30, true}, {1, 0, true, 30, true},
		{1, 0, false, 7, true}} {
		r := at(60, c.period).drive(leg{s: 8, gear: 3}).record()
		r.Track.Model.Complete = c.complete
		d := lasting(5, c.peak, 0.8*c.peak+1, evidence{otherFit: 0.1, locked: true, before: 0.1, within: 0.12})
		d.run = &motion.Run{Gear: c.place + 1, Index: c.place}
		if got := inOtherGear(r, &d); (got > -sure) != c.slips {
			t.Errorf("%+v: %.1f nats", c, got)
		}
	}
}

// Where the whole ladder is known a ratio that no gear has is slip, however long it is kept.
func TestNoGearBesideACompleteLadder(t *testing.T) {
	r := quick()
	r.Track.Model.Complete = true
	d := lasting(8, 26, 25, evidence{steady: true, locked: true, before: 0.05, within: 0.25, footDown: true})
	if n := inOtherGear(r, &d); n < Proven {
		t.Errorf("%.1f nats", n)
	}
}

// A log that wanders by itself asks for more: what stands out by far of its errors is none of them. One that does not
// wander shows 4.5 standard deviations now and then.
func TestWanderingLog(t *testing.T) {
	for _, c := range []struct {
		spread, z float64
		want      int
	}{{1, 6, 1}, {1, 4.8, 0}, {1, 4.4, -1}, {2, 6, 0}, {2, 10, 1}, {2, 3, -1}, {5, 6, 0}, {5, 10, 1}} {
		r := quick()
		r.Spread, r.PullSpread = c.spread, c.spread
		d := lasting(2, 8, 6, evidence{z: c.z})
		n := wandering(r, &d)
		if got := n >= Proven; got != (c.want > 0) || (n < 0) != (c.want < 0) {
			t.Errorf("spread %.0f, %.1f standard deviations: %.1f nats", c.spread, c.z, n)
		}
		if r.Misunderstood() != (c.spread > 4) {
			t.Errorf("spread %.0f: misunderstood %v", c.spread, r.Misunderstood())
		}
	}
}

// A long slip with nothing against it is named so, however no single reading is certain: ten rivals at e^-6 each
// leave 1/(1+10 e^-6) = 0.976.
func TestExplainNamesSlip(t *testing.T) {
	r := at(60, 0.05).drive(leg{s: 4, a: 4, gear: 3, load: 1},
		leg{s: 3, a: 4, gear: 3, load: 1, slip: hump(0.07, 0.5, 3)},
		leg{s: 3, a: 4, gear: 3, load: 1}).found(noForce())
	d := r.only(t)
	if d.Kind != KindSlip || d.Odds < Proven || d.Confidence < 0.9 || d.Confidence > 0.99 ||
		len(d.Rivals) != len(explanations) {
		t.Errorf("%s, odds %.1f, confidence %.3f, rivals %v", d.Kind, d.Odds, d.Confidence, d.Rivals)
	}
}

// A lower gear pushes the car harder than the gear before it: where a departure fits one, 1.4 times the force is that
// gear, and the same force is a clutch that slides past it.
func TestForceOfALowerGear(t *testing.T) {
	for _, w := range []weigh{
		{"1.4 times the force", false, lasting(3, 34, 34, evidence{locked: true, otherFit: 0.8, before: 0.2, rise: 0.28, within: 0.28}), -1},
		{"the same force", false, lasting(3, 34, 34, evidence{locked: true, otherFit: 0.8, before: 0.2, rise: 0.2, within: 0.2}), 1},
	} {
		w.check(t, inOtherGear)
	}
}
