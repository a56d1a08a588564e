package inertia

import (
	"math"
	"testing"

	"flywitness/finding"
	"flywitness/vehicle"
)

// rollingScene is a log in which the car rolls at idle in neutral from a speed, slowing evenly by so many km/h each
// second.
func rollingScene(from, perSecond, seconds float64) *preparedLog {
	s := &preparedLog{idle: 850, ripple: 40, interval: 0.2, speed: &series{}}
	for t := 0.0; t <= seconds+1e-9; t += 0.2 {
		s.t, s.n = append(s.t, t), append(s.n, 850)
		s.speed.t, s.speed.v = append(s.speed.t, t), append(s.speed.v, from-perSecond*t)
	}
	return s
}

// atRPM is a scene whose engine turns with so many rpm.
func atRPM(rpm float64, s *preparedLog) *preparedLog {
	for i := range s.n {
		s.n[i] = rpm
	}
	return s
}

// Six seconds of rolling are worth having, two are not; from 30 km/h as well, not from a walking pace; 2 m/s^2 are a
// brake on any level road.
func TestWhatIsACoastDown(t *testing.T) {
	for name, c := range map[string]struct {
		preparedLog *preparedLog
		used        bool
		why         finding.Code
	}{
		"six seconds":               {rollingScene(60, 1.2, 6), true, ""},
		"two seconds":               {rollingScene(60, 3, 2), false, ""},
		"from 30 km/h":              {rollingScene(30, 1, 8), true, ""},
		"from 13 km/h":              {rollingScene(13, 0.8, 6), false, ""},
		"braked":                    {rollingScene(70, 7.2, 6), false, finding.Braked},
		"hardly any slower":         {rollingScene(70, 0.3, 6), false, finding.TooShort},
		"turning too fast for idle": {atRPM(1300, rollingScene(60, 1.2, 6)), false, ""},
	} {
		runs := c.preparedLog.coasts(nil)
		if used := len(runs) == 1 && runs[0].Used; used != c.used || c.why != "" && (len(runs) != 1 ||
			runs[0].Why != c.why) {
			t.Errorf("%s: %+v", name, runs)
		}
	}
}

// A car that rolls in neutral does not gain 2 km/h at once: what comes after such a step, as of a speed that was lost for a
// moment, is another coast-down.
func TestAStepUpEndsACoastDown(t *testing.T) {
	s := rollingScene(70, 1.2, 12)
	for i, at := range s.speed.t {
		if at > 6 {
			s.speed.v[i] += 2
		}
	}
	if runs := s.coasts(nil); len(runs) != 2 {
		t.Errorf("%d coast-downs", len(runs))
	}
}

// Engine speed that is what a gear asks for is no neutral coast: at 28 km/h a fifth gear of 30 rpm per km/h turns the
// engine with 840 rpm.
func TestInGearIsNoCoast(t *testing.T) {
	ladder := []rung{{gear: 4, k: 40}, {gear: 5, k: 30}}
	if matches(ladder, 2000, 60) || !matches(ladder, 1800, 60) || !matches(ladder, 2430, 60) || matches(nil, 1800, 60) {
		t.Error("30 and 40 rpm per km/h at 60 km/h are 1800 and 2400 rpm, and 2000 is neither")
	}
	s := rollingScene(29, 0.2, 9)
	if runs := s.coasts([]rung{{gear: 5, k: 30}}); len(runs) > 0 {
		t.Errorf("idling along in fifth gear is a coast-down: %+v", runs)
	}
}

// The guess of a car of 1200 kg that nobody rolled. Rolling resistance coefficients of car tyres lie between 0.009
// and 0.015, drag areas between 0.5 and 0.85 m^2 (common practice, no source): 106 to 177 N and, at 100 km/h (27.78
// m/s, air of 1.2 kg/m^3), 231 to 393 N. The guess lies within, its two standard deviations hold them, and are no
// wider than half as much again.
func TestTheGuessedRoadIsThatOfCars(t *testing.T) {
	const massC = 1236.0
	r := guessRoad(&vehicle.Vehicle{Mass: 1200}, massC)
	roll, rollSD := r.at(0)/3.6*massC, r.sdAt(0)/3.6*massC
	if roll < 106 || roll > 177 || roll-2*rollSD > 110 || roll+2*rollSD < 170 || 2*rollSD > 110 {
		t.Errorf("rolling %.0f ± %.0f N", roll, rollSD)
	}
	air := (r.at(100) - r.at(0)) / 3.6 * massC
	airSD := math.Sqrt(r.cov[1][1]) * 1e4 / 3.6 * massC
	if air < 231 || air > 393 || air-2*airSD > 240 || air+2*airSD < 380 || 2*airSD > 180 {
		t.Errorf("air at 100 km/h %.0f ± %.0f N", air, airSD)
	}
}

// An overrun and a coast-down one after the other meet the same stretch of road: what is left of its slope is less
// than half of what an ordinary road may have, which is up to 3 % (two standard deviations). Four minutes later it is
// another road.
func TestWhichRunsShareARoad(t *testing.T) {
	run := func(start float64) *Run { return &Run{Start: start, End: start + 15} }
	same, other := slopeUnder([]*Run{run(0)}, []*Run{run(60)}), slopeUnder([]*Run{run(0)}, []*Run{run(265)})
	if same >= other/2 || 2*other < 0.02 || 2*other > 0.05 {
		t.Errorf("slope under a run %.4f beside another, %.4f elsewhere", same, other)
	}
	if slopeUnder([]*Run{run(100)}, []*Run{run(20)}) != same || slopeUnder([]*Run{run(0), run(900)},
		[]*Run{run(60)}) != other {
		t.Error("before or after is not the same, or one run alone speaks for all")
	}
}

// A display of whole km/h makes fifty steps from 70 to 20 km/h; a sample or more of each carries the shape, and four
// times as many only cost time.
func TestCoastsAreThinnedToTheirSteps(t *testing.T) {
	r := &Run{}
	for i := range 1200 {
		r.T, r.speed = append(r.T, float64(i)/20), append(r.speed, math.Round(70-50*float64(i)/1200))
	}
	if n := len(r.thinnedCoast().T); n < 50 || n > 200 {
		t.Errorf("%d samples of fifty steps", n)
	}
}

// A coast-down of 0.9 km/h a second, then a foot on the brake: for a second and a half before the record ends, and
// lightly for four seconds. Nothing of either is used.
func TestALightOrShortBrakeEndsACoast(t *testing.T) {
	for name, c := range map[string]struct{ brake, seconds float64 }{"short": {4.5, 1.5}, "light": {2.5, 4}} {
		var ts, vs []float64
		for x := 0.0; x < 30+c.seconds; x += 0.1 {
			ts, vs = append(ts, x), append(vs, math.Round(70-0.9*x-c.brake*math.Max(0, x-30)))
		}
		n := untilBraked(ts, vs)
		if n == 0 || ts[n-1] > 30.3 || ts[n-1] < 26 {
			t.Errorf("%s: used to %.1f s, the brake came at 30 s", name, ts[max(0, n-1)])
		}
	}
}

// A car that rolls down a hill hardly slows. The level road behind it, which takes 0.9 km/h each second off, is no brake;
// 2.4 km/h each second, 0.7 m/s^2, are.
func TestBrakeAtTheFootOfAHill(t *testing.T) {
	for after, want := range map[float64]float64{0.9: 12, 2.4: 6} {
		var at, v []float64
		for x := 0.0; x < 14; x += 0.2 {
			at, v = append(at, x), append(v, 70-0.1*math.Min(x, 6)-after*math.Max(x-6, 0))
		}
		if got := at[untilBraked(at, v)-1]; math.Abs(got-want) > 2 {
			t.Errorf("%.1f km/h/s behind the hill: rolls for %.1f s, want %.0f", after, got, want)
		}
	}
}
