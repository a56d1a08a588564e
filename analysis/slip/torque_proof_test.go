//go:build proof

package slip_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/slip"
	"flywitness/sim"
	"flywitness/vehicle"
)

// TestProofTorque sets the torque of every pull that a healthy clutch held against the truth: the most that
// lasted half a second in it.
func TestProofTorque(t *testing.T) {
	fmt.Println("| road load | link | hours | pulls | torque error (10, 50, 90 %) | within 12 % | inside the 95 % " +
		"interval | interval, half (50 %) |")
	fmt.Println("|---|---|---|---|---|---|---|---|")
	for _, told := range []string{"vehicle file", "not given"} {
		for _, link := range []sim.Link{sim.KLine, sim.CANSequential, sim.CANMulti} {
			type pull struct{ miss, half float64 }
			n := int(math.Max(2, hours()/2))
			var miss, half []float64
			within, inside := 0, 0
			for _, ps := range each(n, func(i int) (ps []pull) {
				o := newOuting(uint64(i)+60000, link, mixed(60), nil)
				o.told = withGearbox(o, told)
				o.analyse(rand.New(rand.NewPCG(uint64(i)+60000, 98)))
				for _, p := range o.finding.Pulls {
					if p.Verdict != slip.Holds || p.HeldTorque == nil {
						continue
					}
					if truth := lasted(o.truth, p.Start, p.End, 0.5); truth > 30 {
						ps = append(ps, pull{p.HeldTorque.Value/truth - 1, (p.HeldTorque.CI95[1] - p.HeldTorque.Value) / truth})
					}
				}
				return ps
			}) {
				for _, p := range ps {
					miss, half = append(miss, p.miss), append(half, p.half)
					if math.Abs(p.miss) <= 0.12 {
						within++
					}
					if math.Abs(p.miss) <= p.half {
						inside++
					}
				}
			}
			k := float64(max(1, len(miss)))
			fmt.Printf("| %s | %v | %d | %d | %.3f, %.3f, %.3f | %.2f | %.3f | %.3f |\n", told, link, n, len(miss),
				at(miss, 0.1), at(miss, 0.5), at(miss, 0.9),
				float64(within)/k, float64(inside)/k, at(half, 0.5))
			if float64(inside)/k < 0.93 {
				t.Errorf("%s %v: %.3f of the true torques lie inside the 95 %% interval", told, link, float64(inside)/k)
			}
		}
	}
}

// withGearbox is the vehicle file of an outing with the gearbox, and with or without the road load.
func withGearbox(o *outing, load string) *vehicle.Vehicle {
	v := *o.car.Vehicle
	v.SpeedSource = vehicle.SourceUnknown
	if load != "vehicle file" {
		v.RoadLoad = nil
	}
	return &v
}

// lasted is the most torque through the clutch that lasted for some seconds between two times, N m: of means,
// since the truth has the engine's noise in it.
func lasted(tr *sim.Truth, from, to, lasting float64) float64 {
	n := int(lasting / tr.Step)
	most := 0.0
	for i := tr.At(from); i+n <= tr.At(to); i++ {
		sum := 0.0
		for _, x := range tr.ClutchTorqueNm[i : i+n] {
			sum += x
		}
		most = math.Max(most, sum/float64(n))
	}
	return most
}
