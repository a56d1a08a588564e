package main

import (
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/capture"
	"flywitness/cmd/logger/guide"
	pages "flywitness/dashboards/live"
	"flywitness/drive"
	"flywitness/internal/numbers"
	"flywitness/sim"
)

// The curve of a drive in traffic with a healthy clutch: half a minute long, engine speed beside its locked line, no slip.
func TestCurveOfADrive(t *testing.T) {
	numbers.Only(t)
	rng := rand.New(rand.NewPCG(21, 21))
	car := sim.BenchMule()
	tr := sim.Drive(car, sim.HillyRoad(rng, 0.01, 300), []sim.Action{sim.Traffic(rng, 8, sim.MixedTraffic()), sim.Accelerate(60), sim.Cruise(60, 40)}, rng)
	l := sim.NewLogger(sim.CANMulti).Record(tr, rng)
	b := newLiveSession(car.Vehicle, guide.Answers{}, nil)
	p := &page{hub: pages.NewHub()}
	at := make([]int, len(l.Channels))
	learnt := false
	for {
		best := -1
		for i, c := range l.Channels {
			if at[i] < c.Len() && (best < 0 || c.T[at[i]] < l.Channels[best].T[at[best]]) {
				best = i
			}
		}
		if best < 0 {
			break
		}
		c := l.Channels[best]
		s := capture.Sample{Channel: c.Name, T: c.T[at[best]], V: c.V[at[best]]}
		at[best]++
		b.sample(s)
		p.sample(b, s)
		if !learnt && s.T > 300 {
			learnt = true
			b.watch.Relearn()
		}
	}
	c := p.state.Curve
	if c == nil || !p.state.Learnt || len(c.Engine) < 120 || len(c.Locked) < 100 || len(c.Gears) == 0 || len(c.Slips) > 0 {
		t.Fatalf("%+v", c)
	}
	first, last := c.Engine[0][0], c.Engine[len(c.Engine)-1][0]
	if first < -30.1 || first > -29 || last > 0 || last < -1 {
		t.Errorf("from %g to %g s", first, last)
	}
	engine := &drive.Channel{}
	for _, x := range c.Engine {
		engine.T, engine.V = append(engine.T, x[0]), append(engine.V, x[1])
	}
	apart := 0
	for _, x := range c.Locked {
		i := 0
		for i < len(engine.T)-1 && engine.T[i] < x[0] {
			i++
		}
		if math.Abs(engine.V[i]-x[1]) > 0.03*x[1] {
			apart++
		}
	}
	if apart > len(c.Locked)/20 {
		t.Errorf("%d of %d points of the locked line are 3 %% from engine speed while the clutch is locked", apart, len(c.Locked))
	}
}
