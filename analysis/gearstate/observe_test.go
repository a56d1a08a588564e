package gearstate

import (
	"math"
	"testing"
)

// observed is what an aligner tells at a moment of signals that have a value every so many seconds up to 10 s.
func observed(t *testing.T, at, period float64, rpm, speed func(t float64) float64) (o Observation) {
	t.Helper()
	a := newAligner(&Model{Period: period}, offlineAhead)
	for i := range int(10/period) + 1 {
		t := period * float64(i)
		a.rpm.push(t, rpm(t))
		a.speed.push(t, speed(t))
	}
	a.ended = true
	for a.poll(&o) {
		if math.Abs(o.T-at) < 1e-6 {
			return o
		}
	}
	t.Fatalf("nothing at %g s", at)
	return o
}

// An engine that begins to run up by 2000 rpm/s is seen to do so a fifth of a second later, whatever it did before.
func TestRateOfAnEngineThatRunsUp(t *testing.T) {
	up := func(t float64) float64 { return 2000 + 2000*max(0, t-5) }
	if got := observed(t, 5.2, 0.1, up, ramp(60, 0)).NDot; math.Abs(got-2000) > 20 {
		t.Errorf("%.0f rpm/s", got)
	}
}

// A car that begins to gather 5 km/h/s is seen to do so a second later, on a link of a value every half second too.
func TestAccelerationOfACarThatIsOff(t *testing.T) {
	off := func(t float64) float64 { return 30 + 5*max(0, t-5) }
	for _, period := range []float64{0.05, 0.5} {
		if got := observed(t, 6, period, ramp(2000, 0), off).A; math.Abs(got-5) > 0.2 {
			t.Errorf("a value every %.2f s: %.2f km/h/s", period, got)
		}
	}
}

// loadAt is the load that an aligner tells of a moment, and how much driving that stands for.
func loadAt(a *aligner, at float64) (x, fresh float64) {
	var load, stands [1]float64
	a.loads([]float64{at}, load[:], stands[:])
	return load[0], stands[0]
}

// loads is an aligner with a full load at each of some times, on a link of a value every so many seconds.
func loads(period float64, at ...float64) *aligner {
	a := newAligner(&Model{Period: period, Load: LoadScale{Channel: "load", Full: 100}}, 0)
	for _, t := range at {
		a.load.push(t, 100)
	}
	return a
}

// The load of a moment is the last one that was told, be it by stamps that are off by a hundredth of a second; after three
// seconds, or four values, it is no longer known. One value stands for a quarter of a second of driving at most.
func TestLoadOfAMoment(t *testing.T) {
	for _, c := range []struct {
		what       string
		period, at float64 // s; the load is told at 1 s
		known      bool
	}{
		{"just before", 0.05, 0.99, true}, {"before", 0.05, 0.95, false}, {"a while after", 0.05, 3.5, true},
		{"long after", 0.05, 5, false}, {"three values after", 1, 4.5, true}, {"seven values after", 1, 8, false},
	} {
		if x, _ := loadAt(loads(c.period, 1), c.at); math.IsNaN(x) == c.known {
			t.Errorf("%s: %v", c.what, x)
		}
	}
	if _, fresh := loadAt(loads(1, 0, 1, 2), 2); math.Abs(fresh-0.5) > 1e-9 {
		t.Errorf("two values more, a second apart, stand for %.2f s", fresh)
	}
}

// On a link of a hundred values a second an engine speed that is silent for three tenths of a second is missing; one that
// is silent for one tenth is late.
func TestEngineSpeedThatIsSilent(t *testing.T) {
	for gap, want := range map[float64]bool{0.1: true, 0.3: false} {
		a := newAligner(&Model{Period: 0.01}, 0)
		a.rpm.push(1, 2000)
		a.rpm.push(1+gap, 2000)
		var rpm, rate [1]float64
		a.engine([]float64{1 + gap/2}, rpm[:], rate[:])
		if ok := !math.IsNaN(rpm[0]); ok != want {
			t.Errorf("silent for %.1f s: known %v", gap, ok)
		}
	}
}

// A scale without a span tells no load; a load beyond it is full, and little more.
func TestLoadBeyondItsScale(t *testing.T) {
	for _, s := range []LoadScale{{}, {Channel: "load", Closed: 20, Full: 20}, {Channel: "load", Closed: 20, Full: 10}, {Full: 100}} {
		if x := s.Fraction(50); s.Known() || !math.IsNaN(x) {
			t.Errorf("%+v tells %v", s, x)
		}
	}
	s := LoadScale{Channel: "load", Closed: 20, Full: 100}
	for raw, between := range map[float64][2]float64{-400: {-0.3, 0}, 20: {0, 0}, 60: {0.5, 0.5}, 100: {1, 1}, 400: {1, 1.3}} {
		if x := s.Fraction(raw); x < between[0] || x > between[1] {
			t.Errorf("%.0f: %.3f", raw, x)
		}
	}
}

// Three lost replies are jitter: the car goes on in its gear. After seven at ten a second it may have been in another one.
func TestStretchThatGoesOn(t *testing.T) {
	for lost, want := range map[int]bool{2: true, 7: false} {
		tr := inGear(20, func(t *Track, i int, at float64) {
			if at >= 10 {
				t.T[i] += 0.1 * float64(lost)
			}
		})
		if got := tr.goesOn(100, tr.Model.Gap()); got != want {
			t.Errorf("%d replies lost: goes on %v", lost, got)
		}
	}
}
