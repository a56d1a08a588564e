// Package clocks puts engine speed and road speed on one clock where two devices stamped them.
//
// Each device counts seconds of its own. Clocks that run apart by a thousandth part by seconds within an hour, and a
// speed that comes a second late looks like slip whenever the car speeds up. What tells is the car: in gear the
// ratio of engine speed to road speed takes as few values as there are gears, and only with both on one clock.
package clocks

import (
	"math"
	"slices"
	"sort"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/finding"
)

// Bounds of the search and of what is said.
const (
	apartMost     = 8.0       // s that the clocks run apart over a log, at most
	coarse, fine  = 1.0, 0.03 // s between delays tried at first, and at last
	usualDelay    = 0.3       // s; two clocks do not tell how late a speed is, and this is what speeds are
	matters       = 0.25      // s apart over a log, below which a delay that does not change does as well
	shortest      = 400.0     // s of driving; a ratio that is seen in one gear for minutes takes as few values anyhow
	agree         = 0.4       // s by which what each half of the minutes tells may differ from that of all
	fewest        = 250       // moments of driving in each of these
	most          = 3000      // moments that are looked at
	slowestEngine = 1000.0    // rpm below which an engine may idle
	bin           = 0.012     // of the ratio's logarithm: a tenth of the way from gear to gear
	lowest, bins  = 1.5, 420  // the range of logarithms of rpm per km/h that gears have: from 4.5 to 690
)

// Align returns the logs with road speed on the clock of engine speed; a log is returned as it is where one clock
// stamped both, or where they do not run apart.
func Align(logs []*drive.Log) []*drive.Log {
	out := slices.Clone(logs)
	for i, l := range logs {
		if l.Clocks > 1 {
			out[i] = aligned(l)
		}
		out[i] = steady(out[i])
	}
	return out
}

// aligned returns a log whose road speeds are on the clock of its engine speed.
func aligned(l *drive.Log) *drive.Log {
	out := *mended(l, func(p *pair, c *drive.Channel) (*drive.Channel, finding.Finding, bool) {
		s, ok := p.apart()
		if !ok {
			return nil, finding.Finding{}, false
		}
		rate := s.apart / p.span
		moved := *c
		moved.T = make([]float64, len(c.T))
		for k, t := range c.T {
			moved.T[k] = t - rate*(t-p.middle) - (s.delay - usualDelay)
		}
		return &moved, finding.New(finding.ClocksApart, finding.Name("file", l.Path), finding.Name("channel", c.Name),
			finding.Pct("rate", 100*rate), finding.Duration("apart", math.Abs(rate)*p.span)), true
	})
	out.Clocks = 1
	return &out
}

// mended returns a log with other road speeds where mend finds something to mend, and what it says of each; as it is
// where it finds nothing.
func mended(l *drive.Log, mend func(p *pair, c *drive.Channel) (*drive.Channel, finding.Finding, bool)) *drive.Log {
	engine := l.Channel(drive.EngineSpeed)
	out := l
	for i, c := range l.Channels {
		if engine == nil || !drive.IsRoadSpeed(c.Name) {
			continue
		}
		other, said, ok := mend(newPair(engine, c), c)
		if !ok {
			continue
		}
		if out == l {
			own := *l
			own.Channels, own.Warnings = slices.Clone(l.Channels), slices.Clone(l.Warnings)
			out = &own
		}
		out.Channels[i], out.Warnings = other, append(out.Warnings, said)
	}
	return out
}

const both = -1 // halves of the minutes

// pair is engine speed and the moments of road speed at which its ratio is looked at.
type pair struct {
	nt, n        []float64
	t, lnV       []float64
	middle, span float64 // s
	hist         []float64
	place        []int32 // of each moment among those of engine speed, as it was looked for last: delays differ little
}

func newPair(engine, speed *drive.Channel) *pair {
	p := &pair{hist: make([]float64, bins)}
	p.nt, p.n = gearstate.Usable(engine, 0, math.MaxFloat64)
	t, v := gearstate.Usable(speed, 0, math.MaxFloat64)
	moving := 0
	for _, x := range v {
		if x > 0 {
			moving++
		}
	}
	stride, left := 1+moving/most, 0
	for i, x := range v {
		if !(x > 0) {
			continue
		}
		if left == 0 {
			p.t, p.lnV = append(p.t, t[i]), append(p.lnV, math.Log(x))
			left = stride
		}
		left--
	}
	if len(p.t) > 0 {
		p.span = p.t[len(p.t)-1] - p.t[0]
		p.middle = p.t[0] + p.span/2
	}
	p.place = make([]int32, len(p.t))
	for i, at := range p.t {
		p.place[i] = int32(sort.SearchFloat64s(p.nt, at))
	}
	return p
}

// apart returns the shift of road speed. ok is false where the log is too short or the link too slow to tell, and
// where the clocks run apart by too little to matter, or not by the same in both halves of the minutes.
func (p *pair) apart() (s shift, ok bool) {
	if p.span < shortest || !(stats.MedianStep(p.nt) <= gearstate.SlowestLink) {
		return shift{}, false
	}
	all := p.best()
	if math.Abs(all.apart) < matters || math.Abs(all.apart) > apartMost-coarse {
		return shift{}, false
	}
	for half := range 2 {
		h := p.near(all, half)
		if p.sharpness(h, half) == 0 || math.Abs(h.apart-all.apart) > agree {
			return shift{}, false
		}
	}
	return all, true
}

// shift is a delay of road speed in the middle of the log, and how much more it is at the end than at the start, s.
type shift struct{ delay, apart float64 }

// best is the shift at which the ratio takes fewest values.
func (p *pair) best() (s shift) {
	top := -1.0
	for apart := -apartMost; apart <= apartMost; apart += coarse {
		// the clocks may agree at the start, or at the end
		for delay := -apartMost / 2; delay <= apartMost/2; delay += coarse {
			if score := p.sharpness(shift{delay, apart}, both); score > top {
				top, s = score, shift{delay, apart}
			}
		}
	}
	return p.near(s, both)
}

// near is the best shift about another, by the minutes of one half (0 or 1) or of both.
func (p *pair) near(s shift, half int) shift {
	for step := coarse; step > fine; step /= 2 {
		for better := true; better; {
			better = false
			top := p.sharpness(s, half)
			for _, d := range []shift{{step, 0}, {-step, 0}, {0, step}, {0, -step}} {
				next := shift{s.delay + d.delay, s.apart + d.apart}
				if score := p.sharpness(next, half); score > top {
					top, s, better = score, next, true
				}
			}
		}
	}
	return s
}

// sharpness is how peaked the histogram of the ratio's logarithm is: the share of pairs of moments with one ratio.
func (p *pair) sharpness(s shift, half int) float64 {
	return p.peaked(func(i int) float64 { return s.delay + s.apart*(p.t[i]-p.middle)/p.span }, half)
}

// peaked is that with road speed late by so much (s) at each moment.
func (p *pair) peaked(late func(i int) float64, half int) float64 {
	clear(p.hist)
	for i, t := range p.t {
		if half == both || int(t/60)&1 == half {
			count(p.hist, p.ratio(i, late(i)))
		}
	}
	return sharp(p.hist)
}

// ratio is the logarithm of the ratio at a moment with road speed late by so much (s), in bins of a histogram; -1
// where engine speed is not known or the engine may idle. One goroutine at a time for a moment.
func (p *pair) ratio(i int, late float64) float64 {
	at, j := p.t[i]-late, int(p.place[i])
	for j < len(p.nt) && p.nt[j] < at {
		j++
	}
	for j > 0 && p.nt[j-1] >= at {
		j--
	}
	p.place[i] = int32(j)
	j = max(1, min(len(p.nt)-1, j))
	before, after := p.nt[j-1], p.nt[j]
	if at < before || at > after {
		return -1
	}
	n := p.n[j-1] + (p.n[j]-p.n[j-1])*(at-before)/(after-before)
	if n < slowestEngine {
		return -1
	}
	return (math.Log(n) - p.lnV[i] - lowest) / bin
}

// count adds a ratio to a histogram.
func count(hist []float64, x float64) {
	if b := int(x); x >= 0 && b+1 < bins {
		f := x - float64(b)
		hist[b] += 1 - f
		hist[b+1] += f
	}
}

// sharp is how peaked a histogram is; 0 of one that holds too little.
func sharp(hist []float64) float64 {
	total, sum := 0.0, 0.0
	for _, w := range hist {
		total += w
		sum += w * w
	}
	if total < fewest {
		return 0
	}
	return sum / (total * total)
}
