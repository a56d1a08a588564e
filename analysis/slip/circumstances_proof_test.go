//go:build proof

package slip_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/detect"
	"flywitness/drive"
	"flywitness/sim"
)

// circumstance is what may make the slope of the road harder to tell.
type circumstance struct {
	name       string
	minutes    float64
	slope, far float64 // standard deviation and correlation length (m) of the road; 0: as usual
	channels   []string
}

// TestProofOnsetElsewhere reads onset torques where less is logged, the drive is short or the road another.
func TestProofOnsetElsewhere(t *testing.T) {
	signals := []string{drive.EngineSpeed, drive.VehicleSpeed}
	fmt.Println("| CAN sequential, clutch of 0.8-1.0 of the peak | onsets | error (10, 50, 90 %) | within 12 % | " +
		"inside the 95 % interval |")
	fmt.Println("|---|---|---|---|---|")
	for _, c := range []circumstance{
		{name: "an hour, load channel", minutes: 60},
		{name: "throttle instead of load", minutes: 60, channels: append(signals, drive.Throttle)},
		{name: "neither", minutes: 60, channels: signals},
		{name: "8 minutes", minutes: 8},
		{name: "level road", minutes: 60, slope: 1e-9, far: 300},
		{name: "slopes of 2 %, 1 km", minutes: 60, slope: 0.02, far: 1000},
		{name: "slopes of 2 %, 100 m", minutes: 60, slope: 0.02, far: 100},
		{name: "slopes of 4 %, 300 m", minutes: 60, slope: 0.04, far: 300},
	} {
		var miss []float64
		within, inside := 0, 0
		for _, part := range each(int(hours()), func(i int) [][2]float64 { return c.onsets(uint64(i) + 30000) }) {
			for _, p := range part {
				miss = append(miss, p[0])
				if math.Abs(p[0]) <= 0.12 {
					within++
				}
				if math.Abs(p[0]) <= p[1] {
					inside++
				}
			}
		}
		n := float64(max(1, len(miss)))
		fmt.Printf("| %s | %d | %.3f, %.3f, %.3f | %.2f | %.3f |\n", c.name, len(miss), at(miss, 0.1), at(miss, 0.5),
			at(miss, 0.9), float64(within)/n, float64(inside)/n)
		if len(miss) == 0 {
			t.Errorf("%s: no onset torque", c.name)
		}
	}
}

// onsets drives once and returns the relative error of each onset torque with half of its 95 % interval.
func (c *circumstance) onsets(number uint64) (out [][2]float64) {
	rng := rand.New(rand.NewPCG(number, 2))
	o := &outing{seed: number}
	var road sim.Road
	o.car, road = anyCar(rng)
	worn(0.8, 1)(&o.car, rng)
	if c.slope > 0 {
		road = sim.HillyRoad(rng, c.slope, c.far)
	}
	o.truth = sim.Drive(o.car, road, mixed(c.minutes)(o.car, rng), rng)
	o.logger = sim.RandomLogger(sim.CANSequential, rng)
	if c.channels != nil {
		o.logger.Fast, o.logger.Slow = c.channels, []string{drive.CoolantTemp}
	}
	o.told = withGearbox(o, "vehicle file")
	o.analyse(rng)
	for _, te := range o.truth.Events {
		if te.EndS-te.StartS < 1.5 || te.PeakPct < 3 || te.Gear < 3 {
			continue
		}
		for _, e := range o.finding.Events {
			if e.Start <= te.EndS && e.End >= te.StartS && e.Kind == detect.KindSlip && e.OnsetTorque != nil {
				out = append(out, [2]float64{e.OnsetTorque.Value/te.OnsetNm - 1,
					(e.OnsetTorque.CI95[1] - e.OnsetTorque.Value) / te.OnsetNm})
				break
			}
		}
	}
	return out
}
