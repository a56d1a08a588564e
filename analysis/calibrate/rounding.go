package calibrate

import (
	"math"
	"sync"
)

const (
	roundingSure = 3.0 // standard errors by which one way of rounding fits better
	fewestBlocks = 5   // of ten seconds, that both fits saw
)

// pickRounding fits with speeds rounded to the nearest step and cut off to the step below, and keeps the
// better. A free offset would trade with the gear constants and with creep, so only these two are asked.
// certain is false when ten-second blocks do not prefer one beyond three standard errors, or the link is too
// coarse to tell.
func (p *pool) pickRounding(rungs []rung, lag float64, c *choice) (best *solution, certain bool) {
	if p.step == 0 {
		return p.fit(rungs, lag, -p.adds, c, p.fitRows(c)), true
	}
	rows := p.twoFits(c)
	var round, floor *solution
	var both sync.WaitGroup
	both.Go(func() { round = p.fit(rungs, lag, -p.adds, c, rows[0]) })
	both.Go(func() { floor = p.fit(rungs, lag, p.step/2-p.adds, c, rows[1]) })
	both.Wait()
	best = round
	if floor.score < round.score {
		best = floor
	}
	return best, !p.coarse && preference(round, floor) > roundingSure
}

// preference is the t statistic of the difference of two fits' scores over blocks that both saw.
func preference(a, b *solution) float64 {
	var n, sum, square float64
	for i, j := 0, 0; i < len(a.blocks) && j < len(b.blocks); {
		x, y := a.blocks[i], b.blocks[j]
		switch {
		case x.log < y.log || x.log == y.log && x.block < y.block:
			i++
		case x.log != y.log || x.block != y.block:
			j++
		default:
			d := x.sum - y.sum
			n++
			sum += d
			square += d * d
			i++
			j++
		}
	}
	if n < fewestBlocks {
		return 0
	}
	mean := sum / n
	sd := math.Sqrt(math.Max(0, square/n-mean*mean) / n)
	if sd == 0 {
		return 0
	}
	return math.Abs(mean) / sd
}
