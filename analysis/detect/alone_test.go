package detect

import "testing"

// One departure proves slip if it stands out, began locked, and lasts longer than anything else does.
func TestOneDepartureThatProvesSlip(t *testing.T) {
	base := evidence{locked: true, z: 12, alone: 2, stands: 2.5}
	with := func(change func(e *evidence)) evidence { e := base; change(&e); return e }
	for _, c := range []struct {
		what   string
		period float64
		d      Departure
		want   bool
	}{
		{"four seconds without a lift, far", 0.05, lasting(4, 20, 15, with(func(e *evidence) { e.alone = 4 })), true},
		{"a stab of 0.7 s and then a little", 0.05, lasting(4, 20, 5, with(func(e *evidence) { e.alone, e.stands = 4, 0.7 })),
			false},
		{"two seconds, locks again", 0.05, lasting(2, 20, 15, with(func(e *evidence) { e.relocks = true })), true},
		{"two seconds with a lift in their midst", 0.05, lasting(2, 20, 15, with(func(e *evidence) {
			e.relocks, e.alone = true, 1
		})), false},
		{"two seconds, small", 0.05, lasting(2, 6, 5, base), true},
		{"two seconds, far, lost", 0.05, lasting(2, 20, 15, base), false},
		{"one second, small", 0.05, lasting(1, 6, 5, with(func(e *evidence) { e.alone = 1 })), false},
		{"not locked before", 0.05, lasting(4, 20, 15, with(func(e *evidence) { e.alone, e.locked = 4, false })), false},
		{"not locked before, but it grows", 0.05, lasting(4, 20, 15, with(func(e *evidence) {
			e.alone, e.locked, e.grows, e.between = 4, false, true, 3
		})), true},
		{"not locked before, it grows past the ratios of gears", 0.05, lasting(4, 20, 15, with(func(e *evidence) {
			e.alone, e.locked, e.grows, e.between = 4, false, true, 1
		})), false},
		{"not locked before, for far longer than a foot takes", 0.05,
			lasting(5, 20, 15, with(func(e *evidence) { e.alone, e.locked, e.between = 5, false, 3 })), true},
		{"the same past the ratios of gears", 0.05,
			lasting(5, 20, 15, with(func(e *evidence) { e.alone, e.locked = 5, false })), false},
		{"the same on a slow link", 0.5,
			lasting(6, 20, 15, with(func(e *evidence) { e.alone, e.locked, e.between = 6, false, 5 })), true},
		{"the engine pulled down", 0.05, lasting(4, 20, 15, with(func(e *evidence) { e.alone, e.pulled = 4, true })), false},
		{"slow: three seconds without a lift", 0.4, lasting(3, 20, 15, with(func(e *evidence) { e.alone = 3 })), true},
		{"slow: two seconds and a half without a lift", 0.4, lasting(3, 20, 15, with(func(e *evidence) { e.alone = 2.7 })),
			false},
		{"very slow: five seconds", 1.1, lasting(5, 20, 15, with(func(e *evidence) { e.alone = 5 })), true},
		{"very slow: three seconds and a half", 1.1, lasting(5, 20, 15, with(func(e *evidence) { e.alone = 3.5 })), false},
		{"slow: two seconds, small", 0.4, lasting(2, 6, 5, base), true},
		{"slow: 1.8 seconds, small", 0.4, lasting(1.8, 6, 5, with(func(e *evidence) { e.alone = 1.8 })), false},
	} {
		r := at(60, c.period).drive(leg{s: 8, gear: 3, load: 1}).record()
		c.d.hi, c.d.run = r.Track.Len(), &r.Runs[0]
		c.d.Kind, c.d.Moving = KindSlip, true
		if got := r.alone(&c.d); got != c.want {
			t.Errorf("%s: %v", c.what, got)
		}
	}
	d := lasting(4, 20, 15, with(func(e *evidence) { e.alone = 4 }))
	d.Kind = KindPedal
	if quick().alone(&d) {
		t.Error("a foot on the pedal proves slip")
	}
}
