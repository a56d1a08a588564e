package torquecurve

import (
	"math"
	"slices"
	"testing"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/slip"
	"flywitness/drive"
)

// drawn is what a hand-made pull is like; the zero value is third gear at 60 km/h, told by the load channel.
type drawn struct {
	seconds float64
	gear    int
	kmh     float64
	slipPct float64
	slips   []slip.Event
	byFoot  bool
}

// source is the pull on a track of ten samples a second, with what tells full load; engine speed rises by 800 rpm
// each second.
func (d drawn) source() (*Source, *foot) {
	if d.gear == 0 {
		d.gear = 3
	}
	if d.kmh == 0 {
		d.kmh = 60
	}
	rpm := &drive.Channel{Name: drive.EngineSpeed}
	s := &Source{Track: &gearstate.Track{}, Slips: d.slips}
	s.Track.Model.Period = 0.1
	full := &foot{from: 90, load: !d.byFoot}
	for i := range int(d.seconds*10 + 1.5) {
		t := float64(i) / 10
		s.Track.T, s.Track.Gear, s.Track.SpeedKmh = append(s.Track.T, t), append(s.Track.Gear, int8(d.gear)),
			append(s.Track.SpeedKmh, d.kmh)
		s.Track.RPM, s.Track.Clutch = append(s.Track.RPM, 0), append(s.Track.Clutch, gearstate.Locked)
		s.Trace.T, s.Trace.SlipPct = append(s.Trace.T, t), append(s.Trace.SlipPct, d.slipPct)
		s.Trace.Slope, s.Trace.SlopeSD = append(s.Trace.Slope, 0), append(s.Trace.SlopeSD, 0.002)
		full.t, full.v = append(full.t, t), append(full.v, 100)
		rpm.T, rpm.V = append(rpm.T, t), append(rpm.V, 2000+800*t)
	}
	s.Log = &drive.Log{Channels: []*drive.Channel{rpm}}
	return s, full
}

// What of a drive is a pull whose torque may be believed. A pull in second or third is over in two to four seconds,
// so that little may be left out of it; what is left out at its start is the time in which air and boost come, longer
// where only the foot tells.
func TestWhichStretchesArePulls(t *testing.T) {
	slipsAt := func(at ...float64) (out []slip.Event) {
		for _, x := range at {
			out = append(out, slip.Event{Start: x, End: x + 1})
		}
		return out
	}
	for name, c := range map[string]struct {
		drawn
		want int
	}{
		"two seconds and a half, by load":        {drawn{seconds: 2.5}, 1},
		"one second and a half, by load":         {drawn{seconds: 1.5}, 0},
		"four seconds, by foot":                  {drawn{seconds: 4, byFoot: true}, 1},
		"two seconds, by foot":                   {drawn{seconds: 2, byFoot: true}, 0},
		"second gear from a walking pace on":     {drawn{seconds: 3, gear: 2, kmh: 30}, 1},
		"a walking pace":                         {drawn{seconds: 3, gear: 2, kmh: 9}, 0},
		"first gear":                             {drawn{seconds: 3, gear: 1}, 0},
		"a gear that is not known":               {drawn{seconds: 3, gear: 7}, 0},
		"creep of a locked clutch":               {drawn{seconds: 3, kmh: 100, slipPct: 1}, 1},
		"two and a half per cent at 100 km/h":    {drawn{seconds: 3, kmh: 100, slipPct: 2.5}, 0},
		"five per cent at 30 km/h":               {drawn{seconds: 3, kmh: 30, slipPct: 5}, 0},
		"one step of a display at 30 km/h":       {drawn{seconds: 3, kmh: 30, slipPct: 2.5}, 1},
		"five seconds between two slips":         {drawn{seconds: 10, slips: slipsAt(0.2, 6.2, 8.5)}, 1},
		"one second and a half between slips":    {drawn{seconds: 6, slips: slipsAt(0.2, 2.7, 5)}, 0},
		"pulls before and after a slip, by load": {drawn{seconds: 9, slips: slipsAt(4)}, 2},
	} {
		s, full := c.source()
		if got := s.stretches(full, handCar()); len(got) != c.want {
			t.Errorf("%s: %d stretches, want %d: %v", name, len(got), c.want, got)
		}
	}
}

// A pull at part throttle is the strongest that a log shows about its engine speed, and a manifold pressure tells that
// there is more.
func TestAPullAtPartLoadIsNoFullLoad(t *testing.T) {
	for load, want := range map[float64]int{0.7: 0, 0.97: 1, math.NaN(): 1} {
		s, _ := drawn{seconds: 4}.source()
		s.Track.Load = slices.Repeat([]float64{load}, s.Track.Len())
		if got := s.stretches(nil, handCar()); len(got) != want {
			t.Errorf("load %.2f: %d stretches at full load, want %d", load, len(got), want)
		}
	}
}

// Boost comes after the foot: nothing of the first half second counts by load, nothing of the first second by foot.
func TestTheStartOfAPullIsLeftOut(t *testing.T) {
	for byFoot, least := range map[bool]float64{false: 0.5, true: 1} {
		s, full := drawn{seconds: 6, byFoot: byFoot}.source()
		x := s.stretches(full, handCar())
		if len(x) != 1 || s.Track.T[x[0].lo] < least || s.Track.T[x[0].lo] > 2*least {
			t.Errorf("by foot %v: %v", byFoot, x)
		}
	}
}

// By hand: 800 rpm each second are 83.78 rad/s^2. Points follow each other by less than the curve's knots, or its
// bends are lost.
func TestPointsOfAPullByHand(t *testing.T) {
	s, full := drawn{seconds: 4}.source()
	points := s.points(s.engine(), s.stretches(full, handCar())[0], 5)
	if len(points) < 4 {
		t.Fatalf("%d points of more than three seconds", len(points))
	}
	for i, p := range points {
		if p.Pull != 5 || p.Gear != 3 || math.Abs(p.Alpha-800*math.Pi/30) > 1e-6 || p.SlopeSD != 0.002 {
			t.Errorf("%+v", p)
		}
		if i > 0 && p.RPM-points[i-1].RPM > knotEvery {
			t.Errorf("%.0f rpm from one point to the next", p.RPM-points[i-1].RPM)
		}
	}
}

// A value that is older than a second or two tells nothing of the foot: neither does a channel that comes so rarely,
// nor a hole in one.
func TestAnOldValueTellsNothingOfTheFoot(t *testing.T) {
	pedal := func(step, holeFrom, holeTo float64) *drive.Log {
		c := &drive.Channel{Name: drive.Pedal}
		for i := range 60 {
			at, v := float64(i)*step, 100.0
			if i%10 == 0 {
				v = 10
			}
			if at < holeFrom || at > holeTo {
				c.T, c.V = append(c.T, at), append(c.V, v)
			}
		}
		return &drive.Log{Channels: []*drive.Channel{c}}
	}
	if footOf(pedal(2.5, 1, 0), nil) != nil {
		t.Error("a value every 2.5 s tells when the foot was down")
	}
	f := footOf(pedal(0.5, 21, 26.5), nil)
	if f == nil || !f.open(17.1) || f.open(23.8) {
		t.Error("the middle of a hole of six seconds is full load, or what lies before it is not")
	}
}

// The falling end of a curve is as strong as it can be there: pulls are set against each other near one engine speed,
// not over the whole range. At 0.03 N m for each rpm the engine gives a quarter more 1000 rpm further down at 5500
// rpm, and 13 % more 400 rpm further down; only the latter is near.
func TestTheFallingEndOfACurveIsStrong(t *testing.T) {
	c := handCar()
	points := pulls(func(rpm float64) float64 { return 200 - 0.03*(rpm-2000) }, c, 0, seeded())
	kept := strongest(points, c)
	if len(kept) < len(points)*9/10 {
		t.Errorf("%d of %d points of full load kept", len(kept), len(points))
	}
	high := 0
	for _, p := range kept {
		if p.RPM > 5000 {
			high++
		}
	}
	if high == 0 {
		t.Error("the upper end is lost")
	}
}
