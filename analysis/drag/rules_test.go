package drag

import (
	"math"
	"slices"
	"testing"

	"flywitness/drive"
	"flywitness/finding"
)

// told is a signal that is told once a second.
func told(v ...float64) *series {
	s := &series{}
	for i, x := range v {
		s.t, s.v = append(s.t, float64(i)), append(s.v, x)
	}
	return s
}

// Two holds of a speed that differ by 4 % where each is known to 0.2 % are not of one engine's state; by 2 % they are.
// Known to 1.2 % each, their difference is known to 1.7 %: 3 % are noise, 8 % are none.
func TestHoldsOfOneSpeedThatDiffer(t *testing.T) {
	for _, c := range []struct {
		off, sd float64
		agree   bool
	}{{0.02, 0.002, true}, {0.04, 0.002, false}, {0.03, 0.012, true}, {0.08, 0.012, false}} {
		s := &Side{}
		for i := range 2 {
			s.Holds = append(s.Holds, Hold{Used: true, RPM: 2500, air: &level{1 + c.off*float64(i), c.sd}, coolant: 90, spark: 10, purge: 10})
		}
		_, why, ok := s.sit(0, []float64{2500}, usualExponent, false)
		if ok != c.agree || !ok && (why == nil || why.Code != finding.HoldsDisagree) {
			t.Errorf("off by %.3f, each known to %.3f: agree %v, %v", c.off, c.sd, ok, why)
		}
	}
}

// A ladder over a tenth of the flow, of six rungs whose residuals hang together with nothing. A drag that follows the flow
// as usual earns trust where that is known to a fortieth; known to four tenths it tells nothing. One that follows it by two
// fifths, or three times, speaks against the correction.
func TestWhatALadderTells(t *testing.T) {
	p := priorFor(AirAndFuel, Options{})
	for _, c := range []struct {
		what    string
		c, sd   float64
		verdict Verdict
	}{{"as usual", p.c, 0.025, Earned}, {"as usual, hardly known", p.c, 0.4, ""}, {"two fifths", 0.4, 0.025, Refuted},
		{"three times", 3, 0.025, Refuted}} {
		l := &Ladder{}
		for i, e := range []float64{1, -1, 0, 0, -1, 1} {
			x := 0.02 * (float64(i) - 2.5)
			l.Rungs = append(l.Rungs, Rung{flow: x, ln: -c.c*x + c.sd*0.02*math.Sqrt(17.5)*e})
		}
		l.fit(p)
		if l.Verdict != c.verdict || (len(l.Why) > 0) != (c.verdict == "") || math.Abs(l.Elasticity.Value-c.c) > 1e-6 {
			t.Errorf("%s: %q, %+v, %v", c.what, l.Verdict, *l.Elasticity, l.Why)
		}
	}
}

// A fifth of a litre an hour, a third of what idle takes, is fuel; a twentieth is the meter's zero.
func TestFuelInAFall(t *testing.T) {
	for rate, want := range map[float64]answer{0.2: yes, 0.05: no} {
		g := &gauges{fuelRate: told(rate, rate, rate, rate)}
		if got := g.fuelled(0, 3); got != want {
			t.Errorf("%.2f l/h: %v", rate, got)
		}
	}
}

// An engine that nearly stalls at 400 rpm was not started again; one that stood was.
func TestEngineThatNearlyStalls(t *testing.T) {
	for rpm, again := range map[float64]bool{400: false, 50: true} {
		g := &gauges{rpm: told(850, 850, rpm, 850, 850, 850)}
		if got := g.sinceStart(5); math.IsInf(got, 1) == again {
			t.Errorf("%.0f rpm three seconds ago: started %.0f s ago", rpm, got)
		}
	}
}

// A control unit that keeps to the mixture with one sensor at fault keeps to it (SAE J1979 parameter 03, from memory: 8);
// one that does not because of load or a fall (4) or of cold (1) does not.
func TestLoopOfAHold(t *testing.T) {
	for status, want := range map[float64]bool{2: true, 8: true, 4: false, 1: false} {
		g := &gauges{status: told(status, status, status, status, status)}
		h := &Hold{Used: true, Start: 1, End: 4}
		if g.judgeMixture(h); h.Used != want {
			t.Errorf("status %.0f: used %v", status, h.Used)
		}
	}
}

// Half a minute at 2500 rpm, with 4 g/s of air eight times a second, and what else happens in it. How many holds count?
func TestWhatIsAHold(t *testing.T) {
	within := func(from, to float64) func(*drive.Log) { // all that the log has is recorded there alone
		return func(l *drive.Log) {
			for _, c := range l.Channels {
				i, j := int(8*from), int(8*to)
				c.T, c.V = append(c.T[:i:i], c.T[j:]...), append(c.V[:i:i], c.V[j:]...)
			}
		}
	}
	also := func(name string, value float64, at ...float64) func(*drive.Log) {
		return func(l *drive.Log) {
			l.Channels = append(l.Channels, &drive.Channel{Name: name, T: at, V: slices.Repeat([]float64{value}, len(at))})
		}
	}
	for what, c := range map[string]struct {
		happens func(*drive.Log)
		holds   int
	}{
		"nothing": {func(*drive.Log) {}, 1},
		// 2 km/h at 2500 rpm is a clutch that bites
		"the car creeps": {also(drive.VehicleSpeed, 2, 0, 5, 10, 15, 20, 25, 30), 0},
		// into a garage at walking speed; the engine is held long after
		"the receiver lost the sky": {also(drive.GPSSpeed, 6, -25), 1},
		// nobody knows what the foot did meanwhile
		"recording breaks off for ten seconds":   {within(10, 20), 2},
		"and for one":                            {within(14, 15), 1},
		"the engine was started two minutes ago": {also(drive.RunTime, 110, 15), 0},
		"and six minutes ago":                    {also(drive.RunTime, 360, 15), 1},
		"a value of the air's is none":           {func(l *drive.Log) { l.Channels[1].V[100] = math.Inf(1) }, 1},
	} {
		l := &drive.Log{Channels: []*drive.Channel{{Name: drive.EngineSpeed}, {Name: drive.AirFlow}}}
		for i := range 8 * 30 {
			for k, v := range []float64{2500 + 10*math.Sin(float64(i)), 4 + 0.02*math.Cos(7*float64(i))} {
				l.Channels[k].T, l.Channels[k].V = append(l.Channels[k].T, float64(i)/8), append(l.Channels[k].V, v)
			}
		}
		c.happens(l)
		used := 0
		if s := Measure([]*drive.Log{l}, nil, nil, false, false); s.Held() {
			for _, h := range s.Holds {
				if h.Used && math.Abs(*h.Flow-4) < 0.02 {
					used++
				}
			}
		}
		if used != c.holds {
			t.Errorf("%s: %d holds count", what, used)
		}
	}
}
