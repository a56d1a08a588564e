package clocks

import (
	"math"
	"slices"

	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/parts"

	"gonum.org/v1/gonum/floats"
)

// A delay that changes in the middle of a drive, because the link was set up again or another program joined in, is
// right in one part only: in the other every pull looks like slip, or hides it. The car tells that as it tells clocks
// that run apart.
const (
	jumpParts    = 24    // of a log, between which the change is looked for at first
	jumpLow      = -1.0  // s; the least delay that is tried,
	jumpStep     = 0.1   // s from one to the next,
	jumpDelays   = 31    // and how many
	jumpLeast    = 0.2   // s; a smaller change is within what is allowed for
	jumpGain     = 1.1   // times as sharp, that two delays make the ratio at least: chance makes it 1.03,
	jumpHalf     = 1.05  // and in each half of the minutes
	jumpShortest = 100.0 // s of driving on either side
	jumpTries    = 8     // moments in each part at which the change may be
)

// jump is a change of the delay of road speed at a time, s.
type jump struct{ at, before, after float64 }

// steady returns a log whose road speeds are late by the same throughout; as it is where they are.
func steady(l *drive.Log) *drive.Log {
	return mended(l, func(p *pair, c *drive.Channel) (*drive.Channel, finding.Finding, bool) {
		x, ok := p.jump()
		if !ok {
			return nil, finding.Finding{}, false
		}
		return x.undone(c), finding.New(finding.DelayJumps, finding.Name("file", l.Path),
			finding.Name("channel", c.Name), finding.Duration("at", x.at),
			finding.Duration("by", math.Abs(x.after-x.before)), finding.Flag("later", x.after > x.before)), true
	})
}

// undone is a road speed with the delay of before throughout. Where the parts meet twice, the later one goes.
func (x jump) undone(c *drive.Channel) *drive.Channel {
	out := *c
	out.T, out.V = make([]float64, 0, len(c.T)), make([]float64, 0, len(c.V))
	last := math.Inf(-1) // of before
	for k, t := range c.T {
		if t < x.at {
			last = math.Max(last, t)
		} else if t -= x.after - x.before; t <= last {
			continue
		}
		out.T, out.V = append(out.T, t), append(out.V, c.V[k])
	}
	return &out
}

// jump returns the change of the delay; ok is false where one delay does as well.
func (p *pair) jump() (x jump, ok bool) {
	if len(p.nt) < 2 || len(p.t) < 2*fewest || p.span < 2*jumpShortest {
		return x, false
	}
	x, one := p.roughly()
	if math.Abs(x.after-x.before) < jumpLeast-jumpStep/2 {
		return x, false
	}
	x = p.closely(x)
	if math.Abs(x.after-x.before) < jumpLeast || x.at-p.t[0] < jumpShortest || p.t[len(p.t)-1]-x.at < jumpShortest ||
		p.sharpnessOf(x, both) < jumpGain*one {
		return x, false
	}
	if p.sharpness(p.best(), both) > p.sharpnessOf(x, both) { // clocks that run apart
		return x, false
	}
	for half := range 2 {
		single := 0.0
		for d := range jumpDelays {
			single = math.Max(single, p.sharpness(shift{delay: delayAt(d)}, half))
		}
		if single == 0 || p.sharpnessOf(x, half) < jumpHalf*single {
			return x, false
		}
	}
	return x, true
}

func delayAt(d int) float64 { return jumpLow + float64(d)*jumpStep }

// roughly is the change at which the ratio takes fewest values, of those between parts of the log and on the grid of
// delays, and how sharp it is at the best of all single delays.
func (p *pair) roughly() (best jump, one float64) {
	until := p.untilParts()
	for d := range until {
		one = math.Max(one, sharp(until[d][jumpParts]))
	}
	var sharpest [jumpParts]float64 // of the changes before each part, where sharper than any single delay
	var at [jumpParts]jump
	parts.Each(jumpParts, 1, func(k, _ int) {
		if k == 0 {
			return
		}
		sharpest[k] = one
		h := make([]float64, bins)
		var before, after [jumpDelays]size
		for d := range until {
			before[d], after[d] = sizeOf(until[d][k]), sizeOf(floats.SubTo(h, until[d][jumpParts], until[d][k]))
		}
		for a := range until {
			for b := range until {
				if a == b || !before[a].mayBeat(after[b], sharpest[k]) {
					continue
				}
				floats.AddTo(h, until[a][k], until[b][jumpParts])
				floats.Sub(h, until[b][k])
				if s := sharp(h); s > sharpest[k] {
					sharpest[k], at[k] = s, jump{p.t[k*len(p.t)/jumpParts], delayAt(a), delayAt(b)}
				}
			}
		}
	})
	most := one
	for k, s := range sharpest {
		if s > most {
			most, best = s, at[k]
		}
	}
	return best, one
}

// untilParts are histograms at each delay of all before each part, and of all.
func (p *pair) untilParts() (until [jumpDelays][jumpParts + 1][]float64) {
	var ratios [jumpDelays][]float64
	for d := range ratios {
		ratios[d] = make([]float64, len(p.t))
	}
	parts.ByCore(len(p.t), func(lo, hi int) {
		for i := lo; i < hi; i++ {
			for d := range ratios {
				ratios[d][i] = p.ratio(i, delayAt(d))
			}
		}
	})
	parts.Each(jumpDelays, 1, func(d, _ int) {
		h := make([]float64, bins)
		until[d][0] = slices.Clone(h)
		for k := range jumpParts {
			for _, x := range ratios[d][k*len(p.t)/jumpParts : (k+1)*len(p.t)/jumpParts] {
				count(h, x)
			}
			until[d][k+1] = slices.Clone(h)
		}
	})
	return until
}

// size is how much a histogram holds, and its length as a vector.
type size struct{ total, length float64 }

func sizeOf(hist []float64) size { return size{floats.Sum(hist), floats.Norm(hist, 2)} }

// mayBeat tells whether the sum of two histograms may be sharper than so much: it is no longer than both together.
func (s size) mayBeat(o size, sharpness float64) bool {
	const rounding = 1e-9
	length, total := s.length+o.length, s.total+o.total
	return length*length*(1+rounding) > sharpness*total*total
}

// closely looks about a change for a better one.
func (p *pair) closely(x jump) jump {
	part := p.span / jumpParts
	top := p.sharpnessOf(x, both)
	try := func(next jump) {
		if s := p.sharpnessOf(next, both); s > top {
			top, x = s, next
		}
	}
	for range 2 {
		from := x.at
		for i := -jumpTries; i <= jumpTries; i++ {
			try(jump{from + part*float64(i)/jumpTries, x.before, x.after})
		}
		for step := jumpStep / 2; step > fine/2; step /= 2 {
			for _, d := range []float64{-step, step} {
				try(jump{x.at, x.before + d, x.after})
				try(jump{x.at, x.before, x.after + d})
			}
		}
	}
	return x
}

// sharpnessOf is how peaked the histogram is with a change.
func (p *pair) sharpnessOf(x jump, half int) float64 {
	return p.peaked(func(i int) float64 {
		if p.t[i] < x.at {
			return x.before
		}
		return x.after
	}, half)
}
