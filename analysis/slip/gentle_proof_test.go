//go:build proof

package slip_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/slip"
	"flywitness/sim"
)

// mild is the verdict on a drive that asked little, with the share of its peak torque that the engine really
// put through the clutch for half a second.
type mild struct {
	verdict slip.Verdict
	share   float64
}

// TestProofNothingShown drives gently: a log that asked little of the clutch proves nothing either way and must
// say so.
func TestProofNothingShown(t *testing.T) {
	fmt.Println("| link | half hours | torque reached, of the engine's peak | inconclusive | holds | slips |")
	fmt.Println("|---|---|---|---|---|---|")
	n := int(math.Ceil(hours()))
	for _, link := range []sim.Link{sim.KLine, sim.CANSequential, sim.CANMulti} {
		all := each(n, func(i int) mild {
			o := newOuting(uint64(i)+90000, link, softly, nil)
			o.analyse(rand.New(rand.NewPCG(uint64(i), 96)))
			peak, _ := o.car.Engine.PeakNm()
			return mild{o.finding.Verdict, carried(o.truth, 0.5) / peak}
		})
		for _, c := range [][2]float64{{0, 0.5}, {0.5, 0.7}, {0.7, 9}} {
			count, of := map[slip.Verdict]int{}, 0
			for _, m := range all {
				if m.share >= c[0] && m.share < c[1] {
					count[m.verdict]++
					of++
				}
			}
			fmt.Printf("| %v | %d | %.1f to %.1f | %d | %d | %d |\n", link, of, c[0], min(c[1], 1), count[slip.Inconclusive],
				count[slip.Holds], count[slip.Slips])
			if c[1] <= 0.5 && count[slip.Holds]+count[slip.Slips] > 0 {
				t.Errorf("%v: %v of drives that showed nothing", link, count)
			}
		}
	}
}

// softly is a drive with a light foot: some with less than a third of the accelerator, some with up to two thirds.
func softly(car sim.Car, rng *rand.Rand) []sim.Action {
	plan := []sim.Action{sim.Idle(5)}
	most := 0.2 + 0.45*rng.Float64()
	for range 20 {
		g := 2 + rng.IntN(3)
		from := 1400 + 300*rng.Float64()
		plan = append(plan, sim.PullWith(g, from, from+500+600*rng.Float64(),
			sim.PullStyle{Opening: most * (0.6 + 0.4*rng.Float64())}),
			sim.Cruise(40+35*rng.Float64(), 20+40*rng.Float64()))
	}
	return plan
}

// carried is the largest torque that the clutch carried, stuck, for some seconds on end.
func carried(tr *sim.Truth, lasting float64) float64 {
	top, n := 0.0, int(lasting/tr.Step)
	for i := 0; i+n < tr.Len(); i += 5 {
		low := math.Inf(1)
		for j := i; j < i+n && low > top; j += 5 {
			if tr.Clutch[j] != sim.Stuck {
				low = 0
			}
			low = math.Min(low, tr.ClutchTorqueNm[j])
		}
		top = math.Max(top, low)
	}
	return top
}
