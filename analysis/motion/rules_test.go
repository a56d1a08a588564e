package motion

import (
	"math"
	"testing"
)

// How well engine speed fits, by hand: rests of 0.05 km/h, 1.5 times that over the 0.15 that is expected: 0.5.
// Nothing is known better than 0.3 nor counts as worse than 1.
func TestFitOfEngineSpeed(t *testing.T) {
	for _, c := range []struct{ rest, want float64 }{{0.05, 0.5}, {0.005, 0.3}, {0.3, 1}} {
		r := New(0, track(60, leg{s: 10, gear: 3, load: 0.5, clutch: locked}))
		for i := range r.Track.Len() {
			r.State(i).V = 60 + c.rest*float64(1-2*(i%2))
		}
		near(t, "fit", r.FitOf(), c.want, 0.001)
	}
	// a value in fifty whose stamp is late, by 1 km/h, tells nothing of how well the others fit
	r := New(0, track(60, leg{s: 10, gear: 3, load: 0.5, clutch: locked}))
	for i := range r.Track.Len() {
		r.State(i).V = 60 + 0.05*float64(1-2*(i%2))
		if i%50 == 25 {
			r.State(i).V = 61
		}
	}
	near(t, "fit", r.FitOf(), 0.5, 0.01)
}

// A slip changes the motion about itself: an hour-long drive is not smoothed again for each.
func TestWithoutIsLocal(t *testing.T) {
	r := New(0, track(60, leg{s: 100, gear: 3, load: 0.5, clutch: locked}))
	for i := range r.Track.Len() {
		r.State(i).V = -1
	}
	r.Without([]Span{{50, 52}})
	for _, c := range []struct {
		t    float64
		anew bool
	}{{30, false}, {45, true}, {51, true}, {57, true}, {72, false}} {
		if got := r.State(int(c.t*20)).V > 0; got != c.anew {
			t.Errorf("%.0f s: smoothed again %v", c.t, got)
		}
	}
}

// The error of a torque, by hand, for the car above in fourth at 20 m/s and 2 m/s^2: mass 18 kg * 2 = 36 N;
// road load 12 % of rolling and of air: 0.12 * hypot(120, 160) = 24 N; slope 0.02 * 1200 * 9.80665 = 235.4 N;
// together sqrt(36^2 + 24^2 + 235.4^2) = 239.3 N, times 0.3/3.8 m = 18.89 N m; of 217.9 N m the gearbox 1.5 %
// and the tyre twice
// 0.6 %, hypot 1.92 %: 4.19. hypot(18.89, 4.19) = 19.35. With the slope told from the log, the engine's shape
// adds 3 %: 7.76 N m.
func TestErrorOfATorqueByHand(t *testing.T) {
	f := NewForce(handCar(), false)
	r := &Record{parts: []part{{state: []State{{V: 72, A: 7.2}}}}}
	near(t, "N m", f.CommonError(4, 217.9, 7.2, 72, r.SlopeError(0)), 19.35, 0.01)
	f.Grade = &GradeEstimate{knots: []float64{1000, 5000}}
	near(t, "N m", f.CommonError(4, 217.9, 7.2, 72, 0.02), math.Hypot(18.89, 7.76), 0.01)
}

// Torque is known with mass, ratios and tyre only, and says what is missing.
func TestWhatTorqueNeeds(t *testing.T) {
	if f := NewForce(handCar(), false); !f.Known() {
		t.Error(f.Reason)
	}
	if f := NewForce(nil, false); f.Known() || f.Reason == "" {
		t.Errorf("no vehicle file: known %v, %q", f.Known(), f.Reason)
	}
}
