package detect

import (
	"testing"

	"flywitness/analysis/motion"
	"flywitness/drive"
)

// switched is a drive with changes of gear and starts, then a pull in third with a slip of four seconds in it, and what
// a switch at the clutch pedal shows: a foot in every change, and where more says so.
func switched(t *testing.T, more func(h *handmade, i int) bool, value func(pressed bool) float64) *Record {
	h := at(15, 0.05)
	for range 3 {
		h.v = 15
		h.drive(leg{s: 0.5, a: 5}, leg{s: 2, a: 5, gear: 1, load: 0.3, slip: hump(0.4, 0.2, 2)},
			leg{s: 3, a: 0, gear: 1, load: 0.2}, leg{s: 0.5, rpm: 2500}, leg{s: 4, a: 2, gear: 2, load: 0.2},
			leg{s: 0.5, rpm: 2500}, leg{s: 6, gear: 3, load: 0.2})
	}
	h.drive(leg{s: 4, a: 4, gear: 3, load: 1}, leg{s: 4, a: 4, gear: 3, load: 1, slip: hump(0.12, 0.5, 4)},
		leg{s: 3, a: 4, gear: 3, load: 1})
	c := &drive.Channel{Name: drive.ClutchSwitch}
	for i, at := range h.T {
		c.T, c.V = append(c.T, at), append(c.V, value(h.Gear[i] == 0 || more(h, i)))
	}
	m := motion.New(0, &h.Track)
	m.TakeClutchSwitch(&drive.Log{Channels: []*drive.Channel{c}})
	return Find([]*motion.Record{m}, noForce(), Told{})[0]
}

// last is the last departure of a record, the slip of the pull.
func (r *Record) last() (c *Departure) {
	r.each(func(x *Departure) { c = x })
	return c
}

func one(pressed bool) float64 {
	if pressed {
		return 1
	}
	return 0
}

// What a switch shows is learnt before it is believed: whether it works, which way round, and how far down the pedal is
// when it shows a foot.
func TestClutchSwitch(t *testing.T) {
	sliding := func(h *handmade, i int) bool { return h.Gear[i] == 1 && h.Excess[i] > 1 }
	slip := func(h *handmade, i int) bool { return sliding(h, i) || h.Gear[i] == 3 && h.Excess[i] > 1 }
	shift := func(h *handmade, i int) bool { // for half a second at the begin of the slip
		return sliding(h, i) || h.Gear[i] == 3 && h.Excess[i] > 1 && h.Excess[i-10] < 1
	}
	resting := func(h *handmade, i int) bool { return sliding(h, i) || i%10 == 0 }
	for _, c := range []struct {
		what                    string
		more                    func(h *handmade, i int) bool
		value                   func(bool) float64
		works, touched, on, off bool
	}{
		{"no foot", sliding, one, true, true, false, true},
		{"a foot all through the slip", slip, one, true, true, true, false},
		{"a foot at its begin, and none for seconds", shift, one, true, true, false, true},
		{"the wrong way round", slip, func(p bool) float64 { return one(!p) }, true, true, true, false},
		{"the wrong way round, no foot", sliding, func(p bool) float64 { return one(!p) }, true, true, false, true},
		{"how far the pedal is down", slip, func(p bool) float64 { return 0.02 + 0.3*one(p) }, true, true, true, false},
		{"a switch near the floor", func(*handmade, int) bool { return false }, one, true, false, false, false},
		{"a foot that rests on the pedal", resting, one, false, true, false, false},
		{"a switch that shows nothing", slip, func(bool) float64 { return 0 }, false, false, false, false},
		{"one that is stuck", slip, func(bool) float64 { return 1 }, false, false, false, false},
	} {
		r := switched(t, c.more, c.value)
		d := r.last()
		if r.foot.works != c.works || r.foot.touched != c.touched {
			t.Errorf("%s: %+v", c.what, r.foot)
		}
		if d.seen.underFoot != c.on || d.seen.withoutFoot != c.off {
			t.Errorf("%s: under a foot %v, without one %v", c.what, d.seen.underFoot, d.seen.withoutFoot)
		}
		if n := onThePedal(r, d); c.on && n > -sure || c.off && n < sure {
			t.Errorf("%s: %.1f nats against the pedal", c.what, n)
		}
		if (d.Kind == KindPedal) != c.on {
			t.Errorf("%s: %s", c.what, d.Kind)
		}
	}
}

// Where no foot was on the pedal, no clutch was let in, no gear was changed, and a departure that looks like either is
// neither: but for a gear that was not learnt, which may have been in all along.
func TestWithoutFoot(t *testing.T) {
	for _, x := range []struct {
		what string
		nats func(r *Record, c *Departure) float64
		seen evidence
	}{
		{"engagement", engaging, evidence{settles: true}},
		{"shift", shifting, evidence{before: 0.2, within: 0.01}},
		{"other gear", inOtherGear, evidence{locked: true, otherFit: 1}},
		{"pedal", onThePedal, evidence{pulled: true}},
	} {
		r := at(60, 0.05).drive(leg{s: 1, gear: 3, load: 1}).found(noForce())
		d := lasting(1, 20, 15, x.seen)
		d.run = &r.Runs[0]
		if n := x.nats(r, &d); n > -sure {
			t.Errorf("%s: %.1f nats before anything is known of a foot", x.what, n)
		}
		d.seen.withoutFoot = true
		r.Track.Model.Complete = true
		if n := x.nats(r, &d); n < sure {
			t.Errorf("%s: %.1f nats without a foot", x.what, n)
		}
		r.Track.Model.Complete = false
		d.seen.steady = true
		if n := x.nats(r, &d); x.what == "engagement" && n > -sure {
			t.Errorf("a gear that is not known: %.1f nats", n)
		}
	}
}
