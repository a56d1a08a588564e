package gearstate_test

import (
	"math"
	"testing"

	"flywitness/analysis/gearstate"
)

// outside is a drive of so many seconds in none of the gears 120, 70, 46 and 34, at 10 values a second between two
// seconds locked in third: from a speed (km/h) on at an acceleration (km/h/s), at a ratio of the time. Each value of the
// road speed is off by err km/h, to either side in turn.
func outside(seconds, v, a, err float64, ratio func(u float64) float64) *gearstate.Track {
	t := &gearstate.Track{Model: gearstate.Model{Period: 0.1, Step: 0.1, Idle: 800}}
	for i, k := range []float64{120, 70, 46, 34} {
		t.Model.Gears = append(t.Model.Gears, gearstate.Gearing{Number: i + 1, K: k})
	}
	add := func(v, k float64, gear int, c gearstate.Clutch) {
		s := gearstate.State{Gear: gear, Clutch: c}
		s.T, s.V, s.A, s.N = 0.1*float64(t.Len()), v+err, a, k*v
		t.Append(s)
		err = -err
	}
	for range 20 {
		add(v, 46, 3, gearstate.Locked)
	}
	for i := range int(math.Round(10 * seconds)) {
		u := 0.1 * float64(i)
		add(v+a*u, ratio(u), 3, gearstate.Slipping)
	}
	for range 20 {
		add(v+a*seconds, 46, 3, gearstate.Locked)
	}
	return t
}

// A gear that is not in the ladder keeps its ratio while the car gathers speed. An engine that runs away does not, and
// two speeds that do not change have some ratio by chance.
func TestRatiosThatStay(t *testing.T) {
	at := func(k float64) func(float64) float64 { return func(float64) float64 { return k } }
	away := func(perSecond float64) func(float64) float64 {
		return func(u float64) float64 { return 60 * (1 + perSecond*u) }
	}
	for _, c := range []struct {
		what             string
		seconds, v, a, e float64
		ratio            func(u float64) float64
		want             bool
	}{
		{"three seconds of a gear", 3, 60, 5, 0, at(60), true},
		{"0.8 s of it", 0.8, 60, 8, 0, at(60), false},
		{"with a speed of a km/h more or less", 3, 60, 5, 0.5, at(60), true},
		{"more than its noise", 3, 60, 5, 5, at(60), false},
		{"at one speed", 3, 60, 0, 0, at(60), false},
		{"the engine runs away", 3, 60, 5, 0, away(0.3), false},
		{"and slowly", 3, 60, 5, 0, away(0.04), false},
		{"at a walking pace", 3, 5, 1, 0, at(300), false},
		{"rolling at idle", 3, 12, 1, 0, at(70), false},
	} {
		got := outside(c.seconds, c.v, c.a, c.e, c.ratio).HeldRatios()
		if (len(got) > 0) != c.want {
			t.Errorf("%s: %+v", c.what, got)
		}
		for _, h := range got {
			if math.Abs(h.K/60-1) > 0.002 || h.Hi-h.Lo < 25 || h.Lo < 20 || h.Hi > 50 || math.Abs(h.Span-74.5/60) > 0.05 {
				t.Errorf("%s: %+v", c.what, h)
			}
		}
	}
}

// A ratio before a pause of the recording and one behind it are no ratio that stayed.
func TestRatiosAboutAPause(t *testing.T) {
	for _, pause := range []float64{0, 240} {
		tr := outside(1.6, 60, 8, 0, func(float64) float64 { return 60 })
		for i := 28; i < tr.Len(); i++ {
			tr.T[i] += pause
		}
		if got := tr.HeldRatios(); (len(got) == 1) != (pause == 0) {
			t.Errorf("0.8 s on either side of %.0f s: %+v", pause, got)
		}
	}
}

// Stamps that are off by a third of a second blur each value by a tenth, but not the ratio of many: an engine that gains
// on the car by three per cent a second is told from a gear all the same.
func TestRatiosUnderBlurredStamps(t *testing.T) {
	for _, c := range []struct {
		gains float64 // per second
		want  int
	}{{0, 1}, {0.03, 0}} {
		tr := outside(3, 60, 8, 0, func(u float64) float64 { return 60 * (1 + c.gains*u) })
		tr.Model.TimingSD = 0.3
		if got := tr.HeldRatios(); len(got) != c.want {
			t.Errorf("the engine gains %.2f a second: %+v", c.gains, got)
		}
	}
}

// Seven values 0.7 s apart of a hard pull, stamped as well as a slow link does: each half of the stretch is known to one
// per cent, so halves that are 2.2 % apart are of one gear. Where stamps are exact, the same values are of none.
func TestRatioOfFewValuesInAHardPull(t *testing.T) {
	for _, c := range []struct {
		timing float64
		want   int
	}{{0.08, 1}, {0, 0}} {
		tr := &gearstate.Track{Model: outside(0, 60, 0, 0, nil).Model}
		tr.Model.TimingSD = c.timing
		for i := range 7 {
			u := 0.7 * float64(i)
			s := gearstate.State{Gear: 3, Clutch: gearstate.Slipping}
			s.T, s.V, s.A, s.N = u, 42+12*u, 12, (42+12*u)*60*(1-0.012*u/1.4)
			tr.Append(s)
		}
		if got := tr.HeldRatios(); len(got) != c.want {
			t.Errorf("stamps good to %.2f s: %+v", c.timing, got)
		}
	}
}

// Slip of a fifth may keep a ratio, slip of a quarter never does; what is taller than every gear is no slip.
func TestRatiosBeyondSlip(t *testing.T) {
	m := outside(0, 60, 0, 0, nil).Model
	for _, c := range []struct {
		k, next float64
		beyond  bool
	}{{46 / 0.8, 46, false}, {46 / 0.75, 46, true}, {69, 46, true}, {30, 0, true}, {71, 70, false}} {
		if next := m.Taller(c.k); next != c.next || gearstate.BeyondSlip(c.k, next) != c.beyond {
			t.Errorf("%.1f rpm per km/h: next gear %.0f, beyond slip %v", c.k, next, !c.beyond)
		}
	}
}

// Steps of 1.83, 1.47, 1.32 and 1.25 lack no gear. One that is wider than the step below it does, or far wider than the
// one above; a single step may.
func TestLadderThatLacksAGear(t *testing.T) {
	for _, c := range []struct {
		ladder []float64
		k      float64
		lacks  bool
	}{
		{[]float64{128, 70, 47.5, 36, 28.8}, 40, false}, {[]float64{128, 70, 47.5, 36, 28.8}, 90, false},
		{[]float64{70, 47.5, 28.8}, 36, true}, {[]float64{70, 47.5, 28.8}, 57, false}, {[]float64{128, 47.5, 36}, 70, true},
		{[]float64{121, 69.8, 55.1, 44.1}, 89.6, true}, // close gears: 1.35, 1.28, 1.27 and 1.25
		{[]float64{36, 28.8}, 32, true}, {[]float64{36, 28.8}, 40, false}, {[]float64{128, 70}, 60, false},
	} {
		if got := gearstate.LacksOne(c.ladder, c.k); got != c.lacks {
			t.Errorf("a gear at %g is lacking in %v: %v", c.k, c.ladder, got)
		}
	}
}

// A ratio ends where another begins: by four per cent at speed, by ten in town, by six where the car gathers speed
// harder than its stamps tell. Two of them are two stretches, not one that is none.
func TestRatioThatGivesWayToAnother(t *testing.T) {
	for _, c := range []struct {
		what    string
		v, a, k float64 // km/h, km/h/s, and the second ratio over the first
		timing  float64 // s
	}{{"at speed", 100, 8, 1.04, 0}, {"in town", 20, 3, 1.1, 0}, {"by coarse stamps", 60, 8, 1.06, 0.05}} {
		tr := outside(4, c.v, c.a, 0, func(u float64) float64 {
			if u < 2 {
				return 60
			}
			return 60 * c.k
		})
		tr.Model.TimingSD = c.timing
		got := tr.HeldRatios()
		if len(got) != 2 || math.Abs(got[0].K/60-1) > 0.01 || math.Abs(got[1].K/60/c.k-1) > 0.01 {
			t.Errorf("%s: %+v", c.what, got)
		}
	}
}

// In town, and at low engine speeds, and by a value every half second a ratio tells as well.
func TestRatiosOfTown(t *testing.T) {
	if got := outside(3, 20, 2, 0, func(float64) float64 { return 90 }).HeldRatios(); len(got) != 1 {
		t.Errorf("from 20 km/h and 1800 rpm on: %+v", got)
	}
	tr := &gearstate.Track{Model: outside(0, 60, 0, 0, nil).Model}
	tr.Model.Period = 0.5
	for i := range 5 {
		s := gearstate.State{Gear: 3, Clutch: gearstate.Slipping}
		s.T, s.V, s.A = 0.5*float64(i), 60+4*float64(i), 8
		s.N = 60 * s.V
		tr.Append(s)
	}
	if got := tr.HeldRatios(); len(got) != 1 {
		t.Errorf("five values of half a second: %+v", got)
	}
}
