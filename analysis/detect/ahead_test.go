package detect

import (
	"math"
	"slices"
	"testing"

	"flywitness/analysis/gearstate"
)

// Two seconds in which the engine runs at 75 rpm per km/h, ahead of third and fourth (46 and 34), and pushes the
// car with 0.2 of its weight, are a trial: it went through tyres and clutch, locked neither. In less than 0.8 s no
// force is read.
func TestEngineThatRunsAhead(t *testing.T) {
	second, third := leg{s: 3, gear: 2, load: 1}, leg{s: 3, gear: 3, load: 1}
	for _, c := range []struct {
		what  string
		v     float64
		leg   leg
		force float64
		want  int
	}{
		{"two seconds", 60, leg{s: 2, rpm: 4500, load: 1}, 0.2, 1},
		{"in second that slips", 60, leg{s: 2, gear: 2, load: 1, slip: constant(0.1)}, 0.2, 1},
		{"half a second", 60, leg{s: 0.5, rpm: 4500, load: 1}, 0.2, 0},
		{"locked", 60, leg{s: 2, gear: 2, load: 1}, 0.2, 0},
		{"not pushed", 60, leg{s: 2, rpm: 4500, load: 1}, 0.02, 0},
		{"hardly above fourth", 60, leg{s: 2, rpm: 2070, load: 1}, 0.2, 0},
		{"at a walk", 11, leg{s: 2, rpm: 4500, load: 1}, 0.2, 0},
	} {
		r := at(c.v, 0.05).drive(second, c.leg, third).record()
		for i, x := range r.Track.T {
			r.push(i, 0.1)
			if x >= 3 && x < 3+c.leg.s {
				r.push(i, c.force)
			}
		}
		found := r.findAhead()
		if len(found) != c.want {
			t.Errorf("%s: %d stretches, want %d", c.what, len(found), c.want)
		}
		if c.want > 0 && len(found) > 0 {
			near(t, c.what+", force", found[0].force, 0.2, 1e-9)
		}
	}
	// a pause in the values ends it
	r := at(60, 0.05).drive(second, leg{s: 0.5, rpm: 4500, load: 1}).pause(1).drive(leg{s: 0.5, rpm: 4500, load: 1}).record()
	for i := range r.Track.T {
		r.push(i, 0.2)
	}
	if n := len(r.findAhead()); n != 0 {
		t.Errorf("%d stretches of half a second each beside a pause", n)
	}
}

// On a link of a value every 0.4 s two seconds of it are seen, on one of 0.8 s a change of gear looks as long. Of
// two values a moment apart none lies in the middle, and both tell the force.
func TestEngineThatRunsAheadOnASlowLink(t *testing.T) {
	for _, c := range []struct {
		period, want float64
	}{{0.4, 0.3}, {0.8, 0}} {
		r := at(60, c.period).drive(leg{s: 4, gear: 2, load: 1}, leg{s: 2.4, rpm: 4500, load: 1}, leg{s: 4, gear: 3,
			load: 1}).record()
		for i := range r.Track.T {
			r.push(i, 0.2)
		}
		at := slices.IndexFunc(r.findTrials(), func(x trial) bool { return x.ahead != nil })
		if x := r.findTrials()[at]; x.slides != c.want || math.Abs(math.Exp(x.force)-0.2) > 1e-9 {
			t.Errorf("a value every %.1f s: slid with %.2f", c.period, x.slides)
		}
	}
	h := at(60, 0.6).drive(leg{s: 3, gear: 2, load: 1})
	h.now += 0.2
	r := h.drive(leg{s: 0.6, rpm: 4500, load: 1}).pause(0.3).drive(leg{s: 0.6, rpm: 4500, load: 1}, leg{s: 3, gear: 3, load: 1}).record()
	for i := range r.Track.T {
		r.push(i, 0.2)
	}
	if found := r.findAhead(); len(found) != 1 || !(math.Abs(found[0].force-0.2) < 1e-9) {
		t.Errorf("two values: %+v", found)
	}
}

// The gear that was in lies on the way from the one before to the one after: from second to third neither first nor
// fourth, but for one in ten. A car that stood comes from first; what is locked half a minute later tells nothing.
func TestGearOfAnEngineThatRunsAhead(t *testing.T) {
	ahead := leg{s: 2, rpm: 9000, load: 1}
	free := func(s float64) leg { return leg{s: s, rpm: 1000, load: 0} }
	in := func(gear int) leg { return leg{s: 3, gear: gear, load: 1} }
	for _, c := range []struct {
		what string
		h    *handmade
		want [4]float64
	}{
		{"from second to third", at(60, 0.05).drive(in(2), free(1), ahead, free(1), in(3)), [4]float64{0.1, 1, 1, 0.1}},
		{"from fourth to third", at(60, 0.05).drive(in(4), ahead, in(3)), [4]float64{0.1, 0.1, 1, 1}},
		{"from fourth, third much later", at(60, 0.05).drive(in(4), ahead, free(30), in(3)), [4]float64{0.1, 0.1, 0.1, 1}},
		{"from a walk to second", at(6, 0.05).drive(in(4), leg{s: 1, a: 54, rpm: 9000}, ahead, in(2)), [4]float64{1, 1, 0.1, 0.1}},
		{"at the beginning and the end", at(60, 0.05).drive(ahead), [4]float64{1, 1, 1, 1}},
	} {
		r := c.h.record()
		for i := range r.Track.T {
			r.push(i, 0)
			if r.Track.RPM[i] == 9000 {
				r.push(i, 0.2)
			}
		}
		found := r.findAhead()
		if len(found) != 1 || len(found[0].gears) != 4 {
			t.Fatalf("%s: %+v", c.what, found)
		}
		for i, g := range found[0].gears {
			near(t, c.what+", share", g.share, c.want[i], 1e-9)
			near(t, c.what+", gearing", math.Exp(g.k), ladder[i], 1e-9)
		}
	}
}

// By hand, with a standard deviation of 0.2: what slides at 0.13 of weight where that is what the tyres hold has a
// density of 0.3989/0.2 = 1.995, and a foot 0.43 Phi(ln(1/0.8)/0.2 = 1.12) = 0.373: 0.3 1.995 + 0.7 0.373 = 0.860.
// On tyres that hold half as much it is exp(-0.5 3.466^2) of the first and Phi(-2.35) = 0.0094 of the second:
// 0.0043. A clutch that slides at the torque of one gear of three, one of which is rare, has 1.995/2.1 for it, and
// 0.04/2.1 for the next one, 2.8 standard deviations off: 0.3 0.969 + 0.7 0.43 = 0.592.
func TestLikelihoodOfAnEngineThatRanAhead(t *testing.T) {
	x := trial{force: math.Log(0.13), slides: givesAhead, ahead: []possible{{math.Log(70), 1}, {math.Log(40), 1}, {math.Log(20), 0.1}}}
	near(t, "on tyres that hold as much", x.aheadOn(math.Log(0.13), 0.2), 0.860, 0.001)
	near(t, "on tyres that hold half of it", x.aheadOn(math.Log(0.065), 0.2), 0.0043, 0.0003)
	near(t, "behind a clutch", x.aheadBehind(math.Log(0.13/70), 0.2), 0.592, 0.002)
	near(t, "behind a strong clutch", x.aheadBehind(math.Log(0.13), 0.2), 0.301, 0.001)
}

// A clutch gave way in fourth at 0.13 of the weight, as wheels do on a slippery road. Wheels that push with 0.13
// out of one change of gear after the other speak for the road; forces of a foot, that lets through anything, say
// little.
func TestWheelsThatSpinOutOfChangesOfGear(t *testing.T) {
	gave := trial{force: math.Log(0.13), torque: math.Log(0.13 / 34), gave: true, read: 0.15}
	odds := func(forces ...float64) float64 {
		trials := []trial{gave}
		for i, f := range forces {
			trials = append(trials, trial{t: 20 * float64(i+1), force: math.Log(f), torque: math.Log(0.0001), read: 0.02 / f,
				slides: givesAhead, ahead: []possible{{math.Log(70), 1}, {math.Log(46), 1}, {math.Log(34), 0.1}}})
		}
		return clutchOrWheels(trials)
	}
	alone := odds()
	if n := odds(0.13, 0.12, 0.14, 0.13, 0.125, 0.135, 0.13, 0.12, 0.14, 0.13); n > alone-2.5 {
		t.Errorf("ten times the same force: %.1f nats, %.1f without", n, alone)
	}
	if n := odds(0.06, 0.35, 0.1, 0.22, 0.3, 0.07, 0.18, 0.28, 0.08, 0.25); n < alone {
		t.Errorf("ten forces of a foot: %.1f nats, %.1f without", n, alone)
	}
	// and a clutch that slides at its torque in third and second speaks for itself
	if n := odds(0.26, 0.18, 0.26, 0.18, 0.26, 0.18, 0.26, 0.18, 0.26, 0.18); n < alone+2 {
		t.Errorf("ten times the same torque: %.1f nats, %.1f without", n, alone)
	}
}

// What an engine that ran ahead pushed with was held by nothing for sure; a departure is a trial of its own.
func TestTrialsOfAnEngineThatRanAhead(t *testing.T) {
	r := at(60, 0.05).drive(leg{s: 4, gear: 3, load: 1}, leg{s: 2, gear: 3, load: 1, slip: constant(0.3)}).record()
	for i, x := range r.Track.T {
		r.push(i, 0.1)
		if x >= 4 {
			r.push(i, 0.3)
		}
	}
	trials := r.findTrials()
	if len(trials) != 2 || trials[0].ahead != nil || trials[1].ahead == nil {
		t.Fatalf("%+v", trials)
	}
	near(t, "held", math.Exp(trials[0].force), 0.1, 1e-9)
	near(t, "torque held", math.Exp(trials[0].torque), 0.1/46, 1e-9)
	near(t, "carried", r.capacity(), 0.1/46, 1e-9)
	near(t, "pushed with", math.Exp(trials[1].force), 0.3, 1e-9)
	near(t, "read to", trials[1].read, 0.02/0.3, 1e-9)

	d := departure(r, 4, 6)
	d.seen.locked, d.lo, d.hi, d.duration = true, r.at(4), r.Track.Len(), 2
	r.Pulls = []Pull{{Run: &r.Runs[0], Hi: r.Track.Len(), Departures: []Departure{*d}}}
	if trials := r.findTrials(); len(trials) != 1 || !trials[0].gave || trials[0].ahead != nil {
		t.Errorf("with a departure: %+v", trials)
	}
}

// The force of all brakes, 0.5 of the weight, shows that the driven axle holds 0.8 of a half of it. On a slope
// that nobody knows it is read to 0.02/0.5, however small that share is.
func TestWhatIsReadOfTheBrakes(t *testing.T) {
	r := at(100, 0.05).drive(leg{s: 4, gear: 3, load: 0, clutch: gearstate.Locked}).record()
	for i := range r.Track.T {
		r.push(i, -0.5)
	}
	trials := r.findTrials()
	if len(trials) != 1 {
		t.Fatalf("%d trials", len(trials))
	}
	near(t, "held", math.Exp(trials[0].force), 0.2, 1e-9)
	near(t, "read to", trials[0].read, 0.04, 1e-9)
}
