package gearstate

import (
	"math/rand/v2"
	"slices"
	"testing"

	"flywitness/drive"
	"flywitness/internal/numbers"
	"flywitness/sim"
)

// A drive of which steps are put off is decoded as one in which every step is made: on quick and slow links, with a
// clutch that slips, with coarse engine speed, with tyres that creep.
func TestStepsThatArePutOffChangeNothing(t *testing.T) {
	numbers.Only(t)
	rng := rand.New(rand.NewPCG(5, 2))
	for _, link := range []sim.Link{sim.KLine, sim.CANSequential, sim.CANMulti} {
		for _, weak := range []bool{false, true} {
			car := sim.BenchMule()
			if weak {
				car = car.Tired(0.6, rng)
			}
			truth := sim.Drive(car, sim.LevelRoad(), []sim.Action{sim.Traffic(rng, 10, sim.MixedTraffic())}, rng)
			l := sim.NewLogger(link).Record(truth, rng)
			m := Model{SpeedChannel: drive.VehicleSpeed, Step: 1, Lag: 0.25, LagSD: 0.01, TimingSD: 0.02, Idle: 850}
			m.Load = LoadScale{Channel: drive.EngineLoad, Closed: 15, Full: 95}
			for g := range car.Vehicle.Gearbox.Ratios {
				m.Gears = append(m.Gears, Gearing{Number: g + 1, K: car.Vehicle.RPMPerKmh(g + 1), SD: 0.05})
			}
			s := ReadSignals(l, m.SpeedChannel)
			s.ReadLoad(l, m.Load.Channel)
			m.Period = s.SpeedT[1] - s.SpeedT[0]
			for _, change := range []func(m *Model){func(*Model) {}, func(m *Model) { m.RPMStep = 40 },
				func(m *Model) { m.Creep, m.Force = 0.12, ForceMap{Valid: true, B0: -0.0007, B1: 0.005} },
				func(m *Model) { m.Gears = m.Gears[2:3] }, func(m *Model) { m.Step = 5 }} {
				m := m
				change(&m)
				some, every := NewTrack(len(s.Speed)), NewTrack(len(s.Speed))
				some.Model, every.Model = m, m
				n := len(s.Speed)
				d, e := partDecoder(some, s, 0, n, new(path)), partDecoder(every, s, 0, n, new(path))
				fresh := make([]float64, n)
				some.Accel = s.Accelerations(m.Period)
				every.Accel = some.Accel
				d.align.fill(some, 0, n, fresh)
				e.align.fill(every, 0, n, fresh)
				putOff, made := 0, 0
				for i := range n {
					did := d.follow(i, fresh[i])
					d.path.moves = append(d.path.moves, did)
					e.path.lead.leave()
					e.path.moves = append(e.path.moves, e.follow(i, fresh[i]))
					switch did {
					case putOffStep:
						putOff++
					case stepped:
						made++
						if !slices.Equal(d.lat.score, e.lat.score) {
							t.Fatalf("%v, weak %v, %+v: at %.2f s %v, want %v", link, weak, m, some.T[i], d.lat.score, e.lat.score)
						}
					}
				}
				d.path.trace()
				e.path.trace()
				if !slices.Equal(some.Gear, every.Gear) || !slices.Equal(some.Clutch, every.Clutch) {
					t.Errorf("%v, weak %v, %+v: not the same", link, weak, m)
				}
				if putOff < made && len(m.Gears) > 1 {
					t.Errorf("%v, weak %v, %+v: %d steps put off, %d made", link, weak, m, putOff, made)
				}
			}
		}
	}
}

// What bounds the states of an observation bounds them.
func TestLeadIsABound(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 9))
	m := Model{Step: 1, Idle: 850, Period: 0.1, Gears: []Gearing{{Number: 1, K: 120}, {Number: 2, K: 68}, {Number: 3, K: 47},
		{Number: 4, K: 36}, {Number: 5, K: 29}}}
	led := 0
	for range 20000 {
		m.Step, m.RPMStep = []float64{0, 1, 1.6, 5}[rng.IntN(4)], []float64{0, 10, 50}[rng.IntN(3)]
		l := newTrellis(&m)
		place := rng.IntN(len(m.Gears))
		v, a := 130*rng.Float64(), 6*rng.NormFloat64()
		o := Observation{DT: 0.4 * rng.Float64(), V: v, A: a, N: m.Gears[place].K * (v + rng.NormFloat64()),
			NDot: m.Gears[place].K*a + 200*rng.NormFloat64(), Load: 1.2 * rng.Float64(), Fresh: 0.2 * rng.Float64()}
		lead, leave := l.lead(place, &o)
		if !(lead > 0) {
			continue
		}
		led++
		at := o.moment()
		l.emissions(&o, &at)
		l.rates(o.DT)
		stays := l.emit[1+place] + l.logs.stayL
		for j, x := range l.emit {
			if j != 1+place && stays-x < lead {
				t.Errorf("state %d is behind by %g, said to be by %g: %+v", j, stays-x, lead, o)
			}
		}
		if lost := stays - l.emit[0] - l.logs.lToO + at.kept(&o); lost > leave+1e-3 {
			t.Errorf("opening the clutch loses %g, said to lose %g: %+v", lost, leave, o)
		}
	}
	if led < 2000 {
		t.Errorf("a gear leads %d times only", led)
	}
}
