package calibrate

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// Logs of one car may differ by the scale of their road speed: other tyres, another dial. Taken together as they
// are, each gear would be learnt from the log that has most of it, and the ladder would fit none of them. So they
// are brought to one scale first, that of the log with most driving.

const (
	mostApart  = 3 * otherTyreSD       // of ln(engine speed / road speed), from one log to another
	strayShare = 0.1                   // of driving that the gears of the others do not explain
	alignBy    = shownBy * shownBy / 2 // nats by which another scale must be the likelier
)

// align brings the logs to one scale at a lag. It is engine speed that is multiplied, since the steps of road speed
// tell what it was rounded to.
func (p *pool) align(lag float64) {
	if len(p.logs) < 2 {
		return
	}
	p.top = p.topTorque(lag)
	each := make([][]float64, len(p.logs))
	order := make([]int, len(p.logs))
	for l, r := range p.readers() {
		each[l], order[l] = p.histogramOf([]*reader{r}, lag, 0), l
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(floats.Sum(each[b]), floats.Sum(each[a])) })
	together := slices.Clone(each[order[0]])
	for _, l := range order[1:] {
		by := scaleTo(together, each[l])
		if by != 0 {
			p.logs[l].scaleEngine(math.Exp(float64(by) * lnBin))
		}
		floats.Add(together, moved(each[l], by))
	}
}

// scaleTo is by how many bins the gears of a histogram (s) must move to lie on those of another; 0 where it does not
// show that they must.
func scaleTo(to, h []float64) int {
	density := slices.Clone(to)
	floats.Scale((1-strayShare)/math.Max(floats.Sum(to), 1), density)
	floats.AddConst(strayShare/float64(len(to)), density)
	for b, x := range density {
		density[b] = math.Log(x)
	}
	nats := func(by int) float64 {
		d := float64(by) * lnBin / otherTyreSD
		return floats.Dot(moved(h, by), density)/blockTime - d*d/2
	}
	best, most := 0, nats(0)+alignBy
	for by := -int(mostApart / lnBin); by <= int(mostApart/lnBin); by++ {
		if x := nats(by); x > most {
			best, most = by, x
		}
	}
	return best
}

// moved is a histogram moved by some bins.
func moved(h []float64, by int) []float64 {
	out := make([]float64, len(h))
	copy(out[max(0, by):], h[max(0, -by):len(h)-max(0, by)])
	return out
}

// scaleEngine multiplies the engine speeds of a series.
func (s *series) scaleEngine(by float64) {
	s.RPM = slices.Clone(s.RPM)
	floats.Scale(by, s.RPM)
}
