package drag

import (
	"math"

	"flywitness/analysis/stats"
)

// Foreseen returns the standard deviation that ln(inertia before over after) will have with the drag of each
// sitting taken out, and its degrees of freedom: of m sittings a side of n free revs each that scatter by perRun,
// held at both speeds before and after them, with air and trims recorded.
func Foreseen(m, n int, perRun float64, opt Options) (sd, df float64) {
	p := priorFor(AirAndFuel, opt)
	own := 2 * perRun * perRun / float64(n)
	apart := math.Hypot(p.air, p.fuel) // as meters that are as good as told disagree
	x := p.weigh(0, apart, stats.Square(usualHoldSD)/2)
	x.both = 0
	b := p.believe(x)
	if m == 1 {
		return math.Sqrt(own + b.left), stats.Satterthwaite([]float64{own, b.left},
			[]float64{math.Max(1, float64(2*n-2)), math.Inf(1)})
	}
	between := (own + b.left - b.persist) / float64(m)
	return math.Sqrt(between + b.persist), stats.Satterthwaite([]float64{between, b.persist},
		[]float64{priorSittings + 2*float64(m-1), math.Inf(1)})
}

// usualHoldSD is that of the level of one hold of 15 s on a link of 8 values a second.
const usualHoldSD = 0.004
