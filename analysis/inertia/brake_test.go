package inertia

import (
	"math"
	"testing"

	"flywitness/finding"
	"flywitness/vehicle"
)

// falling is a run from one engine speed to another, ten samples a second, whose rate in rpm/s is told by engine
// speed and time.
func falling(from, to float64, rate func(rpm, t float64) float64) *Run {
	r := &Run{Kind: Overrun, Gear: 2, Used: true}
	for t, n := 0.0, from; n > to; t += 0.1 {
		r.T, r.RPM = append(r.T, t), append(r.RPM, n)
		for range 10 {
			n -= rate(n, t) * 0.01
		}
	}
	k := len(r.T) - 1
	r.End = r.T[k]
	r.MeanRate = (r.RPM[0] - r.RPM[k]) / (r.T[k] - r.T[0])
	return r
}

// atRate is a run that falls with so many times the expected rate of 400 rpm/s.
func atRate(times float64) *Run {
	return falling(4500, 1500, func(_, _ float64) float64 { return 400 * times })
}

func expected400(float64) float64 { return 400 }

// What happens more than half a second away does not bend a rate: 400 rpm/s, and 1200 from 2 s on.
func TestARateIsThatOfItsOwnMoment(t *testing.T) {
	r := falling(4500, 1000, func(_, t float64) float64 {
		if t < 2 {
			return 400
		}
		return 1200
	})
	if early, late := localRate(r.T, r.RPM, 14), localRate(r.T, r.RPM, 26); math.Abs(early-400) > 1 ||
		math.Abs(late-1200) > 1 {
		t.Errorf("%.0f rpm/s before and %.0f after, by hand 400 and 1200", early, late)
	}
}

// The part of an overrun before the brake is kept, two seconds of it are enough; three times the rate of a usual car
// throughout is a brake, whatever else agrees with it.
func TestOverrunsAreTrimmedOfTheBrake(t *testing.T) {
	braked := falling(4500, 1500, func(_, t float64) float64 {
		if t < 2.5 {
			return 500
		}
		return 1500
	})
	always := []*Run{atRate(3), atRate(3)}
	o := trimOverruns(append(always, braked), expected400, 0.02, brakeWithin)
	if len(o.runs) != 1 || o.runs[0] != braked || braked.T[len(braked.T)-1] > 2.6 {
		t.Errorf("%d runs kept, the braked one to %.1f s", len(o.runs), braked.T[len(braked.T)-1])
	}
	for _, r := range always {
		if r.Used || r.Why != finding.Braked {
			t.Errorf("three times the usual rate: used %v, %s", r.Used, r.Why)
		}
	}
}

// secondGear is the closed form of the second hand's car in second gear, its free revs straight falls of 1250 rpm/s,
// with the rate it expects off the throttle.
func secondGear(t *testing.T, degree int) (f *closedForm, expected func(float64) float64) {
	t.Helper()
	var in []ShapeRun
	for i := range 3 {
		r := ShapeRun{}
		for n := 4600.0; n >= 1400; n -= 50 {
			r.RPM, r.T = append(r.RPM, n), append(r.T, float64(i*10)+(4600-n)/1250)
		}
		in = append(in, r)
	}
	revs, err := FitShape(in, 1400, 4600, degree)
	if err != nil {
		t.Fatal(err)
	}
	v := small().told()
	f = &closedForm{b: bodyOf(v), gear: 2, revs: revs, lnRev: math.Log(revs.Runs[0].B),
		scale: speedScale{perRPM: 1 / v.RPMPerKmh(2)}}
	f.k, f.kSD = f.b.gearing(2, f.scale)
	return f, f.expectedOverrun(guessRoad(v, f.b.massC))
}

// withSpeed is a log whose road speed is that of the runs in second gear.
func withSpeed(f *closedForm, runs ...*Run) []*preparedLog {
	s := &series{}
	for _, r := range runs {
		for i, at := range r.T {
			s.t, s.v = append(s.t, at), append(s.v, r.RPM[i]*f.scale.perRPM)
		}
	}
	return []*preparedLog{{speed: s}}
}

// From 3000 rpm down an overrun is steeper by a factor. A slope of 1 % or a gust makes 15 % and is left in; a light
// brake makes 60 % and is cut off. Where the free revs have too few samples to tell the shape of the drag, 40 % may
// be that and 100 % are a brake.
func TestHowMuchSteeperAnOverrunMayBecome(t *testing.T) {
	for _, c := range []struct {
		degree int
		factor float64
		cut    bool
	}{{3, 1.15, false}, {3, 1.6, true}, {2, 1.4, false}, {2, 2.1, true}} {
		f, expected := secondGear(t, c.degree)
		r := falling(4500, 1450, func(n, _ float64) float64 {
			if n > 3000 {
				return expected(n)
			}
			return expected(n) * c.factor
		})
		if !f.trim(withSpeed(f, r), []*Run{r}, nil) {
			t.Errorf("%+v: refused", c)
			continue
		}
		if end := r.RPM[len(r.RPM)-1]; c.cut && end < 2700 || !c.cut && end > 1600 {
			t.Errorf("%+v: kept down to %.0f rpm", c, end)
		}
	}
	f, _ := secondGear(t, 3)
	if f.trim([]*preparedLog{{speed: &series{}}}, []*Run{atRate(1)}, nil) {
		t.Error("an overrun without road speed is prepared")
	}
}

// rolled is a coast-down from 70 km/h that slows so many times as fast as guessed.
func rolled(guess *rolling, times float64) *Run {
	r := &Run{Kind: Coast, Used: true}
	for t, v := 0.0, 70.0; t < 12; t += 0.5 {
		r.T, r.speed = append(r.T, t), append(r.speed, v)
		v -= 0.5 * times * guess.at(v)
	}
	return r
}

// Coast-downs of one car slow alike but for slopes; one that is 1.8 times as steep was braked. Where all are 2.6
// times what any road does, all were.
func TestBrakedCoastsAreRefused(t *testing.T) {
	guess := guessRoad(&vehicle.Vehicle{Mass: 1200}, 1236)
	for name, c := range map[string]struct {
		times []float64
		want  int
	}{"one of three": {[]float64{1, 1.05, 1.8}, 2}, "slopes": {[]float64{0.9, 1.1, 1.3}, 3},
		"all": {[]float64{2.6, 2.7}, 0}, "a heavy car": {[]float64{1.7, 1.8}, 2}} {
		var runs []*Run
		for _, x := range c.times {
			runs = append(runs, rolled(guess, x))
		}
		if kept := refuseBrakedCoasts(runs, guess); len(kept) != c.want {
			t.Errorf("%s: %d kept, want %d", name, len(kept), c.want)
		}
	}
}

// Local slope of 0.4 % and a few per cent of drag make clean overruns of a gear differ by a sixth. One that is 1.4 times
// as steep as two that agree was braked.
func TestOverrunsOfAGearAreAlike(t *testing.T) {
	for last, want := range map[float64]int{1.15: 3, 1.4: 2} {
		o := overrunsOf{runs: []*Run{atRate(1), atRate(1.05), atRate(last)}, level: []float64{1, 1.05, last}}
		if kept := o.clean(1, 0.02); len(kept) != want {
			t.Errorf("one is %.2f times as steep: %d kept, want %d", last, len(kept), want)
		}
	}
}

// A lone run is believed to half as much again as is usual, runs that agree to two and a half times.
func TestWhatPassesForInertiaMayBeTheBrake(t *testing.T) {
	for _, c := range []struct {
		times float64
		runs  int
		want  bool
	}{{1.4, 1, false}, {1.6, 1, true}, {1.6, 2, false}, {2.4, 2, false}, {2.6, 2, true}} {
		if got := perhapsBraked(c.times, c.runs); got != c.want {
			t.Errorf("%.1f times the usual from %d runs: braked %v", c.times, c.runs, got)
		}
	}
}

// What held the overruns back by 0.46 m/s^2, known to 0.3, is a foot on the brake as it is not: anything from 0.4 to 2.5 has
// Phi(6.8) - Phi(-0.2) = 0.579 of its density in 2.1, 0.276, no brake 1.33 exp(-0.5 1.533^2) = 0.411, and a brake is asked
// for half of that. By 0.36 it has 0.213 against 0.647. Who braked two overruns of three for sure does so three times as
// likely; 2.6 is a brake however badly it is known, and a window without a shape tells nothing.
func TestFootOnTheBrakeOrChance(t *testing.T) {
	for _, c := range []struct {
		b, sd, odds float64
		want        bool
	}{{0.46, 0.3, 1, true}, {0.36, 0.3, 1, false}, {0.36, 0.3, 3, true}, {2.6, 3, 0.01, true}, {math.NaN(), 0.3, 3, false},
		{0.46, 0, 3, false}} {
		if got := footOnBrake(c.b, c.sd, c.odds); got != c.want {
			t.Errorf("%+v: %v", c, got)
		}
	}
}
