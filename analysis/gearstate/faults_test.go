package gearstate

import (
	"math"
	"slices"
	"testing"

	"flywitness/drive"
)

// shown is what a link shows of a function of time: every so many seconds, in steps.
func shown(seconds, every, step float64, f func(at float64) float64) (t, v []float64) {
	for i := range int(seconds/every + 0.5) {
		at := every * float64(i)
		t, v = append(t, at), append(v, step*math.Round(f(at)/step))
	}
	return t, v
}

// hold keeps a function at its value from one time to another.
func hold(f func(at float64) float64, from, to float64) func(at float64) float64 {
	return func(at float64) float64 {
		if at > from && at < to {
			return f(from)
		}
		return f(at)
	}
}

// ramp rises evenly from a value, so much a second.
func ramp(from, rate float64) func(at float64) float64 {
	return func(at float64) float64 { return from + rate*at }
}

// A busy control unit repeats its last values for most of a second and then leaps to where the engine is; an engine
// that keeps its speed stands still and does not leap.
func TestStuckStretches(t *testing.T) {
	for _, c := range []struct {
		name  string
		every float64
		rpm   func(at float64) float64
		want  int
	}{
		{"0.8 s at ten values a second", 0.1, hold(ramp(2000, 150), 5, 5.8), 1},
		{"1.6 s at two and a half a second", 0.4, hold(ramp(2000, 150), 4.8, 6.4), 1},
		{"a gentle pull: it leaps by 20 rpm", 0.1, hold(ramp(2000, 22), 5, 5.85), 1},
		{"nothing repeated", 0.1, ramp(2000, 150), 0},
		{"0.2 s", 0.1, hold(ramp(2000, 150), 5, 5.2), 0},
		{"an engine that keeps its speed", 0.1, ramp(2000, 0), 0},
		{"that keeps it for a second and a half and moves on by the way", 0.1, hold(ramp(2000, 4), 5, 6.5), 0},
	} {
		at, v := shown(20, c.every, 0.25, c.rpm)
		if got := stuckStretches(at, v, nil, nil, 0); len(got) != c.want {
			t.Errorf("%s: stuck at %v", c.name, got)
		}
	}
}

// An engine that keeps its speed for a second and a half and moves on by the way was not read meanwhile where road speed
// leaps by four of its steps at the end. Steps of a tenth are too fine to leap.
func TestStuckEngineBesideALeap(t *testing.T) {
	for step, want := range map[float64]int{0.5: 1, 0.1: 0} {
		at, v := shown(20, 0.1, 0.25, hold(ramp(2000, 4), 5, 6.5))
		st, sv := shown(20, 0.1, step, hold(ramp(40, 4*step/1.5), 5, 6.5))
		if got := stuckStretches(at, v, st, sv, step); len(got) != want {
			t.Errorf("steps of %.1f km/h: stuck at %v", step, got)
		}
	}
}

// A wheel sensor that is silent for a second shows the old speed and then leaps to the new one, as no car does. A
// driver who keeps his speed, and one who brakes, do no such thing.
func TestFrozenSpeed(t *testing.T) {
	for _, c := range []struct {
		name  string
		every float64
		speed func(at float64) float64
		want  int
	}{
		{"two seconds of a pull", 0.1, hold(ramp(50, 4), 5, 7), 1},
		{"two seconds of a hard pull on a slow link", 0.4, hold(ramp(50, 5), 4.8, 6.4), 1},
		{"nothing", 0.1, ramp(50, 4), 0},
		{"a cruise of ten seconds, then a push", 0.1, func(at float64) float64 { return 80 + 6*max(0, min(1, 10*(at-10))) },
			0},
		{"braking", 0.1, hold(ramp(120, -4), 5, 7), 0},
		{"standing, and off", 0.1, func(at float64) float64 { return max(0, 12*(at-5)) }, 0},
	} {
		at, v := shown(16, c.every, 1, c.speed)
		if got := frozen(at, v, 1); len(got) != c.want {
			t.Errorf("%s: frozen at %v", c.name, got)
		}
	}
}

// A receiver without sky shows its last speed for as long as a tunnel takes, and the engine goes on. One who keeps his
// speed lets the engine turn as it did; in whole km/h he may also have a clutch that slips.
func TestSilentReceiver(t *testing.T) {
	tunnel := hold(ramp(60, 0.5), 5, 35)
	for _, c := range []struct {
		name   string
		step   float64
		speed  func(at float64) float64
		engine func(at float64) float64
		want   int
	}{
		{"a tunnel", 0.1, tunnel, ramp(2000, 17), 1},
		{"whole km/h", 1, tunnel, ramp(2000, 17), 0},
		{"three seconds without sky", 0.1, hold(ramp(60, 2), 5, 8), ramp(2000, 67), 0},
		{"a short tunnel, in which the engine gains 2 %", 0.1, hold(ramp(60, 0.3), 5, 9.5), ramp(2000, 10), 1},
		{"the same where speeds often are", 0.1, hold(hold(ramp(60, 0.3), 5, 9.5), 20, 24), ramp(2000, 10), 0},
		{"an even speed", 0.1, ramp(60, 0), ramp(2000, 1), 0},
		{"standing, and blipping", 0.1, ramp(0, 0), ramp(800, 100), 0},
	} {
		at, v := shown(40, 1, c.step, c.speed)
		nt, n := shown(40, 0.1, 0.25, c.engine)
		if got := silent(at, v, nt, n, c.step); len(got) != c.want {
			t.Errorf("%s: silent at %v", c.name, got)
		}
	}
	road := func(at float64) float64 { return 80 + 9*math.Sin(at/12) }
	at, v := shown(120, 1, 0.1, hold(road, 20, 60))
	nt, n := shown(120, 0.1, 0.25, func(at float64) float64 { return 25 * road(at) })
	l := &drive.Log{Channels: []*drive.Channel{{Name: drive.EngineSpeed, T: nt, V: n}, {Name: drive.GPSSpeed, T: at, V: v}}}
	if s := ReadSignals(l, drive.GPSSpeed); len(s.Speed) > len(v)-35 {
		t.Errorf("%d of %d speeds are taken", len(s.Speed), len(v))
	}
}

// A loose plug lets road speed fall away at once and come back at once. Brakes do not, nor a car that stops and is
// shown nothing below walking pace.
func TestDroppedSpeed(t *testing.T) {
	drop := func(v, to, from, until float64) func(at float64) float64 {
		return func(at float64) float64 {
			if at > from && at < until {
				return to
			}
			return v
		}
	}
	for _, c := range []struct {
		name  string
		every float64
		speed func(at float64) float64
		want  int
	}{
		{"a second at 80 km/h", 0.1, drop(80, 0, 5, 6), 1},
		{"in town", 0.1, drop(30, 0, 5, 6), 1},
		{"by a sixth, on a slow link", 0.4, drop(80, 67, 5, 7), 1},
		{"at walking pace", 0.1, drop(10, 0, 5, 6), 0},
		{"ten seconds: another drive", 0.1, drop(80, 0, 3, 13), 0},
		{"braked, and off again", 0.4, func(at float64) float64 { return 30 + 50*min(1, math.Abs(at-8)/4.5) }, 0},
		{"by a step or two", 0.1, drop(80, 78, 5, 6), 0},
		{"by five steps of thirty", 0.1, drop(30, 25, 5, 6), 1},
	} {
		at, v := shown(16, c.every, 1, c.speed)
		if got := dropped(at, v, 1); len(got) != c.want {
			t.Errorf("%s: dropped at %v", c.name, got)
		}
	}
}

// A speed whose scale ends stands while the engine goes on as before. Where the engine runs away from a car that keeps
// its speed, where both do, and where the driver had kept that speed for long, no scale ends.
func TestCappedSpeed(t *testing.T) {
	pulls := func(at float64) float64 { return 60 + 4*math.Max(0, math.Min(at, 10)-2) } // from 2 to 10 s, to 92 km/h
	cut := func(v float64) func(at float64) float64 {
		return func(at float64) float64 { return math.Min(v, pulls(at)) }
	}
	for _, c := range []struct {
		name   string
		every  float64
		speed  func(at float64) float64
		engine func(at float64) float64 // over speed
		want   int
	}{
		{"ends at 80", 0.1, cut(80), func(at float64) float64 { return 45 * pulls(at) }, 1},
		{"ends at 80 on a slow link", 0.4, cut(80), func(at float64) float64 { return 45 * pulls(at) }, 1},
		{"the driver lifts", 0.1, pulls, func(at float64) float64 { return 45 * pulls(at) }, 0},
		{"the engine runs away", 0.1, cut(80), func(at float64) float64 {
			return 45 * (pulls(at) + 10*math.Max(0, math.Min(at, 10)-7))
		}, 0},
		{"a steady car, and a clutch that creeps", 0.1, func(float64) float64 { return 92 },
			func(at float64) float64 { return 45 * pulls(at) }, 0},
	} {
		at, v := shown(16, c.every, 1, c.speed)
		nt, n := shown(16, c.every, 1, c.engine)
		if got := capped(at, v, nt, n, 1); len(got) != c.want {
			t.Errorf("%s: capped at %v", c.name, got)
		}
	}
}

// An all-ones reply (16383.75 rpm is as much as two bytes hold, 255 km/h as one does; imported logs hold more) and
// a torn number are no reading; a racing engine and a fast car are.
func TestReadingErrorsGo(t *testing.T) {
	l := &drive.Log{Channels: []*drive.Channel{
		{Name: drive.EngineSpeed, T: []float64{0, 1, 2, 3}, V: []float64{12000, 65535, -1, 11900}},
		{Name: drive.VehicleSpeed, T: []float64{0, 1, 2, 3}, V: []float64{320, 655.35, -3, 321}}}}
	s := ReadSignals(l, drive.VehicleSpeed)
	if !slices.Equal(s.RPM, []float64{12000, 11900}) || !slices.Equal(s.Speed, []float64{320, 321}) {
		t.Errorf("%v %v", s.RPM, s.Speed)
	}
	l.Channels[0].V[1], l.Channels[1].V[1] = 25000, 600
	if s := ReadSignals(l, drive.VehicleSpeed); len(s.RPM) != 2 || len(s.Speed) != 2 {
		t.Errorf("%v %v", s.RPM, s.Speed)
	}
	d := NewDecoder(Model{Gears: []Gearing{{Number: 1, K: 100}}, Period: 1})
	d.PushRPM(0, 25000)
	d.PushSpeed(0, 600)
	if got := d.Close(); len(got) != 0 {
		t.Errorf("live: %v", got)
	}
}

// Engine speed that falls silent does not hold up a live drive: road speed goes on, and the state is not known.
func TestSilentEngineSpeedDoesNotHoldUpALiveDrive(t *testing.T) {
	d := NewDecoder(Model{Gears: []Gearing{{Number: 4, K: 38}}, Period: 0.1, Step: 1, Idle: 850})
	known, unknown := 0, 0
	for i := range 300 {
		at := 0.1 * float64(i)
		states := d.PushSpeed(at, 60)
		if at < 10 {
			states = append(states, d.PushRPM(at+0.05, 2280)...)
		}
		for _, s := range states {
			if s.Clutch == Unknown {
				unknown++
			} else {
				known++
			}
		}
	}
	if known < 90 || unknown < 150 {
		t.Errorf("of 10 s with engine speed and 20 s without, %d and %d tenths of a second were told before the end", known,
			unknown)
	}
}

// A steady car stands still for many replies of a slow link, and leaps over steps when it speeds up again, or brakes for a
// bend: nothing was held, since it moves from one reply to the next meanwhile.
func TestSteadyCarOnSlowLinkIsNoRefresh(t *testing.T) {
	for what, speed := range map[string]func(at float64) float64{
		"steady for 10 s, 3 km/h a second for 10 s, steady, and down again": func(at float64) float64 {
			in := math.Mod(at, 40)
			return 60 + 3*(math.Max(0, math.Min(10, in-10))-math.Max(0, in-30))
		},
		"steady but for a step now and then, and a bend each minute": func(at float64) float64 {
			in := math.Mod(at, 60)
			return 60 + math.Mod(math.Floor(in/6), 2) - 3*math.Max(0, math.Min(2, math.Min(in-48, 58-in)))
		},
	} {
		at, v := shown(900, 1, 1, speed)
		if every := refresh(at, v, 1); every != 0 {
			t.Errorf("%s: refreshed every %g s", what, every)
		}
	}
}

// Speed that is refreshed once a second is recognised by its waits, again and again; a few leaps in a long drive
// are something else.
func TestFewLeapsAreNoRefresh(t *testing.T) {
	wave := func(at float64) float64 { return 60 + 25*math.Sin(2*math.Pi*at/30) }
	once := func(at float64) float64 { return wave(math.Floor(at + 1e-9)) }
	for _, c := range []struct {
		name  string
		speed func(at float64) float64
		want  bool
	}{
		{"half a minute", func(at float64) float64 {
			if at > 100 && at < 130 {
				return once(at)
			}
			return 60
		}, true},
		{"a gentle drive: one refresh in ten leaps over a step",
			func(at float64) float64 { return 30 + 1.1*math.Abs(120-math.Floor(at+1e-9)) }, true},
		{"six leaps", func(at float64) float64 {
			if at > 104 && at < 110 {
				return once(at)
			}
			return 60
		}, false},
		{"half a minute of an hour in which it is fresh", func(at float64) float64 {
			if at > 100 && at < 130 {
				return once(at)
			}
			return wave(at)
		}, false},
	} {
		seconds := 240.0
		if c.name == "half a minute of an hour in which it is fresh" {
			seconds = 3600
		}
		at, v := shown(seconds, 0.1, 1, c.speed)
		if every := refresh(at, v, 1); (every > 0.9 && every < 1.1) != c.want {
			t.Errorf("%s: refreshed every %g s", c.name, every)
		}
	}
}

// A long drive is cut where the car stands for some seconds, not where it hardly stops.
func TestWhereALongDriveIsCut(t *testing.T) {
	for stop, want := range map[float64]int{0.5: 0, 3.5: 1, 30: 1} {
		var s Signals
		s.SpeedT, s.Speed = shown(2000, 0.1, 1, func(at float64) float64 {
			if at > 1000 && at < 1000+stop {
				return 0
			}
			return 60
		})
		if got := standstills(s, 0.1); len(got) != want {
			t.Errorf("a stop of %g s: cut at %v", stop, got)
		}
	}
}

// Acceleration is that of the moment: a second before a car takes off it is none, and a second later all.
func TestAccelerationOfTheMoment(t *testing.T) {
	l := &drive.Log{Channels: []*drive.Channel{{Name: drive.EngineSpeed}, {Name: drive.VehicleSpeed}}}
	speed := func(at float64) float64 { return 60 + 6*max(0, at-10) }
	l.Channels[0].T, l.Channels[0].V = shown(20, 0.1, 0.25, func(at float64) float64 { return 38 * speed(at) })
	l.Channels[1].T, l.Channels[1].V = shown(20, 0.1, 0.1, speed)
	tr := Decode(l, Model{SpeedChannel: drive.VehicleSpeed, Gears: []Gearing{{Number: 4, K: 38}}, Step: 0.1, Period: 0.1,
		Idle: 850})
	for at, want := range map[int]float64{90: 0, 110: 6} {
		if a := tr.Accel[at]; math.Abs(a-want) > 0.2 {
			t.Errorf("at %.0f s: %.2f km/h/s, truly %g", tr.T[at], a, want)
		}
	}
}

// Samples that come late, twice or without a time are left out of a live drive, and time never runs back.
func TestLiveSamplesOutOfOrder(t *testing.T) {
	d := NewDecoder(Model{Gears: []Gearing{{Number: 4, K: 38}}, Period: 0.1, Step: 1, Idle: 850})
	var states []State
	for i := range 200 {
		at := 0.1 * float64(i)
		for _, late := range []float64{0, -0.25, 0, math.NaN(), math.Inf(1)} {
			states = append(states, d.PushRPM(at+late, 2280+1000*math.Abs(late))...)
			states = append(states, d.PushSpeed(at+late, 60)...)
			states = append(states, d.PushLoad(at+late, 20)...)
		}
	}
	states = append(states, d.Close()...)
	if len(states) != 200 {
		t.Errorf("%d states of 200 road speeds", len(states))
	}
	for i, s := range states {
		if i > 0 && !(s.T > states[i-1].T) || s.Valid && math.Abs(s.N-2280) > 1 {
			t.Fatalf("after %g s at %g s: %g rpm", states[max(0, i-1)].T, s.T, s.N)
		}
	}
}
