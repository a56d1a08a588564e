package detect

import "testing"

// Slip that grows by 2 % a second passes 1 % after half a second, and falls back through it half a second before
// its end.
func TestEventBeginsAndEndsAtOnePerCent(t *testing.T) {
	r := at(80, 0.05).drive(leg{s: 6, a: 3, gear: 3, load: 1},
		leg{s: 5, a: 3, gear: 3, load: 1, slip: hump(0.05, 2.5, 5)},
		leg{s: 6, a: 3, gear: 3, load: 1}).found(noForce())
	d := r.only(t)
	near(t, "start", d.Start, 6.5, 0.1)
	near(t, "end", d.End, 10.5, 0.1)
	near(t, "peak", d.PeakSlip, 5, 0.2)
	// the mean of 1 % to 5 % and back is 3 %
	near(t, "mean", d.MeanSlip, 3, 0.1)
}

// A step of road speed may hide slip for a moment; for half a second it does not.
func TestEventsApart(t *testing.T) {
	for _, c := range []struct {
		between float64
		want    int
	}{{0.15, 1}, {0.6, 2}} {
		slides := leg{s: 2, a: 3, gear: 3, load: 1, slip: constant(0.05)}
		r := at(80, 0.05).drive(leg{s: 6, a: 3, gear: 3, load: 1}, slides, leg{s: c.between, a: 3, gear: 3, load: 1},
			slides, leg{s: 6, a: 3, gear: 3, load: 1}).found(noForce())
		n := 0
		r.each(func(*Departure) { n++ })
		if n != c.want {
			t.Errorf("%.2f s without slip between: %d events", c.between, n)
		}
	}
}

// After a change of gear the engine comes down to its gear from far above: that is not the most that the clutch slipped
// by, once it goes on to slip by 4 %. Where it was locked before, all of the departure counts.
func TestMostSlipIsNotThatOfAChangeOfGear(t *testing.T) {
	for _, c := range []struct {
		open bool
		want float64
	}{{true, 4}, {false, 20}} {
		r := at(60, 0.05).drive(leg{s: 0.4, gear: 3, load: 1, slip: constant(0.2)},
			leg{s: 3, gear: 3, load: 1, slip: constant(0.04)}).record()
		d := departure(r, 0, 3)
		d.run.FromOpen = c.open
		r.peak(d, d.lo)
		r.peakAfterChange(d)
		near(t, "most slip", d.PeakSlip, c.want, 0.5)
	}
}
