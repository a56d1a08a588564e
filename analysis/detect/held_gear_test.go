package detect

import (
	"testing"

	"flywitness/analysis/motion"
)

// passed is a drive in second, then at a ratio so far above it (fraction of engine speed) as a change of gear into it and
// out of it leaves it for so many seconds, then in second again.
func passed(above, seconds float64) *handmade {
	return at(60, 0.05).drive(leg{s: 4, gear: 2, load: 0.9, a: 1}, leg{s: 0.5, gear: 2, load: 0.9, slip: constant(0.6)},
		leg{s: seconds, gear: 2, load: 0.9, a: 5, slip: constant(above)}, leg{s: 0.5, gear: 2, load: 0.9, slip: constant(0.15)},
		leg{s: 4, gear: 2, load: 0.9, a: 1})
}

// A ratio that stays a quarter and more above the next taller gear is a gear that was not learnt, with a change of gear
// on either side: no slip, however well the clutch was locked before. One that is nearer may be slip, unless a gear may
// be lacking there; beside a complete ladder there is no other gear than those of it.
func TestPullInAGearThatWasNotLearnt(t *testing.T) {
	for _, c := range []struct {
		what           string
		above, seconds float64
		gears          int // of the ladder, from the lowest
		complete       bool
		want           bool
	}{
		{"three seconds, a quarter above", 0.27, 3, 4, false, true},
		{"a fifth above", 0.2, 3, 4, false, false},
		{"a fifth above, of two gears", 0.2, 3, 2, false, true},
		{"for half a second", 0.27, 0.5, 4, false, false},
		{"all gears known", 0.27, 3, 4, true, false},
		{"all known, the ratio of first", 1 - 70./120, 3, 4, true, true},
	} {
		h := passed(c.above, c.seconds)
		h.Model.Complete, h.Model.Gears = c.complete, h.Model.Gears[:c.gears]
		r := h.found(noForce())
		n, d := 0, r.only(t)
		for i := range r.Track.T {
			if r.Geared(i) {
				n++
			}
		}
		rest, in := d.WasGeared()
		if in != c.want || (n > 0) != c.want || in && (rest < 0.4 || rest > 0.8 || n < 55) {
			t.Errorf("%s: %d samples in a gear that was not learnt, %.2f s beside it", c.what, n, rest)
		}
		if in && inOtherGear(r, d) >= 0 {
			t.Errorf("%s: no other gear", c.what)
		}
	}
}

// Between gears at ratios 120, 70, 46 and 34, whose steps are 1.71, 1.52 and 1.35, there is room for another one only in
// the midst of the wider ones, and below the lowest. A missing one makes a step of its own look wide.
func TestRoomForAGear(t *testing.T) {
	for _, c := range []struct {
		place int
		k     float64
		want  bool
	}{
		{3, 38, false}, {3, 40, false}, {2, 51, false}, {2, 56, true}, {2, 64, false}, // 1.11 and 1.37, 1.22 and 1.25, 1.39 and 1.09
		{1, 76, false}, {1, 92, true}, {1, 110, false}, {2, 92, true}, {3, 51, false}, {3, 56, true}, {0, 130, true}, {2, 160, true},
	} {
		r := at(60, 0.1).record()
		ratio := c.k / ladder[c.place]
		d := &Departure{run: &motion.Run{Index: c.place}, speed: 60, level: 60 * (ratio - 1)}
		if got := r.hasRoom(d); got != c.want {
			t.Errorf("at %g above %g: room %v", c.k, ladder[c.place], got)
		}
		if r.Track.Model.Complete = true; r.hasRoom(d) {
			t.Errorf("at %g: room in a complete ladder", c.k)
		}
	}
}

// A clutch that gives way goes over to its ratio without a break of force, a gear does not.
func TestRatioWithoutABreakOfForce(t *testing.T) {
	for _, broken := range []bool{false, true} {
		between := leg{s: 0.5, gear: 2, load: 0.9, a: 5, slip: constant(0.15)}
		if broken {
			between.a = -1
		}
		r := at(60, 0.05).drive(leg{s: 4, gear: 2, load: 0.9, a: 5}, between,
			leg{s: 3, gear: 2, load: 0.9, a: 5, slip: constant(0.27)}, leg{s: 4, gear: 2, load: 0.9, a: 1}).found(noForce())
		if got := r.Geared(r.at(6)); got != broken {
			t.Errorf("force broken %v: in a gear that was not learnt: %v", broken, got)
		}
	}
}

// Nor does a clutch that gives way in a gear that was not learnt itself, as a lower one does that follows it.
func TestRatioAfterAGearThatWasNotLearnt(t *testing.T) {
	for _, broken := range []bool{false, true} {
		between := leg{s: 0.5, gear: 3, load: 0.9, a: 5, slip: constant(0.4)}
		if broken {
			between.a = -1
		}
		r := at(25, 0.05).drive(leg{s: 4, gear: 3, load: 0.9, a: 5}, leg{s: 0.5, gear: 3, load: 0.9, a: -1, slip: constant(0.15)},
			leg{s: 3, gear: 3, load: 0.9, a: 5, slip: constant(0.27)}, between,
			leg{s: 3, gear: 3, load: 0.9, a: 5, slip: constant(0.5)}, leg{s: 4, gear: 3, load: 0.9, a: 1}).found(noForce())
		if !r.Geared(r.at(6)) {
			t.Fatal("the first is no gear")
		}
		if got := r.Geared(r.at(9.5)); got != broken {
			t.Errorf("force broken %v: in a gear that was not learnt: %v", broken, got)
		}
	}
}

// The samples of a change of gear on either side fit no gear: those between them do.
func TestOtherGearBetweenChanges(t *testing.T) {
	r := at(60, 0.9).drive(leg{s: 9, gear: 4, load: 0.9}, leg{s: 0.9, gear: 4, load: 0.5, slip: constant(0.15)},
		leg{s: 2.7, gear: 4, load: 0.9, slip: constant(1 - 34./46)}, leg{s: 0.9, gear: 4, load: 0.5, slip: constant(0.1)},
		leg{s: 9, gear: 4, load: 0.9}).found(noForce())
	if d := r.only(t); d.seen.otherFit != 1 || d.hi-d.lo != 5 || !d.seen.paired {
		t.Errorf("%d samples, of which %.2f fit another gear, two running %v", d.hi-d.lo, d.seen.otherFit, d.seen.paired)
	}
	r = at(60, 0.9).drive(leg{s: 9, gear: 4, load: 0.9}, leg{s: 4.5, gear: 4, load: 0.9, slip: constant(0.15)},
		leg{s: 9, gear: 4, load: 0.9}).found(noForce())
	if r.only(t).seen.paired {
		t.Error("samples of no gear are in one")
	}
}
