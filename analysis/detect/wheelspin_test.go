package detect

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// The probability that tyres let go, against many roads drawn at random: one in ten is slippery and holds anything
// from 0.05 to 0.4 of weight, the others hold about 0.45 with a standard deviation of 0.35 of the logarithm. A
// road is kept if it bore the force that was held, read to 0.1 and on a slope of 0.02; it lets go where its
// patches (0.25) and the slope make it creep, from 0.65 of what it holds.
func TestGripAgainstRandomRoads(t *testing.T) {
	for _, c := range []struct{ at, held float64 }{{0.06, 0.03}, {0.1, 0.1}, {0.15, 0.1}, {0.2, 0.3}, {0.3, 0.1}, {0.3,
		0.4}, {0.05, 0.3}, {0.45, 0.2}} {
		rng := rand.New(rand.NewPCG(1, 2))
		kept, gone := 0.0, 0.0
		for range 300_000 {
			var holds float64
			if rng.Float64() < 0.1 {
				holds = 0.05 + 0.35*rng.Float64()
			} else {
				holds = 0.45 * math.Exp(0.35*rng.NormFloat64())
			}
			if holds*math.Exp(math.Hypot(0.1, 0.02/c.held)*rng.NormFloat64()) < c.held {
				continue
			}
			kept++
			if holds*math.Exp(math.Hypot(0.25, 0.02/c.at)*rng.NormFloat64()) < c.at/0.65 {
				gone++
			}
		}
		got := gripBelow(c.at, c.held)
		near(t, fmt.Sprintf("let go at %.2f, held %.2f", c.at, c.held), got, gone/kept, 0.05*gone/kept+0.002)
	}
}

// slid is a departure of a record that began at a force (of weight) in a place of the ladder.
func slid(r *Record, place int, force float64) *Departure {
	d := departure(r, 4, 6)
	d.run.Index, d.run.Gear = place, place+1
	d.seen.locked = true
	for i, x := range r.Track.T {
		if x > 3 && x < 5 {
			r.Phi[i] = force
		}
	}
	return d
}

// drives are records, each with one departure: place in the ladder and force over weight; pulls that passed hold a
// force at no departure.
func drives(slides, passes [][2]float64) (out []*Record) {
	for _, s := range slides {
		r := at(60, 0.05).drive(leg{s: 10, gear: 3, load: 1}).record()
		r.Pulls = []Pull{{Run: &r.Runs[0], Hi: r.Track.Len(), Departures: []Departure{*slid(r, int(s[0]), s[1])}}}
		out = append(out, r)
	}
	for _, s := range passes {
		r := at(60, 0.05).drive(leg{s: 3, gear: 3, load: 1}).record()
		r.Runs[0].Index = int(s[0])
		for i := range r.Phi {
			r.Phi[i] = s[1]
		}
		r.Pulls = []Pull{{Run: &r.Runs[0], Hi: r.Track.Len()}}
		out = append(out, r)
	}
	return out
}

// Departures at one torque are a clutch's, at one force wheels'. In second and fourth 0.30 and 0.146 (times 34/70)
// are one torque: the force then lies ln(70/34)/2 = 0.361 off its middle of (0.30, 0.146, 0.30): with a standard
// deviation of 0.2, (0.722/0.2)^2 = 13, cut at 9, half of it: 4.5 nats for the clutch.
func TestPatternOverGears(t *testing.T) {
	clutch := 0.30 * 34 / 70
	for _, c := range []struct {
		what           string
		slides, passes [][2]float64
		want, by       float64
	}{
		{"one torque", [][2]float64{{1, 0.30}, {3, clutch}, {1, 0.30}}, nil, 4.5, 0.1},
		{"one force", [][2]float64{{1, 0.30}, {3, 0.30}, {1, 0.30}}, nil, -4.5, 0.1},
		{"nearly one torque", [][2]float64{{1, 0.30}, {1, 0.36}, {1, 0.30}}, nil, 0, 0.05}, // one gear tells nothing
		{"one torque, many times", [][2]float64{{1, 0.3}, {3, clutch}, {1, 0.3}, {3, clutch}, {1, 0.3}}, nil, 6, 0.01},
		{"no departure", nil, nil, 0, 1e-9},
		// second passed with a greater force than the two departures in fourth, and less torque (0.25/70 of
		// 0.15/34): wheels would have spun. ln(4 over 2) = 1.79
		{"second passed twice", [][2]float64{{3, 0.15}, {3, 0.15}}, [][2]float64{{1, 0.25}, {1, 0.25}}, math.Log(6), 0.05},
		// fourth passed with a greater torque than the departures in second, and less force: the clutch would have
		// slipped
		{"fourth passed twice", [][2]float64{{1, 0.25}, {1, 0.25}}, [][2]float64{{3, 0.18}, {3, 0.18}}, -math.Log(6), 0.05},
		// by 18 % less force: ln(0.25/0.21) = 0.17
		{"fourth passed twice with a little less force", [][2]float64{{1, 0.25}, {1, 0.25}}, [][2]float64{{3, 0.21}, {3,
			0.21}}, -math.Log(6), 0.05},
		{"and with as much", [][2]float64{{1, 0.25}, {1, 0.25}}, [][2]float64{{3, 0.24}, {3, 0.24}}, 0, 0.05},
	} {
		near(t, c.what, gearPattern(drives(c.slides, c.passes)), c.want, c.by)
	}
}

// What was held, was held for a second; a moment is no proof.
func TestForceThatWasHeld(t *testing.T) {
	for _, c := range []struct{ s, want float64 }{{1.2, 0.3}, {0.5, 0.1}} {
		r := at(60, 0.05).drive(leg{s: 8, gear: 3, load: 1}).record()
		for i, x := range r.Track.T {
			r.Phi[i] = 0.1
			if x >= 3 && x < 3+c.s {
				r.Phi[i] = 0.3
			}
		}
		near(t, "held", r.grip(), c.want, 1e-9)
		near(t, "carried", r.capacity(), c.want/46, 1e-9)
	}
}

// What pushed the car went through its tyres, be the clutch locked or not; what a sliding clutch gives it did not hold.
func TestForceHeldWhileTheClutchSlides(t *testing.T) {
	r := at(60, 0.05).drive(leg{s: 4, gear: 3, load: 1}, leg{s: 2, gear: 3, load: 1, slip: constant(0.3)}).record()
	for i, x := range r.Track.T {
		r.Phi[i] = 0.1
		if x >= 4 {
			r.Phi[i] = 0.3
		}
	}
	near(t, "held", r.grip(), 0.3, 1e-9)
	near(t, "carried", r.capacity(), 0.1/46, 1e-9)
}

// A clutch lets go at the force about the start, or at that of its midst where the foot went down at the start.
func TestForceAtWhichAClutchLetsGo(t *testing.T) {
	r := at(60, 0.05).drive(leg{s: 10, gear: 3, load: 1}).record()
	for i := range r.Phi {
		r.Phi[i] = 0.1
	}
	d := departure(r, 4, 7)
	d.seen.within = 0.3
	near(t, "as before", d.onsetForce(r), 0.1, 1e-9)
	d.seen.footDown = true
	near(t, "the foot went down", d.onsetForce(r), 0.3, 1e-9)
}

// A clutch that carried three times the torque is not weak; one that carried a little more may be.
func TestClutchThatCarriedMore(t *testing.T) {
	for _, c := range []struct {
		now  float64 // of what was carried
		want int
	}{{0.2, -1}, {0.5, 1}, {0.9, 1}} {
		r := at(60, 0.05).drive(leg{s: 10, gear: 3, load: 1}).record()
		for i := range r.Phi {
			r.Phi[i] = 0.3
		}
		r.capacity()
		d := slid(r, 2, 0.3*c.now)
		if n := carriedMore(r, d); (n >= Proven) != (c.want > 0) || (n < 0) != (c.want < 0) {
			t.Errorf("at %.1f of what it carried: %.1f nats", c.now, n)
		}
	}
	// by hand, at 0.4: ln(0.4/0.6)/0.2 = -2.03 standard deviations: 0.0213, so 6 - 3.85 = 2.15 nats
	r := at(60, 0.05).drive(leg{s: 10, gear: 3, load: 1}).record()
	for i := range r.Phi {
		r.Phi[i] = 0.3
	}
	r.capacity()
	near(t, "nats", carriedMore(r, slid(r, 2, 0.12)), 2.15, 0.05)
}
