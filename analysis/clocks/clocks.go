// Package clocks puts engine speed and road speed on one clock where two devices stamped them.
//
// Each device counts seconds of its own. Clocks that run apart by a thousandth part by seconds within an hour, and a
// speed that comes a second late looks like slip whenever the car speeds up. What tells is the car: in gear the
// ratio of engine speed to road speed takes as few values as there are gears, and only with both on one clock.
package clocks

import (
	"math"
	"slices"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/finding"
)

// Bounds of the search and of what is said.
const (
	delayLow, delayHigh = -1.5, 3.0 // s by which road speed may be late where the clocks agree
	apartMost           = 8.0       // s that the clocks run apart over a log, at most
	coarse              = 0.25      // s between delays tried at first, by one moment in so many as
	coarseOf            = 3         // this,
	fine                = 0.02      // and at last
	usualDelay          = 0.3       // s; two clocks do not tell how late a speed is, and this is what speeds are
	matters             = 0.15      // s apart over a log, below which a delay that does not change does as well
	agree               = 0.4       // of it by which each half of the minutes may differ
	slowLink            = 0.5       // s from value to value, beyond which delays of a part of it cannot be told
	fewest              = 150       // moments of driving in each of these
	most                = 3000      // moments that are looked at
	slowest             = 10.0      // km/h below which speed's own steps blur the ratio
	slowestEngine       = 1000.0    // rpm below which an engine may idle
	bin                 = 0.012     // of the ratio's logarithm: a tenth of the way from gear to gear
	lowest, bins        = 1.5, 420  // the range of logarithms of rpm per km/h that gears have: from 4.5 to 690
	bridged             = 3.0       // usual intervals of engine speed that are bridged
)

// Align returns the logs with road speed on the clock of engine speed; a log is returned as it is where one clock
// stamped both, or where they do not run apart.
func Align(logs []*drive.Log) []*drive.Log {
	out := slices.Clone(logs)
	for i, l := range logs {
		if l.Clocks > 1 {
			out[i] = aligned(l)
		}
	}
	return out
}

func aligned(l *drive.Log) *drive.Log {
	engine := l.Channel(drive.EngineSpeed)
	out := *l
	out.Clocks = 1
	out.Channels = slices.Clone(l.Channels)
	out.Warnings = slices.Clone(l.Warnings)
	for i, c := range l.Channels {
		if engine == nil || c.Name != drive.VehicleSpeed && c.Name != drive.GPSSpeed && c.Name != drive.UndrivenSpeed {
			continue
		}
		p := newPair(engine, c)
		s, ok := p.apart()
		if !ok {
			continue
		}
		rate := s.apart / p.span
		moved := *c
		moved.T = make([]float64, len(c.T))
		for k, t := range c.T {
			moved.T[k] = t - rate*(t-p.middle) - (s.delay - usualDelay)
		}
		out.Channels[i] = &moved
		out.Warnings = append(out.Warnings, finding.New(finding.ClocksApart, finding.Name("file", l.Path),
			finding.Name("channel", c.Name), finding.Pct("rate", 100*rate), finding.Duration("apart", math.Abs(rate)*p.span)))
	}
	return &out
}

// pair is engine speed and the moments of road speed at which its ratio is looked at.
type pair struct {
	nt, n        []float64
	t, lnV       []float64
	middle, span float64 // s
	gap          float64 // s of engine speed that are bridged
	hist         []float64
}

func newPair(engine, speed *drive.Channel) *pair {
	p := &pair{hist: make([]float64, bins)}
	p.nt, p.n = gearstate.Usable(engine, 0, math.MaxFloat64)
	p.gap = bridged * stats.MedianStep(p.nt)
	t, v := gearstate.Usable(speed, slowest, math.MaxFloat64)
	for i := 0; i < len(t); i += 1 + len(t)/most {
		p.t, p.lnV = append(p.t, t[i]), append(p.lnV, math.Log(v[i]))
	}
	if len(p.t) > 0 {
		p.span = p.t[len(p.t)-1] - p.t[0]
		p.middle = p.t[0] + p.span/2
	}
	return p
}

// apart returns the shift of road speed. ok is false where the clocks run apart by too little to matter, or not by
// the same in both halves of the minutes.
func (p *pair) apart() (s shift, ok bool) {
	if len(p.t) < 2*fewest || len(p.n) < fewest || p.gap > bridged*slowLink {
		return shift{}, false
	}
	all := p.best(-1)
	if math.Abs(all.apart) < matters || math.Abs(all.apart) > apartMost-coarse {
		return shift{}, false
	}
	for half := range 2 {
		if h := p.near(all, half); math.Abs(h.apart-all.apart) > agree*math.Abs(all.apart) {
			return shift{}, false
		}
	}
	return all, true
}

// shift is a delay of road speed in the middle of the log, and how much more it is at the end than at the start, s.
type shift struct{ delay, apart float64 }

// best is the shift at which the ratio takes fewest values, by the minutes of one half (0 or 1) or of both (-1).
func (p *pair) best(half int) shift {
	var s shift
	top := -1.0
	for apart := -apartMost; apart <= apartMost; apart += coarse {
		reach := math.Abs(apart) / 2 // the clocks may agree at the start, or at the end
		for delay := delayLow - reach; delay <= delayHigh+reach; delay += coarse {
			if score := p.sharpness(shift{delay, apart}, half, coarseOf); score > top {
				top, s = score, shift{delay, apart}
			}
		}
	}
	return p.near(s, half)
}

// near is the best shift about another.
func (p *pair) near(s shift, half int) shift {
	for step := coarse; step >= fine; step /= 2 {
		for better := true; better; {
			better = false
			top := p.sharpness(s, half, 1)
			for _, d := range []shift{{step, 0}, {-step, 0}, {0, step}, {0, -step}} {
				next := shift{s.delay + d.delay, s.apart + d.apart}
				if score := p.sharpness(next, half, 1); score > top {
					top, s, better = score, next, true
				}
			}
		}
	}
	return s
}

// sharpness is how peaked the histogram of the ratio's logarithm is: the share of pairs of moments with one ratio. It
// looks at one moment in so many.
func (p *pair) sharpness(s shift, half, of int) float64 {
	clear(p.hist)
	total := 0.0
	j := 1
	for i := 0; i < len(p.t); i += of {
		t := p.t[i]
		if half >= 0 && int(t/60)&1 != half {
			continue
		}
		at := t - s.delay - s.apart*(t-p.middle)/p.span
		for j < len(p.nt)-1 && p.nt[j] < at {
			j++
		}
		before, after := p.nt[j-1], p.nt[j]
		if at < before || at > after || after-before > p.gap {
			continue
		}
		n := p.n[j-1] + (p.n[j]-p.n[j-1])*(at-before)/(after-before)
		if n < slowestEngine {
			continue
		}
		x := (math.Log(n) - p.lnV[i] - lowest) / bin
		if b := int(x); x >= 0 && b+1 < bins {
			f := x - float64(b)
			p.hist[b] += 1 - f
			p.hist[b+1] += f
			total++
		}
	}
	if total*float64(of) < fewest {
		return 0
	}
	sum := 0.0
	for _, w := range p.hist {
		sum += w * w
	}
	return sum / (total * total)
}
