package slip_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"flywitness/analysis/slip"
	"flywitness/drive"
	"flywitness/internal/numbers"
	"flywitness/sim"
	"flywitness/vehicle"
)

// Control units that refresh road speed less often than they are asked for it, tell it in miles per hour or in
// steps of two, or engine speed in steps of 50: a healthy car holds and a weak clutch slips all the same, live
// too, or it is said why nothing can be told.
func TestCoarseSpeeds(t *testing.T) {
	numbers.Only(t)
	steps := func(c *drive.Channel, by float64) {
		for i := range c.V {
			c.V[i] = by * math.Floor(c.V[i]/by)
		}
	}
	coarse := []struct {
		name string
		make func(rpm, speed *drive.Channel)
		tell bool // enough for a verdict
	}{
		{"refreshed every 0.5 s", func(_, v *drive.Channel) { refreshed(v, 0.5) }, true},
		{"refreshed every 2.5 s", func(_, v *drive.Channel) { refreshed(v, 2.5) }, false},
		{"whole miles per hour", func(_, v *drive.Channel) { steps(v, 1.609344) }, true},
		{"steps of 50 rpm", func(n, _ *drive.Channel) { steps(n, 50) }, true},
	}
	for _, share := range []float64{1.5, 0.92} {
		rng := rand.New(rand.NewPCG(1, 2))
		car := weak(share)
		v := *car.Vehicle
		v.SpeedSource = vehicle.SourceDriven // so coarse an engine speed does not show it
		car.Vehicle = &v
		plan := append(pulls(3), sim.Traffic(rng, 8, sim.MixedTraffic()))
		truth := sim.Drive(car, sim.HillyRoad(rng, 0.01, 300), plan, rng)
		for _, link := range []sim.Link{sim.CANSequential, sim.CANMulti} {
			for _, c := range coarse {
				l := sim.NewLogger(link).Record(truth, rand.New(rand.NewPCG(2, uint64(link))))
				c.make(l.Channel(drive.EngineSpeed), l.Channel(drive.VehicleSpeed))
				cal, f, _ := judgedLog(l, car.Vehicle, slip.Options{})
				want, alarms := slip.Holds, len(alarmed(l, cal))
				if share < 1 {
					want = slip.Slips
				}
				if c.name == "steps of 50 rpm" && f.Verdict == slip.Inconclusive && share < 1 {
					continue // such steps hide whose speed it is, so wheels may have spun as well
				}
				if !c.tell {
					want = slip.Inconclusive
					if !strings.Contains(f.Reason.String(), "refreshed") {
						t.Errorf("%v, %s: %s", link, c.name, f.Reason)
					}
				}
				if what := fmt.Sprintf("%v, %s, clutch of %.2f of the peak torque", link, c.name, share); f.Verdict != want ||
					(alarms > 0) != (want == slip.Slips) {
					t.Errorf("%s: %s (%s), %d alarms", what, f.Verdict, f.Reason, alarms)
				}
			}
		}
	}
}

// refreshed holds the values of a channel for some seconds each.
func refreshed(c *drive.Channel, every float64) {
	next, v := 0.0, 0.0
	for i, t := range c.T {
		if t >= next-0.001 {
			next, v = t+every-0.01, c.V[i]
		}
		c.V[i] = v
	}
}
