//go:build proof

package compare

import (
	"fmt"
	"math"
	"sync"
	"testing"

	"flywitness/analysis/stats"
)

// The number of runs that planning asks for, and the power that so many runs have when they are driven. Planned
// from the timing noise sigma and rate f of the link and the time T that a fall spends in the window: the
// spread of a run is sigma sqrt(12) / (T sqrt(f T)) beside that of the drag.
func TestProofPlanning(t *testing.T) {
	const tau = 0.015
	fmt.Printf("\n### Planning: free revs a side for a change of inertia, and the power they have\n\n| link | change " +
		"| spread of a run %% | runs a side | planned power | power seen |\n|---|---|---|---|---|---|\n")
	for _, l := range links {
		bottom := 1500.0
		if l.link.Rate < 4 {
			bottom = 1250 // a slow link's falls are used further down
		}
		// the peak lies between two samples, so the window begins half an interval late
		seconds := fallTime(bottom) - 0.5/l.link.Rate
		own := l.link.Jitter * math.Sqrt(12) / (seconds * math.Sqrt(l.link.Rate*seconds))
		spread := math.Hypot(tau, own)
		for _, change := range []float64{0.03, 0.05, 0.10} {
			n, ok := stats.RunsNeeded(math.Log1p(change), spread, power, 400)
			if !ok || n < minRuns || n > 25 {
				n = max(minRuns, min(n, 25))
			}
			planned := stats.PowerT(math.Log1p(change)/(spread*math.Sqrt(2/float64(n))), float64(2*n-2))
			found, draws := 0, replications()
			var mu sync.Mutex
			parallel(draws, func(rep uint64) {
				rng := seeded(rep, uint64(n)+uint64(1e6*change)+uint64(1e9*l.link.Rate))
				b := revs(stand(0.20*(1+change)), n, 5300, tau, 1, l.link, rng)
				a := revs(stand(0.20), n, 5300, tau, 1, l.link, rng)
				r := bestRatio(b.Inertia, a.Inertia)
				if r == nil {
					return
				}
				mu.Lock()
				defer mu.Unlock()
				if stats.TwoSided(r.ln/r.se(), r.df) < 0.05 {
					found++
				}
			})
			seen := float64(found) / float64(draws)
			fmt.Printf("| %s | %.0f %% | %.2f | %d | %.3f | %.3f |\n", l.name, 100*change, 100*spread, n, planned, seen)
			if math.Abs(seen-planned) > 0.05+3*math.Sqrt(planned*(1-planned)/float64(draws)) {
				t.Errorf("%s, %.0f %%: planned power %.3f, seen %.3f", l.name, 100*change, planned, seen)
			}
		}
	}
}

// fallTime is how long the test car of 0.20 kg m² spends between bottom rpm and where the first moments after a
// release from 5300 rpm end, s.
func fallTime(bottom float64) float64 {
	car := stand(0.20)
	t := 0.0
	for n := 4600.0; n > bottom; n -= 10 {
		t += 10 * math.Pi / 30 * car.Inertia / car.Drag(n*math.Pi/30)
	}
	return t
}
