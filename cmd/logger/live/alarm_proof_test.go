//go:build proof

package live_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"flywitness/sim"
)

// Hours of mixed traffic with healthy clutches: the alarm must stay silent. Slips that last: it must come while they do.
func TestProofAlarm(t *testing.T) {
	fmt.Println("| link | hours with a healthy clutch | alarms | slips of 2 s and 4 % or more | raised the alarm | delay: median, s | 90 % within, s |")
	fmt.Println("|---|---|---|---|---|---|---|")
	cars := sim.Cars()
	for _, link := range []sim.Link{sim.KLine, sim.CANSequential, sim.CANMulti} {
		rng := rand.New(rand.NewPCG(2212, uint64(link)))
		hours, wrong := 0.0, 0
		for i := 0; i < 40; i++ {
			tr := traffic(cars[i%len(cars)], rng, 30)
			alarms, _ := followWith(tr, sim.RandomLogger(link, rng), rng)
			hours += tr.Duration() / 3600
			wrong += len(alarms)
		}
		long, seen := 0, 0
		var delay []float64
		for i := 0; i < 24; i++ {
			tr := traffic(cars[i%len(cars)].Tired(0.6+0.3*rng.Float64(), rng), rng, 30)
			alarms, _ := followWith(tr, sim.RandomLogger(link, rng), rng)
			last := 0.0
			for _, e := range tr.Events {
				if e.EndS-e.StartS < 2 || e.MeanPct < 4 || e.StartS < tr.Duration()/3 || e.FromEngagement {
					continue
				}
				if e.StartS-last < 6 { // within the pause after an alarm
					last = e.EndS
					continue
				}
				last = e.EndS
				long++
				for _, a := range alarms {
					if a >= e.StartS-0.2 && a <= e.EndS+1 {
						seen++
						delay = append(delay, a-e.StartS)
						break
					}
				}
			}
		}
		slices.Sort(delay)
		at := func(q float64) float64 {
			if len(delay) == 0 {
				return 0
			}
			return delay[min(int(q*float64(len(delay))), len(delay)-1)]
		}
		fmt.Printf("| %s | %.1f | %d | %d | %d (%.0f %%) | %.1f | %.1f |\n", link, hours, wrong, long, seen, 100*float64(seen)/float64(max(long, 1)), at(0.5), at(0.9))
		if float64(wrong) > 0.05*hours {
			t.Errorf("%s: %d alarms in %.1f h with healthy clutches", link, wrong, hours)
		}
	}
}
