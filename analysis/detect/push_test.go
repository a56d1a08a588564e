package detect

import (
	"math"
	"testing"

	"flywitness/analysis/motion"
)

// A change on a slow link tells as much less as the break is a part of it: half of one that takes twice its time.
func TestBreakIsAPartOfASlowChange(t *testing.T) {
	for _, c := range []struct{ took, through, lo, hi float64 }{
		{0.8, 0.2, 6, 7.5}, {0.8, 1.1, -6.5, -5.5}, {1.6, 0.6, 3, 6}, {1.6, 1.1, -5, -1.5}, {8, 0.9, -0.5, 1.2},
	} {
		p := push{took: c.took, force: 0.25, through: c.through}
		if got := p.forceGone(sight{}); got < c.lo || got > c.hi {
			t.Errorf("%.1f of the force through %.1f s: %.1f nats, want %.1f to %.1f", c.through, c.took, got, c.lo, c.hi)
		}
	}
	// forces of a fifth that differ by half leave in doubt how much was there, the more the longer the change
	flat, apart := push{took: 1.6, force: 0.2, through: 0.6}, push{took: 1.6, force: 0.2, through: 0.6, apart: 0.25}
	if flat.forceGone(sight{}) < apart.forceGone(sight{})+0.5 {
		t.Errorf("%.1f nats with one force beside, %.1f with two", flat.forceGone(sight{}), apart.forceGone(sight{}))
	}
}

// A day of some thousand runs is told by a thousand at most, from its beginning to its end; an hour by all of its.
func TestSomeRunsOfADay(t *testing.T) {
	for _, n := range []int{0, 400, 5000} {
		r := &Record{Record: &motion.Record{Runs: make([]motion.Run, n)}}
		some := r.someRuns()
		if len(some) > 1000 || len(some) < min(n, 500) {
			t.Errorf("%d of %d runs", len(some), n)
		}
		if n > 0 && some[len(some)-1] != &r.Runs[n-1-(n-1)%(1+n/1000)] {
			t.Errorf("of %d runs the last are left out", n)
		}
	}
}

// Through a change that the break fills forces that differ beside it leave only in doubt what a whole one is: sd
// sqrt(0.1^2 + (0.01^2 + 0.0075^2)/0.25^2) = 0.112 of a broken one, with 0.3^2/3 0.206 of a whole one. At 0.9:
// Phi(-0.1/0.112)/1.1 = 0.169 against (Phi(0.4/0.206) - 0.5)/0.4 = 1.18.
func TestForcesBesideABreakThatFillsTheChange(t *testing.T) {
	p := push{took: 0.8, force: 0.25, through: 0.9, apart: 0.3}
	near(t, "nats", p.forceGone(sight{}), math.Log(0.169/1.18), 0.1)
}

// A change that seems to carry all of the force and a quarter more, which no break leaves, may be a misread one: one reading
// in two hundred, anywhere from -1 to 3 of the force, 0.005/4; with sd 0.112 as above a break of 0.8 s adds 0.00003. A
// whole one is (Phi(0.05/0.112) - Phi(-0.35/0.112))/0.4 = 1.68.
func TestForceThatABumpMakes(t *testing.T) {
	p := push{took: 0.8, force: 0.25, through: 1.25}
	near(t, "nats", p.forceGone(sight{}), math.Log(0.00128/1.68), 0.2)
}

// A change of gear takes two intervals of a slow link, be its stamps some hundredths early or late, and 0.8 s of a quick
// one: of seven of a quarter of a second three, less a tenth.
func TestReadingsThatStandForAChange(t *testing.T) {
	for _, c := range []struct {
		long, short, period float64
		want                int
	}{
		{0.66, 0.66, 0.7, 4}, {0.25, 0.25, 0.25, 3}, {0.35, 0.35, 0.35, 4},
	} {
		h := at(60, c.period)
		for i := range 12 {
			h.Model.Period = []float64{c.long, c.short}[i%2]
			h.add(leg{a: 2, gear: 3, load: 0.5}, 0)
		}
		h.Model.Period = c.period
		r := h.record()
		if got := len(r.middlesOf(r.Runs[0]).forces); got != c.want {
			t.Errorf("%+v: %d", c, got)
		}
	}
}

// What a link cannot show speaks neither way: force that wanders by as much as a break takes from it, and a reading that
// is none.
func TestForceThatTellsNothing(t *testing.T) {
	for _, c := range []struct {
		what        string
		p           push
		s           sight
		least, most float64 // nats
	}{
		{"a break of 0.8 s within 1.9 s, force that wanders by half", push{took: 1.9, force: 0.07, through: 1.1},
			sight{force: 0.5}, -0.9, 0},
		{"the same where force is steady", push{took: 1.9, force: 0.25, through: 1.1}, sight{}, -5, -1.5},
		{"lost in three seconds", push{took: 3, force: 0.1, through: 0.98, apart: 0.1}, sight{}, -0.8, 0},
		{"more than any gearbox makes", push{took: 0.8, force: 0.25, through: 2.5}, sight{}, -0.1, 0.1},
		{"not under force", push{took: 0.8, through: math.NaN()}, sight{}, 0, 0},
	} {
		if n := c.p.forceGone(c.s); n < c.least || n > c.most {
			t.Errorf("%s: %.2f nats, want %.1f to %.1f", c.what, n, c.least, c.most)
		}
	}
}

// Engine speed that stands half a break and more from the road speeds shows a gear that is not in yet, or no more: the
// break lies beside where it is looked for. By hand: (0.8 - 0.4)/0.19 = 2.1 standard deviations, 0.982.
func TestBreaksThatAreHidden(t *testing.T) {
	for _, c := range []struct{ offset, lagSD, want float64 }{
		{0.8, 0.19, 0.01 + 0.99*0.982}, {0.4, 0.1, 0.505}, {0.05, 0.09, 0.01}, {0.02, 0.005, 0.01},
		{0.37, 0.001, 0.01 + 0.99*0.023}, // stamps are known to 15 ms at best: -2 standard deviations
	} {
		near(t, "hidden", sight{offset: c.offset, lagSD: c.lagSD}.hidden(), c.want, 0.005)
	}
}

// The middle of a gear, read as if it were changed there: steady force is whole, force that comes and goes every three
// seconds is not.
func TestSightOfALog(t *testing.T) {
	steady, wandering := at(60, 0.4), at(60, 0.4)
	for range 12 {
		steady.drive(leg{s: 3, a: 2, gear: 3, load: 0.5})
		wandering.drive(leg{s: 1.6, a: 3.5, gear: 3, load: 0.7}, leg{s: 1.6, a: 0.5, gear: 3, load: 0.25})
	}
	a, b := steady.record().sight(), wandering.record().sight()
	if a.force > 0.05 || b.force < 0.2 {
		t.Errorf("force wanders by %.2f and %.2f of itself", a.force, b.force)
	}
	if a.load > 0.05 || b.load < 0.1 {
		t.Errorf("load wanders by %.2f and %.2f of itself", a.load, b.load)
	}
	if few := at(60, 0.4).drive(leg{s: 3, a: 2, gear: 3, load: 0.5}).record().sight(); few.force != 0 || few.load != 0 {
		t.Errorf("three seconds: %+v", few)
	}
}

// The spread of a dozen readings is that of all but the outliers; three readings tell none.
func TestSpreadOfReadings(t *testing.T) {
	normal := make([]float64, 0, 13)
	for _, z := range []float64{-1.6, -1.2, -0.9, -0.6, -0.4, -0.2, 0.2, 0.4, 0.6, 0.9, 1.2, 1.6, 30} {
		normal = append(normal, 1+0.1*z)
	}
	near(t, "spread", spreadOf(normal), 0.1, 0.015)
	if got := spreadOf([]float64{0.8, 1, 1.2}); got != 0 {
		t.Errorf("%.2f of three readings", got)
	}
}

// On a link of a value every 1.5 s the last of them before a change tells its force, and not the two before: wheel force
// at 80 km/h is (8/3.6 + 0.11 + 0.11)/9.81 = 0.25.
func TestForceBesideAChangeOnASlowLink(t *testing.T) {
	r := at(50, 1.5).drive(leg{s: 6, a: 2, gear: 2, load: 1}, leg{s: 3, a: 8, gear: 2, load: 1},
		leg{s: 1.5, a: 8, gear: 3, load: 1}, leg{s: 6, a: 2, gear: 3, load: 1}).record()
	near(t, "force", r.pushThrough(&r.Runs[0], &r.Runs[1]).force, 0.25, 0.02)
}

// Where values come at uneven times the one before the last may be further away than a usual interval, and tells all the
// same.
func TestForceBesideAChangeAtUnevenTimes(t *testing.T) {
	r := at(50, 1.5).drive(leg{s: 4.5, a: 8, gear: 2, load: 1}, leg{s: 4.5, a: 8, gear: 3, load: 1}).record()
	last := r.Runs[0].Hi - 1
	for i := range last {
		r.Track.T[i] -= 0.4
		r.State(i).V -= 0.4 * 8
	}
	near(t, "force", r.pushThrough(&r.Runs[0], &r.Runs[1]).force, 0.25, 0.02)
}

// On a quick link the second beside a change tells its force, and not the two before: 8 km/h/s as above.
func TestForceBesideAChange(t *testing.T) {
	r := at(50, 0.1).drive(leg{s: 6, a: 2, gear: 2, load: 1}, leg{s: 1.5, a: 8, gear: 2, load: 1},
		leg{s: 1.5, a: 8, gear: 3, load: 1}, leg{s: 6, a: 2, gear: 3, load: 1}).record()
	near(t, "force", r.pushThrough(&r.Runs[0], &r.Runs[1]).force, 0.25, 0.02)
}

// On a link of a value every 0.7 s a change of gear takes two intervals: force that comes and goes every two seconds stands
// for one.
func TestSightOfASlowLog(t *testing.T) {
	h := at(40, 0.7)
	for range 14 {
		h.drive(leg{s: 2.1, a: 3.5, gear: 3, load: 0.7}, leg{s: 2.1, a: 0.5, gear: 3, load: 0.25})
	}
	near(t, "share by which force wanders", h.record().sight().force, 0.5, 0.15)
}
