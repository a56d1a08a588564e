package calibrate

import (
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/gearstate"
	"flywitness/drive"
	"flywitness/sim"
)

// A load that a gentle drive moves by a seventh is alive; one that wanders by what its own steps are is not, and the
// next one tells the load.
func TestADeadLoadIsPassedOver(t *testing.T) {
	channel := func(name string, from, to float64) *drive.Channel {
		c := &drive.Channel{Name: name}
		for i := range 400 {
			c.T = append(c.T, float64(i)/5)
			c.V = append(c.V, from+(to-from)*float64(i%20)/19)
		}
		return c
	}
	for _, c := range []struct {
		name   string
		torque [2]float64
		want   string
	}{
		{"a gentle drive", [2]float64{10, 24}, drive.EngineTorque},
		{"stuck", [2]float64{20, 24}, drive.EngineLoad},
	} {
		l := &drive.Log{Channels: []*drive.Channel{channel(drive.EngineTorque, c.torque[0], c.torque[1]), channel(drive.EngineLoad, 15, 95)}}
		got := loadScale(&pool{period: 0.2, loads: []*drive.Log{l}, logs: []*series{{}}}, nil)
		if got.Channel != c.want {
			t.Errorf("%s: load is told by %q, want %q", c.name, got.Channel, c.want)
		}
	}
}

// A load that comes once in two seconds is behind the foot, and another one that is quick tells it, be it of a later
// place in the order. Where the speeds themselves are slow, a load that is as slow as two of their values is quick enough.
func TestQuickLoadsComeFirst(t *testing.T) {
	for _, c := range []struct {
		period, torque float64 // s between values
		want           string
	}{{0.2, 0.8, drive.EngineTorque}, {0.2, 2, drive.EngineLoad}, {0.6, 1.2, drive.EngineTorque}, {0.6, 3, drive.EngineLoad}} {
		l := &drive.Log{Channels: []*drive.Channel{{Name: drive.EngineTorque}, {Name: drive.EngineLoad}}}
		for k, every := range []float64{c.torque, 0.5} {
			for i := range 60 {
				l.Channels[k].T, l.Channels[k].V = append(l.Channels[k].T, every*float64(i)), append(l.Channels[k].V, 10+float64(70*(i%2)))
			}
		}
		got := loadScale(&pool{period: c.period, loads: []*drive.Log{l}, logs: []*series{{}}}, nil)
		if got.Channel != c.want {
			t.Errorf("%+v: load is told by %q", c, got.Channel)
		}
	}
}

// Thirty values are half a minute of a slow channel, and show what a load rests at and goes to. Of ten it may be that none
// was taken at full load.
func TestHowManyLoadsTellTheirScale(t *testing.T) {
	for n, want := range map[int]string{30: drive.EngineLoad, 10: ""} {
		l := &drive.Log{Channels: []*drive.Channel{{Name: drive.EngineLoad}}}
		for i := range n {
			l.Channels[0].T, l.Channels[0].V = append(l.Channels[0].T, float64(i)), append(l.Channels[0].V, 20+float64(70*(i%2)))
		}
		if got := loadScale(&pool{period: 1, loads: []*drive.Log{l}, logs: []*series{{}}}, nil); got.Channel != want {
			t.Errorf("%d values: load is told by %q, want %q", n, got.Channel, want)
		}
	}
}

// Load is told by a channel that was there for most of the time, however many logs were broken off at once.
func TestLoadOfMostOfTheTime(t *testing.T) {
	log := func(values int) *drive.Log {
		c := &drive.Channel{Name: drive.EngineLoad}
		for i := range values {
			c.T, c.V = append(c.T, float64(i)), append(c.V, 20+float64(70*(i%2)))
		}
		return &drive.Log{Channels: []*drive.Channel{c}}
	}
	for _, c := range []struct {
		lasts []float64 // s of each log, of which the last has load
		want  string
	}{{[]float64{5, 10, 60}, drive.EngineLoad}, {[]float64{300, 60}, ""}} {
		p := &pool{period: 1}
		for i, s := range c.lasts {
			p.loads, p.logs = append(p.loads, log(0)), append(p.logs, &series{input: i, lasts: s})
		}
		p.loads[len(c.lasts)-1] = log(60)
		if got := loadScale(p, nil); got.Channel != c.want {
			t.Errorf("logs of %v s: load is told by %q, want %q", c.lasts, got.Channel, c.want)
		}
	}
}

// An accelerator that rests at 15 % is its sensor's share of the supply voltage: it is fully down at about 75 %, where
// one that rests at nothing goes to 90 % and beyond.
func TestAcceleratorsOfTwoScales(t *testing.T) {
	for _, c := range []struct{ rests, full float64 }{{0, 90}, {15, 75}} {
		l := &drive.Log{Channels: []*drive.Channel{{Name: drive.Pedal}}}
		for i := range 400 {
			l.Channels[0].T = append(l.Channels[0].T, float64(i)/5)
			l.Channels[0].V = append(l.Channels[0].V, c.rests+float64(i%20))
		}
		got := loadScale(&pool{period: 0.2, loads: []*drive.Log{l}, logs: []*series{{}}}, nil)
		if got.Closed != c.rests || got.Full != c.full {
			t.Errorf("rests at %.0f: from %.0f to %.0f", c.rests, got.Closed, got.Full)
		}
	}
}

// Load goes with force in town as well. At a crawl the steps of road speed drown the acceleration, whatever the load says.
func TestForceFollowsLoadFromTownSpeedsOn(t *testing.T) {
	for _, c := range []struct {
		kmh   float64
		valid bool
	}{{30, true}, {10, false}} {
		const n = 400
		tr, log, gear := &gearstate.Track{}, &series{}, make([]int8, n)
		for i := range n {
			load := float64(i%20) / 20
			tr.Load, tr.SpeedKmh = append(tr.Load, load), append(tr.SpeedKmh, c.kmh)
			log.Speed, log.a = append(log.Speed, c.kmh), append(log.a, 6*load)
		}
		p := &pool{logs: []*series{log}}
		if m := p.forceMap([]*gearstate.Track{tr}, &choice{gear: [][]int8{gear}}, []float64{50}); m.Valid != c.valid || m.Valid && m.B1 <= 0 {
			t.Errorf("at %.0f km/h: %+v", c.kmh, m)
		}
	}
}

// A foot on the brake, at no load, tells nothing of the engine. At a fifth of full load a car gains speed downhill and
// loses some uphill, and both count.
func TestBrakesDoNotBendTheForce(t *testing.T) {
	tr, log := &gearstate.Track{}, &series{}
	for i := range 900 {
		load, a := 0.2*float64(i%3), []float64{-8, 0, 2}[i%3]
		if i%3 > 0 {
			a += float64(2*(i%2) - 1)
		}
		tr.Load, tr.SpeedKmh = append(tr.Load, load), append(tr.SpeedKmh, 60)
		log.Speed, log.a = append(log.Speed, 60), append(log.a, a)
	}
	m := (&pool{logs: []*series{log}}).forceMap([]*gearstate.Track{tr}, &choice{gear: [][]int8{make([]int8, 900)}}, []float64{50})
	for load, a := range map[float64]float64{0.2: 0, 0.4: 2} {
		got, want := m.B0+m.B1*load, gearstate.PhiFromAcceleration(a, 60)/50
		if !m.Valid || math.Abs(got-want) > 1e-6 {
			t.Errorf("load %.1f: %.6f, want %.6f", load, got, want)
		}
	}
}

// The error of the time stamps is learnt within a factor of two, on a quick link as on a slow one. A cruise on which
// nothing changes does not tell it: what is taken lies between that of the two.
func TestErrorOfTimeStampsIsLearnt(t *testing.T) {
	quick, slow := sim.NewLogger(sim.CANMulti), sim.NewLogger(sim.KLine)
	car := sim.BenchMule()
	for _, lg := range []sim.Logger{quick, slow} {
		rng := rand.New(rand.NewPCG(3, 3))
		truth := sim.Drive(car, sim.LevelRoad(), []sim.Action{sim.Traffic(rng, 10, sim.MixedTraffic())}, rng)
		cal, _ := Learn([]*drive.Log{lg.Record(truth, rng)}, nil)
		if r := cal.TimingSD / lg.Jitter; r < 0.5 || r > 2 {
			t.Errorf("%v: %.3f s, truly %.3f", lg.Link, cal.TimingSD, lg.Jitter)
		}
	}
	p := &pool{}
	if got := p.timing(&solution{}, &choice{}); got < quick.Jitter || got > slow.Jitter {
		t.Errorf("a cruise that tells nothing: %.3f s", got)
	}
}

// inSecond is a steady drive of n values a step (s) apart, locked in second, of which no load is known.
func inSecond(n int, step float64) (*gearstate.Track, *series) {
	tr, log := &gearstate.Track{}, &series{}
	for i := range n {
		tr.T, tr.SpeedKmh, tr.Load = append(tr.T, step*float64(i)), append(tr.SpeedKmh, 30), append(tr.Load, math.NaN())
		tr.Gear, tr.Clutch = append(tr.Gear, 2), append(tr.Clutch, gearstate.Locked)
		log.a, log.Speed = append(log.a, 0), append(log.Speed, 30)
	}
	return tr, log
}

// In town a gear is held for some three seconds: the middle of it is settled, what lies next to the change is not.
func TestThreeSecondsInAGearSettle(t *testing.T) {
	tr, log := inSecond(30, 0.1)
	log.a[12], log.a[13] = 5, 5 // km/h/s: the rest is below three quarters of the torque that was reached
	tr.Clutch[0], tr.Clutch[29] = gearstate.Open, gearstate.Open
	p := &pool{logs: []*series{log}, period: 0.1}
	gear := p.settled([]*gearstate.Track{tr}, &gearstate.Model{Gears: []gearstate.Gearing{{Number: 2, K: 60}}}).gear[0]
	if gear[15] != 0 || gear[2] >= 0 || gear[27] >= 0 {
		t.Errorf("settled: %v", gear)
	}
}

// On a link of a value every half second a gear that is held for four seconds settles as well, but for the value beside
// the change.
func TestFourSecondsOfASlowLinkSettle(t *testing.T) {
	tr, log := inSecond(9, 0.5)
	log.a[4], log.a[5] = 5, 5 // km/h/s: the rest is below three quarters of the torque that was reached
	tr.Clutch[0], tr.Clutch[8] = gearstate.Open, gearstate.Open
	p := &pool{logs: []*series{log}, period: 0.5}
	gear := p.settled([]*gearstate.Track{tr}, &gearstate.Model{Gears: []gearstate.Gearing{{Number: 2, K: 60}}}).gear[0]
	if gear[1] >= 0 || gear[2] != 0 || gear[6] != 0 || gear[7] >= 0 {
		t.Errorf("settled: %v", gear)
	}
}

// A hundred values tell how far stamps are off, here by a tenth of a second to either side; thirty do not.
func TestHowManyValuesTellTheStamps(t *testing.T) {
	const off, k = 0.1, 37.7
	for n, want := range map[int]float64{100: off, 30: usualTiming} {
		p := steadyPool(k, 2500, 0.3)
		s, gear := p.logs[0], make([]int8, 600)
		for i := range s.Speed {
			s.Speed[i] += off * s.a[i] * float64(2*(i%2)-1)
			if step := 600 / n; i%step != i/step%2 || i < 10 {
				gear[i] = -1
			}
		}
		c := &choice{gear: [][]int8{gear}}
		sol := &solution{inverse: []float64{1 / k}, rows: p.fitRows(c)}
		if got := p.timing(sol, c); math.Abs(got-want) > 0.02 {
			t.Errorf("%d values: %.3f s, want %.3f", n, got, want)
		}
	}
}

// What a control unit sends that knows no torque, 3276.7 or -327.7, is none.
func TestLoadThatNoChannelHas(t *testing.T) {
	c := &drive.Channel{Name: drive.EngineTorque}
	for i := range 60 {
		c.T, c.V = append(c.T, float64(i)/5), append(c.V, 10+float64(75*(i%2)))
	}
	c.V[20], c.V[40] = 3276.7, -327.7
	l := &drive.Log{Channels: []*drive.Channel{c}}
	got := loadScale(&pool{period: 0.2, loads: []*drive.Log{l}, logs: []*series{{}}}, nil)
	if got.Closed != 10 || got.Full != 85 {
		t.Errorf("from %.0f to %.0f %%", got.Closed, got.Full)
	}
}
