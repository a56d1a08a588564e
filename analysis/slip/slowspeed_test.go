package slip_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/slip"
	"flywitness/drive"
	"flywitness/internal/numbers"
	"flywitness/sim"
)

// A road speed each second, as a satellite receiver gives it, beside an engine speed ten times as often: the engine that
// runs away for two seconds is seen by its own values, and so is one that does not.
func TestSlowRoadSpeedBesideAQuickEngineSpeed(t *testing.T) {
	numbers.Only(t)
	for _, c := range []struct {
		share float64
		seed  uint64
		want  slip.Verdict
	}{{1.5, 0, slip.Holds}, {1.5, 2, slip.Holds}, {0.9, 0, slip.Slips}, {0.85, 0, slip.Slips}, {0.8, 0, slip.Slips}} {
		rng := rand.New(rand.NewPCG(c.seed, 2))
		car := weak(c.share)
		plan := append(pulls(3), sim.Traffic(rng, 8, sim.MixedTraffic()))
		truth := sim.Drive(car, sim.HillyRoad(rng, 0.01, 300), plan, rng)
		l := sim.NewLogger(sim.CANSequential).Record(truth, rand.New(rand.NewPCG(2, c.seed)))
		thinned(l.Channel(drive.VehicleSpeed), 1)
		_, f, _ := judgedLog(l, car.Vehicle, slip.Options{})
		if what := fmt.Sprintf("clutch of %.2f of the peak torque, drive %d", c.share, c.seed); f.Verdict != c.want {
			t.Errorf("%s: %s (%s)", what, f.Verdict, f.Reason)
		}
	}
}

// thinned leaves one value of a channel in so many seconds.
func thinned(c *drive.Channel, every float64) {
	n, next := 0, 0.0
	for i, t := range c.T {
		if t >= next {
			c.T[n], c.V[n] = t, c.V[i]
			n, next = n+1, t+every-0.01
		}
	}
	c.T, c.V = c.T[:n], c.V[:n]
}
