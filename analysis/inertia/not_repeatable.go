package inertia

import (
	"math"

	"flywitness/analysis/stats"
	"flywitness/finding"
)

// foreignSpread is the run-to-run spread of the rate of fall beyond which something else than drag moves the
// engine. The drag of a warm engine repeats within 1 to 3 %; anti-lag, the starter-generator of a mild hybrid
// or a foot that was not taken off change it by tens of per cent (common practice, no source).
const (
	foreignSpread = 0.15
	foreignRuns   = 5 // in a session, to tell a spread
)

// refuseForeign refuses the free revs of a session that do not repeat at all: no mean of them is the engine's
// drag, and which of them is clean cannot be told.
func (f *Finding) refuseForeign() {
	for _, kind := range []Kind{RevDown, RollingRevDown} {
		runs := f.FreeRevs(kind)
		shape, err := ShapeOf(runs)
		if err != nil {
			continue
		}
		bySession := map[int][]int{}
		for i, r := range runs {
			bySession[r.Session] = append(bySession[r.Session], i)
		}
		for _, own := range bySession {
			if s := spread(shape, own); len(own) >= foreignRuns && s > foreignSpread {
				for _, i := range own {
					runs[i].refuse(finding.NotRepeated, finding.Pct("off", 100*s))
				}
			}
		}
	}
}

// explained is how many times the error of their timing runs may differ by before anything else is behind it.
const explained = 3.0

// spread is how far the rates of some runs of a shape differ, relative, beyond what their timing explains.
func spread(shape *Shape, own []int) float64 {
	y, s2 := make([]float64, len(own)), make([]float64, len(own))
	for k, i := range own {
		y[k], s2[k] = math.Log(shape.Runs[i].B), shape.Runs[i].VarLnB
	}
	mad := stats.MADScale * stats.MAD(y, stats.Median(y))
	return math.Sqrt(math.Max(0, mad*mad-explained*explained*stats.Median(s2)))
}
