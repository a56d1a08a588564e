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

// On a slow link a departure that leaves a gear for the ratio that it was left for at another time, when that was
// another gear, proves nothing alone: 23.3 % of engine speed above fourth once more, and not 35 %, nor as much above
// fifth. Values of a quick link tell a gear each time.
func TestAChangeThatTheLogShowsElsewhere(t *testing.T) {
	for _, c := range []struct {
		what   string
		period float64
		gear   int
		peak   float64
		want   bool
	}{
		{"as far", 0.4, 4, 23.8, false},
		{"further", 0.4, 4, 35, true},
		{"above another gear", 0.4, 3, 23.8, true},
		{"on a quick link", 0.05, 4, 23.8, true},
	} {
		r := at(60, c.period).drive(leg{s: 4, a: 4, gear: 3, load: 1}).record()
		slip := lasting(4, c.peak, 15, evidence{locked: true, z: 12, alone: 4, stands: 2.5, outside: 3.5})
		slip.Kind, slip.Gear, slip.run = KindSlip, c.gear, &r.Runs[0]
		gear := lasting(4, 23.3, 15, evidence{})
		gear.Kind, gear.Gear, gear.run = KindOtherGear, 4, &r.Runs[0]
		r.Pulls = []Pull{{Departures: []Departure{gear, slip}}}
		findAlone([]*Record{r})
		if got := r.Pulls[0].Departures[1].Alone; got != c.want {
			t.Errorf("%s: alone %v", c.what, got)
		}
	}
}
