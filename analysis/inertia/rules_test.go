package inertia

import (
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/drive"
	"flywitness/finding"
	"flywitness/vehicle"
)

// even is a signal from 0 s on with a value every so many seconds, a function of time.
func even(seconds, every float64, f func(t float64) float64) *series {
	s := &series{}
	for i := range int(math.Round(seconds/every)) + 1 {
		t := every * float64(i)
		s.t, s.v = append(s.t, t), append(s.v, f(t))
	}
	return s
}

// from is a value that changes evenly.
func from(start, rate float64) func(t float64) float64 {
	return func(t float64) float64 { return start + rate*t }
}

// A fall in neutral while the car rolls at 10 km/h is one while rolling; on a car that creeps to a halt it is one at rest,
// and the car is what speaks against it.
func TestFallsOfACarThatRolls(t *testing.T) {
	for _, c := range []struct {
		what        string
		first, last float64 // km/h
		kind        Kind
		listed      bool
	}{
		{"rolls on at 10 km/h", 10, 9, RollingRevDown, true}, {"creeps", 4, 3.5, RevDown, true},
		{"comes down with the engine, in gear", 30, 9, RevDown, false}, {"stands", 0, 0, RevDown, true},
	} {
		s := &preparedLog{idle: 850, still: 1, speed: even(2, 0.1, from(c.first, (c.last-c.first)/2))}
		n := even(2, 0.1, from(4500, -1700))
		f := &fall{t: n.t, n: n.v, bottom: s.bottom()}
		if kind, _, listed := s.classify(f); kind != c.kind || listed != c.listed {
			t.Errorf("%s: %s, listed %v", c.what, kind, listed)
		}
	}
}

// Noise in the middle of a fall does not end it; idle does.
func TestNoiseEndsNoFall(t *testing.T) {
	n := even(2.5, 0.05, func(t float64) float64 {
		x := math.Max(870, 4500-2000*t)
		if math.Abs(t-1.25) < 0.01 {
			x += 120
		}
		return x + 3*math.Sin(40*t)
	})
	s := &preparedLog{idle: 850, interval: 0.05, ripple: 150, t: n.t, n: n.v}
	if got := s.falls(); len(got) != 1 || got[0].n[got[0].last()] > 1000 {
		t.Errorf("%d falls", len(got))
	}
}

// A line through five values with residuals that hang together with nothing. By Student's table for three degrees of
// freedom a slope of 2.353 of its standard errors is chance once in ten times, one of 4.541 once in fifty.
func TestDriftThatMayBeChance(t *testing.T) {
	for times, want := range map[float64]bool{2.353: false, 4.541: true} {
		var y []float64
		for i, e := range []float64{1, -2, 0, 2, -1} { // sum of squares 10, of steps about their middle 10
			y = append(y, 0.001*(e+times*math.Sqrt(10.0/3/10)*float64(i)))
		}
		if d, ok := lineTest(y); !ok || d.Confirmed != want {
			t.Errorf("%.3f standard errors: %+v", times, d)
		}
	}
}

// Falls whose rates lie five times as far apart as their timing errs are moved by something else; twice as far they are
// not.
func TestSpreadThatTimingExplains(t *testing.T) {
	for timing, want := range map[float64]bool{0.04: true, 0.1: false} {
		shape, own := &Shape{}, []int{0, 1, 2, 3, 4}
		for _, y := range []float64{-0.3, -0.135, 0, 0.135, 0.3} { // a median deviation of 1.48 x 0.135 = 0.2
			shape.Runs = append(shape.Runs, RunFit{B: math.Exp(y), VarLnB: timing * timing})
		}
		if got := spread(shape, own); (got > 0.1) != want {
			t.Errorf("timing to %.2f: %.3f is left", timing, got)
		}
	}
}

// Six values of a fall bear a parabola, fifteen a curve of the third degree.
func TestDegreeOfAFall(t *testing.T) {
	if few, many := DegreeFor([]float64{5, 6, 7}), DegreeFor([]float64{14, 15, 16}); few != 2 || many != 3 {
		t.Errorf("degrees %d and %d", few, many)
	}
}

// An overrun from 2050 rpm down to 1500 shows a third of its range; one from 1600 shows nothing. In first one of 19 km/h is
// told by its gear, at a walking pace none is, nor where road speed was not told for six seconds.
func TestOverrunsOfLowSpeeds(t *testing.T) {
	for _, c := range []struct {
		what          string
		top, k, every float64 // rpm, rpm per km/h, s between road speeds
		want          int
	}{{"second", 2050, 60, 0.1, 1}, {"from 1600 rpm", 1600, 60, 0.1, 0}, {"first", 2050, 110, 0.1, 1},
		{"at a walking pace", 2050, 400, 0.1, 0}, {"two road speeds", 2050, 60, 6.5, 0}} {
		n := even((c.top-1400)/100, 0.1, from(c.top, -100))
		s := &preparedLog{idle: 850, interval: 0.1, ripple: 40, t: n.t, n: n.v,
			speed: even((c.top-1400)/100, c.every, from(c.top/c.k, -100/c.k))}
		got := s.overruns([]rung{{gear: 2, k: c.k}}, 0)
		if len(got) != c.want || c.want > 0 && !got[0].Used {
			t.Errorf("%s: %+v", c.what, got)
		}
	}
}

// Fifteen values are a fall of a slow link, four are none. Eight values of a pedal tell where it rests.
func TestHowFewValuesTell(t *testing.T) {
	for n, want := range map[int]bool{15: true, 4: false} {
		rpm := even(float64(n-1), 1, from(4000, -100))
		l := &drive.Log{Channels: []*drive.Channel{{Name: drive.EngineSpeed, T: rpm.t, V: rpm.v}}}
		if got := observe(0, 0, l, nil); (got != nil) != want {
			t.Errorf("%d values of engine speed: prepared %v", n, got != nil)
		}
	}
	for n, want := range map[int]int{8: 1, 2: 0} {
		rpm, pedal := even(30, 0.5, from(1000, 50)), even(float64(n-1), 1, from(0, 5))
		l := &drive.Log{Channels: []*drive.Channel{{Name: drive.EngineSpeed, T: rpm.t, V: rpm.v},
			{Name: drive.Pedal, T: pedal.t, V: pedal.v}}}
		if got := observe(0, 0, l, nil); len(got.closed) != want {
			t.Errorf("%d values of the pedal: %d signals tell of the foot", n, len(got.closed))
		}
	}
}

// An inertia of half and of twice what such cars have is a flywheel; a fifth of it is a typing error.
func TestInertiaOfNoCar(t *testing.T) {
	v := &vehicle.Vehicle{Mass: 1300, RollingCircumference: 1.93}
	for times, said := range map[float64]bool{0.5: false, 2: false, 0.2: true} {
		m := &measurement{veh: v, finding: &Finding{}}
		m.plausible(times * v.UsualInertia())
		if got := len(m.warnings) > 0; got != said || got && m.warnings[0].Code != finding.ImplausibleInertia {
			t.Errorf("%.1f times as much: %v", times, m.warnings)
		}
	}
}

// A coast-down of six seconds from 60 km/h, told once a second, is one; of three values it is none.
func TestCoastDownsOfFewValues(t *testing.T) {
	for seconds, want := range map[float64]bool{6: true, 3: false} {
		s := &preparedLog{speed: even(seconds, 1, from(60, -1.5))}
		if r, listed := s.judgeCoast(0, len(s.speed.t)); (listed && r.Used) != want {
			t.Errorf("%.0f s: listed %v, %+v", seconds, listed, r)
		}
	}
}

// A turn of engine speed exceeds four standard deviations of its noise. Whatever the noise, it is no more than half of what
// a fall is.
func TestRippleOfNoise(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	for sd, between := range map[float64][2]float64{20: {60, 105}, 400: {100, 250}} {
		var n []float64
		for range 4000 {
			n = append(n, 2400+sd*rng.NormFloat64())
		}
		if got := ripple(n); got < between[0] || got > between[1] {
			t.Errorf("noise of %.0f rpm: a turn begins at %.0f", sd, got)
		}
	}
}

// Eight road speeds of the overruns tell their scale, three do not.
func TestHowManySpeedsTellTheirScale(t *testing.T) {
	for n, want := range map[int]bool{8: true, 3: false} {
		seconds := float64(n - 1)
		rpm, speed := even(seconds+1, 0.1, from(3000, -100)), even(seconds, 1, from(50, -100.0/60))
		r := &Run{T: rpm.t, RPM: rpm.v, Start: 0, End: seconds}
		if scale, ok := learnSpeedScale([]*preparedLog{{speed: speed}}, []*Run{r}, nil); ok != want || ok && math.Abs(60*scale.perRPM-1) > 0.01 {
			t.Errorf("%d values: %+v, %v", n, scale, ok)
		}
	}
}

// On a link of a value every 0.3 s a turn from rise to fall is seen as well.
func TestTurnOnASlowLink(t *testing.T) {
	scenes, revs := turning(0.8)
	s := &preparedLog{}
	for i := 0; i < len(scenes[0].t); i += 6 {
		s.t, s.n = append(s.t, scenes[0].t[i]), append(s.n, scenes[0].n[i])
	}
	if all := turns([]*preparedLog{s}, revs); len(all) != len(revs) {
		t.Errorf("turns %v", all)
	}
}

// Twenty pressures of a manifold above idle tell its lowest, four do not. One that never falls below 80 kPa is no petrol
// engine's off the throttle.
func TestPressureOfAShutThrottle(t *testing.T) {
	for _, c := range []struct {
		values int
		kPa    float64
		want   int
	}{{20, 35, 1}, {4, 35, 0}, {20, 80, 0}} {
		n := even(20, 0.1, from(3000, 0))
		s := &preparedLog{idle: 850, t: n.t, n: n.v, pressure: even(float64(c.values-1), 1, from(c.kPa, 0))}
		if s.learnPressure(); len(s.closed) != c.want {
			t.Errorf("%d values of %.0f kPa: %d signals tell of the throttle", c.values, c.kPa, len(s.closed))
		}
	}
}

// Revs that end within 20 rpm of each other well below the engine's limit met one of their own; a foot does not stop them
// so evenly.
func TestSoftLimitOfRevs(t *testing.T) {
	for off, want := range map[float64]bool{20: true, 60: false} {
		m := &measurement{veh: &vehicle.Vehicle{Engine: vehicle.Engine{LimitRPM: 6500}}, finding: &Finding{}}
		for _, x := range []float64{-off, -off, 0, off, off} {
			m.finding.Runs = append(m.finding.Runs, Run{Kind: RevDown, Used: true, fall: &fall{n: []float64{4200 + x}}})
		}
		if m.softLimit(); (len(m.warnings) > 0) != want {
			t.Errorf("peaks %.0f rpm apart: %v", off, m.warnings)
		}
	}
}

// Sixteen values that lie by 2 % to either side count as four: the standard error of their median is 1.2533 x 1.4826 x 0.02
// over the root of four.
func TestErrorOfAComparedTorque(t *testing.T) {
	var a, b charge
	for i := range 16 {
		n := 2000 + 100*float64(i)
		a.rpm, a.value = append(a.rpm, n), append(a.value, 200*(1+0.02*float64(2*(i%2)-1)))
		b.rpm, b.value = append(b.rpm, n), append(b.value, 200)
	}
	if _, se, ok := a.against(b); !ok || math.Abs(se-0.0186) > 0.001 {
		t.Errorf("%.4f, %v", se, ok)
	}
}

// A pull over a fifth of its engine speed is told of, though it shows too little; one over a twelfth is ordinary driving.
func TestPullsThatAreToldOf(t *testing.T) {
	for span, want := range map[float64]bool{1.25: true, 1.08: false} {
		n := even(3, 0.1, from(2000, 2000*(span-1)/3))
		s := &preparedLog{t: n.t, n: n.v}
		if r, listed := s.judgePull(0, 3, 2); listed != want || r.Used {
			t.Errorf("%.2f times: told of %v, used %v", span, listed, r.Used)
		}
	}
}
