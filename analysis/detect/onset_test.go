package detect

import (
	"math"
	"testing"

	"flywitness/analysis/motion"
)

// Two readings of one torque count by their certainty, and what they have in common does not average out.
func TestReadingsOfOneTorque(t *testing.T) {
	a, b := &reading{value: 200, own: 10, common: 8, shared: 6}, &reading{value: 220, own: 5, common: 8, shared: 6}
	c := a.and(b)
	if math.Abs(c.value-216) > 1e-9 || math.Abs(c.own-math.Sqrt(20)) > 1e-9 || math.Abs(c.common-8) > 1e-9 ||
		math.Abs(c.shared-6) > 1e-9 {
		t.Errorf("%+v, by hand 216, 4.472, 8", *c)
	}
	var none *reading
	if none.and(b) != b || a.and(none) != a || none.and(none) != nil || none.atEnd() != nil || none.times(2, 0) != nil {
		t.Error("a missing reading counts for something")
	}
	if e := (&reading{value: 100, rise: 20, own: 3, common: 1}).atEnd(); e.value != 120 ||
		math.Abs(e.own-math.Hypot(12, 10)) > 1e-9 {
		t.Errorf("at the end %+v", *e)
	}
}

// slid3 is a pull in third that slips from 6 s to 10 s, with force from a hand-made car: 1030 kg and an arm of 0.1
// m, so 28.6 N m for each km/h/s.
func slid3(slip func(u float64) float64) (*Record, *Departure, *motion.Force) {
	r := at(80, 0.05).drive(leg{s: 6, a: 3, gear: 3, load: 1}, leg{s: 4, a: 3, gear: 3, load: 1, slip: slip}, leg{s: 3,
		a: 3, gear: 3, load: 1}).record()
	d := departure(r, 6, 10)
	d.seen.locked = true
	d.begin = 6
	return r, d, motion.NewForce(handCar(), false)
}

// Slip began before it passed 1 %: a rise of 4 % a second takes 0.25 s from nothing; one of 0.5 % a second is read
// as half a second, which slip takes at most.
func TestBeginOfASlip(t *testing.T) {
	for _, c := range []struct{ rate, want float64 }{{0.04, 6}, {0.005, 7.5}} {
		r, d, _ := slid3(func(u float64) float64 { return c.rate * u })
		d.lo = r.at(6 + 0.01/c.rate)
		d.Start = 6 + 0.01/c.rate
		near(t, "begin", r.begin(d), c.want, 0.06)
	}
}

// Around a departure engine speed is trusted again a moment later: it tells road speed best.
func TestEngineSpeedIsTrustedSoonAgain(t *testing.T) {
	r := at(80, 0.05).drive(leg{s: 6, a: 3, gear: 3, load: 1}, leg{s: 4, a: 3, gear: 3, load: 1, slip: hump(0.06, 0.5,
		4)}, leg{s: 6, a: 3, gear: 3, load: 1}).found(noForce())
	d := r.only(t)
	if len(r.Slips) != 1 || d.begin-r.Slips[0].Start > 0.2 || r.Slips[0].End-d.End > 0.2 || r.Slips[0].Start > d.begin ||
		r.Slips[0].End < d.End {
		t.Errorf("slip from %.2f to %.2f s, engine speed not trusted %v", d.begin, d.End, r.Slips)
	}
}

// A locked clutch that carries 200 N m and slides at 196 (0.98 of it) let go at 200: both readings agree.
func TestOnsetOfASlidingClutch(t *testing.T) {
	r, d, f := slid3(constant(0.05))
	const per = 28.61 // N m for each km/h/s
	for i, x := range r.Track.T {
		r.State(i).A, r.State(i).VarA, r.State(i).VarV = 200/per, 0.01, 0.01
		if x >= 6 {
			r.State(i).A = 196 / per
		}
	}
	d.onset(r, f)
	near(t, "onset", d.OnsetTorque.Value, 200, 1.5)
	// that of a clutch that had not locked is what it slides at
	d.seen.locked = false
	d.onset(r, f)
	near(t, "sliding", d.OnsetTorque.Value, 196, 1.5)
}

// The moment before counts, not the seconds before: torque that rose to 200 N m until a second ago, and the
// clutch's pedal that comes up for a second at 80 N m and less.
func TestOnsetIsReadNearTheSlip(t *testing.T) {
	r, d, f := slid3(constant(0.05))
	const per = 28.61
	for i, x := range r.Track.T {
		torque := 192.0
		switch {
		case x < 5.2:
			torque = 100
		case x < 6:
			torque = 200
		case x < 7:
			torque = 80
		case x > 8.7:
			torque = 320 // after the first seconds
		}
		r.State(i).A, r.State(i).VarA, r.State(i).VarV = torque/per, 1e-4, 1e-4
	}
	d.onset(r, f)
	near(t, "onset", d.OnsetTorque.Value, 200, 3)
	near(t, "sliding", r.slides(f, d).value, 192, 3)
	for i, x := range r.Track.T { // the reading before is the surer one, where it is not bent by what lies further back
		if x >= 6 {
			r.State(i).A = 170 / per
		}
	}
	d.onset(r, f)
	near(t, "onset of two readings, 200 and 177", d.OnsetTorque.Value, 199, 2)
}

// What a sliding clutch carries says what it held to 4 %: 196 N m read to 1 N m are 200, give or take
// hypot(1/0.98, 8) = 8.1.
func TestSlidingIsNotSticking(t *testing.T) {
	x := (&reading{value: 196, own: 1}).times(1/sliding, slidingSD)
	near(t, "held", x.value, 200, 0.1)
	near(t, "own", x.own, 8.1, 0.1)
}

// On a link of a value every 0.4 s the last second before a slip tells its torque, which rose to 200 N m until then, more
// surely than the 170 N m of the clutch that slides.
func TestOnsetOnASlowLink(t *testing.T) {
	r := at(80, 0.4).drive(leg{s: 6, a: 3, gear: 3, load: 1}, leg{s: 4, a: 3, gear: 3, load: 1, slip: constant(0.05)},
		leg{s: 3, a: 3, gear: 3, load: 1}).record()
	d := departure(r, 6, 10)
	d.seen.locked, d.begin = true, 6
	for i, x := range r.Track.T {
		torque := 170.0
		if x < 4.7 {
			torque = 100
		} else if x < 6 {
			torque = 200
		}
		r.State(i).A, r.State(i).VarA, r.State(i).VarV = torque/28.61, 1e-4, 1e-4
	}
	d.onset(r, motion.NewForce(handCar(), false))
	near(t, "onset", d.OnsetTorque.Value, 199, 3)
}

// An engine that runs ahead under load pushes the car: what reads as no torque or less is misread.
func TestTorqueOfNothingIsNone(t *testing.T) {
	for _, c := range []struct {
		value float64
		none  bool
	}{{200, false}, {0, true}, {-30, true}} {
		var d Departure
		d.begins(&reading{value: c.value, own: 10, common: 8, shared: 6})
		if (d.OnsetTorque == nil) != c.none || !c.none && (d.OnsetTorque.Value != c.value || d.OnsetShared != 6) {
			t.Errorf("%g N m: %v, of which %g N m of its error are shared", c.value, d.OnsetTorque, d.OnsetShared)
		}
	}
	var d Departure
	if d.begins(nil); d.OnsetTorque != nil {
		t.Error("a torque without a reading")
	}
}
