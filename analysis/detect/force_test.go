package detect

import (
	"math"
	"testing"
)

// The force of a sliding clutch, by hand. Before 0.30 of weight; slip carries 0.225 to 0.33, in one of five 0.12 to
// 0.225, in one of twenty less; a clutch let go -0.05 to 0.18, or to 0.3 1.5/d where it lasts d s and longer than 2.5;
// all read to 0.015, and d s long to 0.015/sqrt d.
//
//	0.28 for 2 s: as far from a clutch let go as it may count, 2.2 each second
//	0.19 for 1 s: slip 0.75 Phi(-2.333)/0.105 = 0.070 and 0.2 (1-0.0098)/0.105 = 1.886, in all 1.956; gone
//	(1-Phi(0.667))/0.23 = 0.2525/0.23 = 1.098; ln(1.956/1.098) = 0.58
//	0.10 for 1 s: 0.2 Phi(-1.333)/0.105 = 0.174 and 0.05 Phi(1.333)/0.12 = 0.379, in all 0.552; gone 1/0.23 = 4.35
//	0.13 for 4 s, gone to 0.1125: slip 0.2 Phi(1.333)/0.105 + 0.05 Phi(-1.333)/0.12 = 1.769; gone
//	(1-Phi(2.333))/0.1625 = 0.0604
func TestForceInADeparture(t *testing.T) {
	r := quick()
	for _, c := range []struct {
		within, duration, want float64
	}{{0.28, 2, 4.4}, {0.19, 1, 0.58}, {0.1, 1, -2.06}, {0.13, 4, 3.38}} {
		d := lasting(c.duration, 10, 8, evidence{locked: true, before: 0.3, within: c.within})
		near(t, "nats", r.forceOdds(&d), c.want, 0.02)
	}
	for _, w := range []weigh{
		{"no force read", false, lasting(2, 10, 8, evidence{before: math.NaN(), within: 0.2}), 0},
		{"not locked before, pushed", false, lasting(2, 10, 8, evidence{before: 0.3, within: 0.06}), 1},
		{"not locked before, not pushed", false, lasting(2, 10, 8, evidence{before: 0.3, within: 0.03}), -1},
		{"the foot went down, the force with it", false, lasting(2, 10, 8, evidence{locked: true, before: 0.05,
			within: 0.25, rise: 0.2, footDown: true}), 1},
		{"the foot went down, the force came later", false, lasting(2, 10, 8, evidence{locked: true, before: 0.05,
			within: 0.25, rise: 0.05, footDown: true}), -1},
		{"no value at the rise", false, lasting(2, 10, 8, evidence{locked: true, before: 0.3, rise: math.NaN(),
			within: 0.28}), 1},
		{"far more at the rise than later", false, lasting(2, 10, 8, evidence{locked: true, before: 0.08, rise: 0.25,
			within: 0.08}), -1},
	} {
		w.check(t, withoutForce)
	}
}

// A foot that stays on the accelerator for longer than both feet are down when gears are changed at full throttle has
// not let the clutch go; one that is not recorded tells nothing.
func TestFootThatStaysDown(t *testing.T) {
	odds := func(load float64) float64 {
		r := at(60, 0.05).drive(leg{s: 6, gear: 3, load: load}).record()
		d := lasting(2.2, 30, 20, evidence{locked: true, before: 0.3, within: 0.15})
		d.lo, d.hi = r.at(2), r.at(4.2)+1
		return withoutForce(r, &d)
	}
	if down, unknown := odds(1), odds(nan); math.Abs(down-unknown-(2.2-bothFeet)/footTail) > 0.1 {
		t.Errorf("%.2f nats under a foot that stays, %.2f of one that nobody recorded", down, unknown)
	}
}

// Force is read while the foot is down: what is carried once it lifts is no measure of the clutch.
func TestForceWhileTheFootIsDown(t *testing.T) {
	for _, c := range []struct{ down, want float64 }{{2, 0.2}, {0.8, 0.05}} {
		h := at(60, 0.05).drive(leg{s: 2 + c.down, gear: 3, load: 1}, leg{s: 8, gear: 3, load: 0})
		r := h.record()
		for i, x := range r.Track.T {
			r.push(i, map[bool]float64{true: 0.2, false: 0.05}[x < 2+c.down])
		}
		d := departure(r, 2, 8)
		near(t, "force", r.evidenceOf(d).within, c.want, 0.01)
	}
}

// Six slips of a clutch that carries half of what it held while it slides, each as likely a foot, are a clutch together;
// with one in which hardly a foot is to be doubted they are not. One that more than a lack of force speaks against
// counts for nothing, and stays what it is.
func TestDeparturesThatOnlyLackForce(t *testing.T) {
	rivals := func(force, shift float64) []Rival { return []Rival{{KindNoForce, force}, {KindShift, shift}} }
	for _, c := range []struct {
		lasts float64 // s
		force []float64
		slips int
	}{
		{3, []float64{1, 1, 1, 1, 1, 1}, 6},
		{3, []float64{0.9, 0.9, 0.9}, 0},
		{3, []float64{2.5, 2.5, -1}, 2},
		{3, []float64{2.5, 2.5, -6}, 0},
		{1, []float64{2.5, 2.5, 2.5}, 0}, // dabs at the pedal
	} {
		r := quick()
		r.Pulls = []Pull{{}}
		add := func(v []Rival) {
			d := Departure{Event: Event{Rivals: v}, duration: c.lasts}
			d.judge()
			r.Pulls[0].Departures = append(r.Pulls[0].Departures, d)
		}
		for _, x := range c.force {
			add(rivals(x, sure))
		}
		add(rivals(2, -sure))
		together([]*Record{r})
		slips := 0
		r.each(func(d *Departure) {
			if d.Kind == KindSlip {
				slips++
			}
		})
		if slips != c.slips {
			t.Errorf("%v nats: %d slips, want %d", c.force, slips, c.slips)
		}
	}
}

// A small departure is hardly a foot or a change of gear, which is no proof that the clutch carried anything: where the
// force could not be read, the matter is open; where it was kept for a second, it is proven.
func TestSmallDepartureWithoutAForce(t *testing.T) {
	kept := evidence{locked: true, before: 0.3, rise: 0.3, within: 0.28}
	unread := evidence{locked: true, before: math.NaN(), within: 0.28}
	for _, w := range []weigh{
		{"small, force not read", false, lasting(1, 5, 4, unread), 0},
		{"small, force kept", false, lasting(1, 5, 4, kept), 1},
		{"large, force kept", false, lasting(1, 12, 10, kept), 0},
	} {
		w.check(t, withoutForce)
	}
}

// A departure with a pause in it, beside which no force is read, is judged by numbers all the same.
func TestNoForceReadBesideAPause(t *testing.T) {
	r := at(60, 0.1).drive(leg{s: 3, gear: 3, load: 1}, leg{s: 0.3, gear: 3, load: 1, slip: constant(0.3)}).pause(1.5).
		drive(leg{s: 0.3, gear: 3, load: 1, slip: constant(0.3)}, leg{s: 3, gear: 3, load: 1}).record()
	d := departure(r, 3, 5.1)
	d.Moving = true
	d.seen = r.evidenceOf(d)
	for _, locked := range []bool{true, false} {
		d.seen.locked = locked
		for _, x := range explanations {
			if n := x.nats(r, d); math.IsNaN(n) {
				t.Errorf("locked before %v: %s has no odds", locked, x.kind)
			}
		}
	}
}
