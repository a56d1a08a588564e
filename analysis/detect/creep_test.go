package detect

import (
	"math"
	"testing"
)

// An engine that runs ahead in proportion to the force, as tyres on gravel make it, is no slip where speed is that of
// other wheels; one that runs ahead for a part of the time that the force lasts is none of the tyres' doing, nor is one
// that runs further ahead than any tyre creeps. Creep of 0.3 at 5 km/h/s, 0.14 of weight and a little drag, is 5 %.
func TestCreepFollowsForce(t *testing.T) {
	follows := func(a float64) leg {
		share := 0.3 * (a/3.6/9.81 + 0.02)
		return leg{s: 1.5, gear: 3, a: a, load: 1, slip: constant(share / (1 + share))}
	}
	lets := func(share float64) []leg {
		on := leg{s: 2, gear: 3, a: 5, load: 1}
		slides := on
		slides.slip = constant(share)
		return []leg{on, slides, on}
	}
	for _, c := range []struct {
		what   string
		driven bool
		legs   []leg
		slip   bool
	}{
		{"follows force", false, []leg{follows(0), follows(2), follows(5), follows(3), follows(0)}, false},
		{"the same from the driven wheels", true, []leg{follows(0), follows(2), follows(5), follows(3), follows(0)}, true},
		{"lets go and holds again under one force", false, lets(0.05), true},
		{"goes further than a tyre creeps", false, []leg{follows(0), {s: 3, gear: 3, a: 2, load: 1, slip: constant(0.2)}}, true},
	} {
		h := at(60, 0.1)
		h.Model.MayCreep, h.Model.DrivenNats = !c.driven, 0
		r := h.drive(c.legs...).record()
		end := r.Track.T[r.Track.Len()-1]
		d := departure(r, 1.5, end-1.5)
		if !c.driven && c.slip {
			d = departure(r, 2, 4)
		}
		d.level = r.MeanE(d.lo, d.hi)
		if n := creeping(r, d); (n >= Proven) != c.slip {
			t.Errorf("%s: %.1f nats", c.what, n)
		}
	}
}

// What follows the force may be creep on a loose road, unless the road is told to be paved and dry: of fifty who say so
// one is wrong.
func TestCreepOnARoadToldToBeDry(t *testing.T) {
	odds := func(dry bool) float64 {
		h := at(60, 0.1)
		h.Model.MayCreep, h.Model.DrivenNats, h.dry = true, 0, dry
		r := h.drive(leg{s: 2, gear: 3, load: 0.3}, leg{s: 4, gear: 3, a: 2, load: 1, slip: constant(0.04)},
			leg{s: 2, gear: 3, load: 0.3}).record()
		d := departure(r, 2, 6)
		d.level = r.MeanE(d.lo, d.hi)
		return creeping(r, d)
	}
	if any, dry := odds(false), odds(true); math.Abs(dry-any-math.Log(50)) > 0.2 {
		t.Errorf("%.2f nats on any road, %.2f on a dry one", any, dry)
	}
}

// A pull that carried as much without creep shows a hard road, one that carried less shows nothing.
func TestPullsOnAHardRoad(t *testing.T) {
	for _, c := range []struct {
		a    float64 // km/h/s of the pull beside
		want int
	}{{5, 1}, {2, 0}} {
		r := at(60, 0.1).drive(leg{s: 4, gear: 3, a: c.a, load: 1}, leg{s: 2, rpm: 1500}, leg{s: 4, gear: 3, a: 5, load: 1,
			slip: constant(0.05)}).found(noForce())
		d := departure(r, 6.5, 9.5)
		if got := r.onHardRoad(d); got != c.want {
			t.Errorf("%.0f km/h/s: %d pulls on a hard road, %d pulls in all", c.a, got, len(r.Pulls))
		}
	}
}
