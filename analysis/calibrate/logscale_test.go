package calibrate

import (
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/drive"
	"flywitness/sim"
)

// Two logs of one car on other tyres and with another delay: each is decoded with its own.
func TestEachLogHasItsOwnScaleAndDelay(t *testing.T) {
	car := sim.BenchMule()
	rng := rand.New(rand.NewPCG(5, 5))
	var logs []*drive.Log
	for _, c := range []struct{ scale, lag float64 }{{1, 0.2}, {1.03, 0.5}} {
		lg := sim.NewLogger(sim.CANSequential)
		lg.SpeedScale, lg.SpeedLag = c.scale, c.lag
		truth := sim.Drive(car, sim.LevelRoad(), []sim.Action{sim.Traffic(rng, 15, sim.MixedTraffic())}, rng)
		logs = append(logs, lg.Record(truth, rng))
	}
	cal, _ := Learn(logs, nil)
	a, b := cal.Decode(logs[0]).Model, cal.Decode(logs[1]).Model
	if d := b.Lag - a.Lag; math.Abs(d-0.3) > 0.06 {
		t.Errorf("delays differ by %.3f s, truly 0.3", d)
	}
	for i := range a.Gears {
		if a.Gears[i].Number < 2 {
			continue
		}
		v := 70.0
		ra := a.Gears[i].K * (v + a.Offset + a.Growth*v*v/100)
		rb := b.Gears[i].K * (v + b.Offset + b.Growth*v*v/100)
		if r := ra / rb; math.Abs(r-1.03) > 0.006 {
			t.Errorf("gear %d: engine speed at a displayed 70 km/h differs by %.4f, truly 1.03", a.Gears[i].Number, r)
		}
	}
}
