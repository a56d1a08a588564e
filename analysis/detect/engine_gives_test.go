package detect

import (
	"testing"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
)

// The engine gave its most in a pull at full load that a locked clutch held: a slip under as much is one, and under
// twice as much it is a lower gear, whose ratio may be none that was learnt. Where the engine was not seen so, at part
// load or half as fast, or on a clutch that slid, it may give anything.
func TestNoMoreThanTheEngineGives(t *testing.T) {
	for _, c := range []struct {
		what  string
		pull  leg
		times float64 // of the torque of the pull, that went through the clutch
		speed float64 // of the engine, as a multiple of that in the pull
		want  bool    // slip
	}{
		{"as much", leg{s: 6, a: 5, gear: 3, load: 1}, 1, 1, true},
		{"a tenth more", leg{s: 6, a: 5, gear: 3, load: 1}, 1.1, 1, true},
		{"twice as much", leg{s: 6, a: 5, gear: 3, load: 1}, 2, 1, false},
		{"part load", leg{s: 6, a: 5, gear: 3, load: 0.6}, 2, 1, true},
		{"a slower engine", leg{s: 6, a: 5, gear: 3, load: 1}, 2, 2, true},
		{"a moment", leg{s: 4, a: 5, gear: 3, load: 1}, 2, 1, true},
		{"a clutch that slid", leg{s: 6, a: 5, gear: 3, load: 1, slip: constant(0.1)}, 2, 1, true},
		{"an engine ahead", leg{s: 6, a: 5, gear: 3, load: 1, slip: constant(0.05), clutch: gearstate.Locked}, 2, 1, true},
	} {
		r := at(60, 0.05).drive(c.pull).record()
		mid := r.Track.Len() / 2
		force := c.times * r.Phi(mid) * ladder[3] / ladder[2]
		d := lasting(4, 30, 25, evidence{locked: true, before: force, within: force})
		d.run = &motion.Run{Gear: 4, Index: 3}
		d.lo, d.hi = mid, mid+1
		weighEngine([]*Record{r})
		r.Track.RPM[mid] *= c.speed
		if n := inOtherGear(r, &d); (n >= Proven) != c.want {
			t.Errorf("%s: %.1f nats for slip", c.what, n)
		}
	}
}

// What the engine gave in one log it gives in the others of the car; a foot that went up in between begins anew, since
// a charger takes a while.
func TestWhatTheEngineGives(t *testing.T) {
	pull := func(s float64) leg { return leg{s: s, a: 5, gear: 3, load: 1} }
	one := at(60, 0.05).drive(pull(6)).record()
	none := at(60, 0.05).drive(pull(1.6), leg{s: 0.2, a: 5, gear: 3}, pull(1.6)).record()
	if n := len(none.engineGave()); n > 0 {
		t.Errorf("%d readings of two short pulls", n)
	}
	weighEngine([]*Record{none, one})
	for _, r := range []*Record{none, one} {
		if most := r.mostAt(80 * ladder[2]); !(most > 0) {
			t.Errorf("%d readings, the most %g", len(r.gives), most)
		}
	}
}
