package calibrate

import (
	"math"
	"sync"

	"flywitness/drive"
)

const (
	roundingSure = 3.0 // standard errors by which one way of rounding fits better
	fewestBlocks = 5   // of ten seconds, that both fits saw
)

// mostMean is how many values a logger takes the mean of, at most.
const mostMean = 6

// carStep is the step (km/h) in which the car tells its speed: the whole km/h of its reply where what the log shows
// are halves, thirds or quarters of one, as the mean of so many values does, and that of the log otherwise.
func (p *pool) carStep() float64 {
	d, _ := drive.Define(p.channel)
	whole := d.Request.Scale
	if n := math.Round(whole / p.step); n >= 2 && n <= mostMean && math.Abs(n*p.step/whole-1) < stepApart {
		return whole
	}
	return p.step
}

// stepApart is how far n steps may be from a whole one, relative: thirds are written with two or three digits.
const stepApart = 0.03

// pickRounding fits with speeds rounded to the nearest step and cut off to the step below, and keeps the
// better. A free offset would trade with the gear constants and with creep, so only these two are asked, and, where
// the log's step may be a part of the car's, whether that was cut off.
// certain is false when ten-second blocks do not prefer one beyond three standard errors, or the link is too
// coarse to tell.
func (p *pool) pickRounding(rungs []rung, lag float64, c *choice) (best *solution, certain bool) {
	if p.step == 0 {
		return p.fit(rungs, lag, -p.adds, c, p.fitRows(c)), true
	}
	rows := p.twoFits(c)
	all := make([]*solution, 2, 3)
	var both sync.WaitGroup
	both.Go(func() { all[0] = p.fit(rungs, lag, -p.adds, c, rows[0]) })
	both.Go(func() { all[1] = p.fit(rungs, lag, p.step/2-p.adds, c, rows[1]) })
	both.Wait()
	if whole := p.carStep(); whole > p.step {
		all = append(all, p.fit(rungs, lag, whole/2-p.adds, c, p.fitRows(c)))
	}
	best = all[0]
	for _, s := range all {
		if s.score < best.score {
			best = s
		}
	}
	certain = !p.coarse
	for _, s := range all {
		certain = certain && (s == best || preference(s, best) > roundingSure)
	}
	return best, certain
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
