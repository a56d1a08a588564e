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

// After a change of gear the engine comes down to its gear from far above, at once or by a slow foot: that is not the
// most that the clutch slipped by, once it goes on to slip by 4 %. Where it was locked before, all of the departure
// counts.
func TestMostSlipIsNotThatOfAChangeOfGear(t *testing.T) {
	slowly := func(u float64) float64 { return 0.4 - 0.36*u }
	for _, c := range []struct {
		comes leg
		open  bool
		want  float64
	}{
		{leg{s: 0.4, gear: 3, load: 1, slip: constant(0.2)}, true, 4},
		{leg{s: 0.4, gear: 3, load: 1, slip: constant(0.2)}, false, 20},
		{leg{s: 1, gear: 3, load: 1, slip: slowly}, true, 4},
	} {
		r := at(60, 0.05).drive(c.comes, leg{s: 3, gear: 3, load: 1, slip: constant(0.04)}).record()
		d := departure(r, 0, c.comes.s+2.6)
		d.run.FromOpen = c.open
		r.peak(d, d.lo, d.hi)
		r.peakBetweenChanges(d)
		near(t, "most slip", d.PeakSlip, c.want, 0.5)
	}
}

// A slip of 5 % ends with a foot on the clutch pedal that leaves gas: the engine runs up by itself, and nothing pushes
// the car. That is not the most that the clutch slipped by; a push that is gone for a moment is a bump.
func TestMostSlipIsNotThatOfAnOpenClutch(t *testing.T) {
	slides, opens := leg{s: 3, a: 3, gear: 3, load: 1, slip: constant(0.05)}, func(u float64) float64 { return 0.05 + 0.4*u }
	open := func(s float64) leg { return leg{s: s, a: -2, gear: 3, load: 0.5, slip: opens} }
	for _, c := range []struct {
		legs   []leg
		slides float64 // s, when it does
		want   float64
	}{
		{[]leg{slides, open(1)}, 2, 5},
		{[]leg{slides, open(0.3), slides}, 2, 13},
		{[]leg{open(1), slides}, 3, 41}, // nothing was pushed before
	} {
		r := at(80, 0.05).drive(c.legs...).record()
		for i := range r.Track.Len() {
			r.State(i).A = r.Track.Accel[i] // without the memory of the smoother
		}
		d := departure(r, 0, r.Track.T[r.Track.Len()-1])
		d.seen.within = r.Phi(r.at(c.slides))
		r.peak(d, d.lo, d.hi)
		r.peakBetweenChanges(d)
		near(t, "most slip", d.PeakSlip, c.want, 1)
	}
}
