package inertia

import (
	"math"
	"testing"

	"flywitness/analysis/calibrate"
	"flywitness/drive"
	"flywitness/finding"
)

// risingScene is a log of engine speed every tenth of a second that rises by so many rpm each second.
func risingScene(from, perSecond, seconds float64) *preparedLog {
	s := &preparedLog{interval: 0.1, ripple: 40}
	for t := 0.0; t <= seconds+1e-9; t += 0.1 {
		s.t, s.n = append(s.t, t), append(s.n, from+perSecond*t)
	}
	return s
}

// First gear is over in a second and a half: from 2000 to 4250 rpm is a pull, of which the first moments are left out
// (tip-in swings for some tenths). Half a second at full load is ordinary driving, and a pull over a tenth of the
// engine speeds tells nothing.
func TestWhatIsAPull(t *testing.T) {
	r, listed := risingScene(2000, 1500, 1.5).judgePull(0, 1.5, 1)
	if !listed || !r.Used || r.T[0] < 0.25 || r.T[0] > 0.7 {
		t.Errorf("first gear: %+v", r)
	}
	if r, listed := risingScene(2000, 1500, 0.8).judgePull(0, 0.8, 1); listed {
		t.Errorf("0.8 s of full load: %+v", r)
	}
	if r, _ := risingScene(2000, 60, 4).judgePull(0, 4, 5); r.Used || r.Why != finding.PullSpanTooSmall {
		t.Errorf("2000 to 2240 rpm: %+v", r)
	}
}

// The lowest three gears pulled in twice or more carry the inertia; the fourth adds cost and nothing else, since the
// engine's share falls with the square of the ratio. Of five pulls in a gear the longest are taken. Engine speed is
// smooth in a pull: some twenty points of it tell all.
func TestWhichPullsAreTaken(t *testing.T) {
	var runs []*Run
	for gear := 1; gear <= 5; gear++ {
		for i := range 5 {
			r := &Run{Gear: gear}
			for j := range 100 {
				r.T, r.RPM = append(r.T, float64(j)/20), append(r.RPM, 2000+float64(20+i)*float64(j))
			}
			runs = append(runs, r)
		}
	}
	runs = append(runs[:1], runs[5:]...) // once in first only
	pulls, gears := repeated(runs)
	if len(gears) != 3 || gears[0] != 2 || gears[2] != 4 {
		t.Errorf("gears %v, want 2, 3 and 4", gears)
	}
	if n := len(pulls); n < 6 || n > 12 {
		t.Errorf("%d pulls of three gears", n)
	}
	for i, r := range pulls {
		if n := len(r.T); n < 12 || n > 48 || r.RPM[0] != 2000 || r.T[n-1] != 4.95 {
			t.Errorf("pull %d has %d points to %.2f s", i, n, r.T[n-1])
		}
	}
	if top := pulls[0].RPM; top[len(top)-1] != 2000+24*99 {
		t.Errorf("the longest pull of second gear is not the first: it ends at %.0f rpm", top[len(top)-1])
	}
}

// inGearFall is an overrun of engine speed over a road speed that fits a ratio of times the ladder's 50 rpm per km/h,
// shown late by lag.
func inGearFall(times, lag float64) (*preparedLog, *fall) {
	s, f := &preparedLog{speed: &series{}}, &fall{}
	for t := 0.0; t < 5; t += 0.1 {
		n := 4500 - 500*t
		f.t, f.n = append(f.t, t), append(f.n, n)
		s.speed.t, s.speed.v = append(s.speed.t, t+lag), append(s.speed.v, n/(50*times))
	}
	return s, f
}

// Gears lie a fifth or more apart, and the log taught their ratio: 2 % off is that gear, 8 % off is none. A ratio
// from the vehicle file is off by what speedometer and tyre are off by, 6 % perhaps; 20 % are another gear.
func TestWhichGearAFallIsIn(t *testing.T) {
	for _, c := range []struct {
		times, slop float64
		want        int
	}{{1.02, 0, 3}, {0.98, 0, 3}, {1.08, 0, 0}, {0.92, 0, 0}, {1.06, speedometerSlop, 3}, {1.2, speedometerSlop,
		0}, {0.83, speedometerSlop, 0}} {
		s, f := inGearFall(c.times, 0.2)
		if gear, _, _ := s.inGear(f, []rung{{gear: 3, k: 50, slop: c.slop}}, 0.2); gear != c.want {
			t.Errorf("%+v: gear %d", c, gear)
		}
	}
}

// Displayed speed is late by some tenths of a second (common practice, no source). Where nobody measured it, an
// overrun in third that falls by 500 rpm/s is found whether it is late by 0.2 or by 0.5 s.
func TestOverrunsAreFoundBeforeTheLagIsMeasured(t *testing.T) {
	for _, lag := range []float64{0.2, 0.5} {
		s, f := inGearFall(1, lag)
		s.t, s.n, s.interval, s.ripple, s.idle = f.t, f.n, 0.1, 40, 850
		m := &measurement{scenes: []*preparedLog{s}, finding: &Finding{}}
		v := small().told()
		v.Gearbox.Ratios = []float64{50 * v.RollingCircumference * 0.06 / v.Gearbox.FinalDrive}
		m.veh = v
		s.log, s.others = &drive.Log{}, map[string]*series{}
		m.findRuns()
		found := false
		for _, r := range m.finding.Runs {
			// The driveline swings for half a second after the foot lifts, and not for a whole one.
			found = found || r.Kind == Overrun && r.Used && r.T[len(r.T)-1]-r.T[0] > 3 && r.T[0]-r.Start > 0.4 &&
				r.T[0]-r.Start < 1
		}
		if !found {
			t.Errorf("late by %.1f s: %+v", lag, m.finding.Runs)
		}
	}
}

// pullsThatTell are pulls in third gear of a car whose engine reports so many times the torque that its mass needs,
// by hand: M_c alpha/k and the road load at the tyres, over k and the efficiency, and 0.0025 M r^2 alpha in the
// engine (Gillespie's mass factor, from memory).
func pullsThatTell(n int, times float64) (*measurement, *body, []*Run) {
	v := small().told()
	b := bodyOf(v)
	k := v.TotalRatio(3) / v.Radius()
	const perSecond = 600.0
	alpha, w := perSecond*math.Pi/30, 3000*math.Pi/30
	road := guessRoad(v, b.massC).at(w/k*3.6) / 3.6 * b.massC
	needed := (b.massC*alpha/k+road)/(k*b.efficiency) + 0.0025*b.mass*0.3*0.3*alpha
	pct, reference := &series{}, &series{t: []float64{0}, v: []float64{300}}
	var runs []*Run
	for i := range n {
		r := &Run{Kind: PullRun, Gear: 3, Used: true}
		for j := range 21 {
			at := float64(20*i) + float64(j)/6
			r.T, r.RPM = append(r.T, at), append(r.RPM, 2000+perSecond*float64(j)/6)
			if j%4 == 0 { // six values of torque in a pull
				pct.t, pct.v = append(pct.t, at), append(pct.v, 100*times*needed/300)
			}
		}
		runs = append(runs, r)
	}
	s := &preparedLog{log: &drive.Log{}, others: map[string]*series{drive.EngineTorque: pct, drive.ReferenceTorque: reference}}
	return &measurement{scenes: []*preparedLog{s}, finding: &Finding{}}, b, runs
}

// A fifth more torque than the mass needs is load that nobody listed, or a channel that is off; 6 % are slopes and
// the channel's own error, and one pull is no proof.
func TestTorqueAgainstTheMass(t *testing.T) {
	for _, c := range []struct {
		pulls int
		times float64
		want  float64
	}{{3, 1.2, math.Log(1.2)}, {3, 0.8, math.Log(0.8)}, {3, 1.06, 0}, {1, 1.2, 0}} {
		m, b, runs := pullsThatTell(c.pulls, c.times)
		if got := m.massDoubt(b, runs); math.Abs(got-c.want) > 0.01 || (len(m.warnings) > 0) != (c.want != 0) {
			t.Errorf("%+v: %.3f, warnings %v", c, got, m.warnings)
		}
	}
}

// Torque by gear. Five values of a channel are enough to set a gear against the highest: a tenth less torque is a
// limit, 2 % are the channel.
func TestTorqueOfOneGearAgainstAnother(t *testing.T) {
	for lower, want := range map[float64]bool{0.90: false, 0.94: false, 0.98: true} {
		var runs []*Run
		torque := &series{}
		for i, gear := range []int{2, 2, 3, 3} {
			r := &Run{Kind: PullRun, Gear: gear, Used: true}
			for j := range 21 {
				at := float64(20*i) + float64(j)/10
				r.T, r.RPM = append(r.T, at), append(r.RPM, 2000+100*float64(j))
				if i%2 == 0 && j%4 == 1 || i%2 == 1 && j == 10 { // six in each gear
					v := 80.0
					if gear == 2 {
						v *= lower
					}
					torque.t, torque.v = append(torque.t, at), append(torque.v, v)
				}
			}
			runs = append(runs, r)
		}
		s := &preparedLog{log: &drive.Log{}, others: map[string]*series{drive.EngineTorque: torque}}
		m := &measurement{scenes: []*preparedLog{s}, finding: &Finding{}}
		if shown := m.refuseOtherTorque(runs); !shown || runs[0].Used != want || runs[1].Used != want || !runs[2].Used {
			t.Errorf("%.2f of the torque in second gear: shown %v, used %v", lower, shown, runs[0].Used)
		}
	}
	s := &preparedLog{log: &drive.Log{}, others: map[string]*series{}}
	m := &measurement{scenes: []*preparedLog{s}, finding: &Finding{}}
	if m.refuseOtherTorque([]*Run{{Gear: 2, T: []float64{0, 1}, RPM: []float64{2000, 3000}, Used: true},
		{Gear: 3, T: []float64{5, 6}, RPM: []float64{2000, 3000}, Used: true}}) {
		t.Error("without a channel the torque of every gear was shown")
	}
}

// Who means to measure lets the engine fall by a fifth and more from 4000 rpm, and is told why such a fall is refused. A
// lift before a bend takes off some 500 rpm, and is no attempt.
func TestWhichOverrunsAreTold(t *testing.T) {
	for by, want := range map[float64]int{500: 0, 1000: 1} {
		s := &preparedLog{speed: &series{}, interval: 0.1, ripple: 40, idle: 850}
		for at := 0.0; at < 2.01; at += 0.1 {
			n := 5000 - by*at/2
			s.t, s.n = append(s.t, at), append(s.n, n)
			s.speed.t, s.speed.v = append(s.speed.t, at), append(s.speed.v, n/50)
		}
		runs := s.overruns([]rung{{gear: 2, k: 50}}, 0)
		if len(runs) != want || want > 0 && (runs[0].Used || runs[0].Why != finding.SpanTooSmall) {
			t.Errorf("a fall by %.0f rpm: %+v", by, runs)
		}
	}
}

// The delay of a displayed speed is found to some hundredths of a second: an overrun falls by 500 rpm/s, in second gear by
// 10 km/h each second, of which 0.03 s are as much as half a step of the display.
func TestDelayOfADisplayedSpeed(t *testing.T) {
	for _, late := range []float64{0.08, 0.23, 0.37} {
		s, f := inGearFall(1, late)
		run := &Run{Start: f.t[0], End: f.t[len(f.t)-1] - late, T: f.t, RPM: f.n}
		got, ok := learnSpeedScale([]*preparedLog{s}, []*Run{run}, &calibrate.Calibration{SpeedRounding: "round"})
		if !ok || math.Abs(got.lag-late) > 0.03 {
			t.Errorf("late by %.2f s: %+v", late, got)
		}
	}
}
