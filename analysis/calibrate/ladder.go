package calibrate

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/internal/parts"
)

// The ladder is first seen as peaks in the histogram of ln(engine speed / road speed): a gear that is driven in
// stands out, whatever its ratio is.
const (
	lnLow, lnHigh = 2.4849066497880004, 5.560681631015528 // ln 12 .. ln 260 rpm per km/h
	lnBin         = 0.002
	minSpacing    = 0.12  // between neighbouring gears of a road gearbox, in ln
	closeSpacing  = 0.045 // of the closest racing sets: such neighbours must stand apart,
	valley        = 0.4   // with less between them than this share of the smaller
	// of the torque that the log reached: below, no clutch slips, and slip at a constant ratio makes no gear
	moderate = 0.55
)

// lnBins is how many bins that makes.
var lnBins = int(math.Ceil((lnHigh - lnLow) / lnBin))

// rung is a gear found in the histogram.
type rung struct {
	number  int // 1 is first; 0 not numbered yet
	k       float64
	seconds float64
	sd      float64 // of k,
	near    float64 // and at the speeds that it was learnt at, whatever the offset is
	seen    float64 // k of its peak, 0 without one
	wrong   bool    // the vehicle file gives another ratio
}

// Samples that show the ratio of a gear: engine and car change together and not too fast.
const (
	drivenRPM    = 600.0 // the engine drives; below, it idles or stalls
	ratesApart   = 0.03  // 1/s, relative rates of engine and road speed of one gear,
	rateStep     = 0.5   // and km/h/s that steps of road speed add
	quickestRate = 0.12  // 1/s of engine speed; beyond, delay drowns the ratio
	idleTo       = 30.0  // km/h above which an engine
	atIdle       = 1.25  // times idle rolls along with its clutch open

	peakTime   = 6.0   // s of driving that make a gear,
	peakShare  = 0.004 // and of all driving,
	peakHeight = 1.8   // and times the mean about it
)

// The classes of uncertainty of a sample in the histogram, and a cell of it: a class and a bin.
var blurs = []float64{0.004, 0.007, 0.012, 0.02, 0.035, 0.06}

type cell struct{ class, bin int16 }

var noCell = cell{-1, -1}

// histogram sums the driving time of all logs over ln(n/v), each sample blurred by its own uncertainty.
func (p *pool) histogram(lag, offset float64) []float64 {
	p.top = p.topTorque(lag)
	return p.histogramOf(p.readers(), lag, offset)
}

// histogramOf is that of some logs, once the greatest torque of all is known.
func (p *pool) histogramOf(logs []*reader, lag, offset float64) []float64 {
	h := make([][]float64, len(blurs))
	for c := range h {
		h[c] = make([]float64, lnBins)
	}
	for _, s := range logs {
		cells := make([]cell, len(s.Speed))
		parts.Each(len(cells), parts.Long, func(lo, hi int) { p.fillCells(cells, s, lo, hi, lag, offset) })
		for i, at := range cells {
			if at != noCell {
				h[at.class][at.bin] += s.dt[i]
			}
		}
	}
	out := make([]float64, lnBins)
	for c, sd := range blurs {
		blur(out, h[c], sd/lnBin)
	}
	return out
}

// fillCells finds the cells of samples [lo, hi), none for one that does not show the ratio of a gear.
func (p *pool) fillCells(cells []cell, s *reader, lo, hi int, lag, offset float64) {
	timing := 0.15 // s by which the two signals may be apart
	if p.coarse {
		timing = 0.5
	}
	top := moderate * p.top
	load := s.loads(p.load, lag, lo)
	for i := lo; i < hi; i++ {
		cells[i] = noCell
		v := s.Speed[i] + offset
		if v < minMoving {
			continue
		}
		n, rate := s.engine(i, lag)
		if !(n > drivenRPM) || torque(s.a[i], v, n) > top || load(i) > moderate {
			continue
		}
		dn, dv := rate/n, s.a[i]/v
		if math.Abs(dn-dv) > ratesApart+rateStep/v || math.Abs(dn) > quickestRate || v > idleTo && n < atIdle*p.idle {
			continue
		}
		b := int((math.Log(n/v) - lnLow) / lnBin)
		if b < 0 || b >= lnBins {
			continue
		}
		sd := math.Sqrt(0.25*p.step*0.25*p.step/(v*v) + timing*dn*timing*dn + 0.003*0.003)
		c := 0
		for c < len(blurs)-1 && blurs[c] < sd {
			c++
		}
		cells[i] = cell{int16(c), int16(b)}
	}
}

// torque is wheel force over weight and gearing: the engine's torque but for a factor.
func torque(a, v, n float64) float64 { return gearstate.PhiFromAcceleration(a, v) * v / n }

// loads returns the load fraction beside each road speed sample from a first one on, 0 where it is not known; to be
// asked in order.
func (s *series) loads(scale gearstate.LoadScale, lag float64, first int) func(i int) float64 {
	t, v := s.LoadT, s.Load
	j := sort.SearchFloat64s(t, s.SpeedT[first]-lag)
	return func(i int) float64 {
		for j < len(t) && t[j] <= s.SpeedT[i]-lag {
			j++
		}
		if j == 0 || s.SpeedT[i]-lag-t[j-1] > loadOld || math.IsNaN(v[j-1]) {
			return 0
		}
		return scale.Fraction(v[j-1])
	}
}

// loadOld is the age (s) from which a load value tells nothing.
const loadOld = 3.0

// topTorque is the 99 % quantile of torque over all logs, by the samples of a first look.
func (p *pool) topTorque(lag float64) float64 {
	var all []float64
	for _, s := range p.readers() {
		for i, stride := 0, s.stride(); i < len(s.Speed); i += stride {
			if n, _ := s.engine(i, lag); s.Speed[i] >= minMoving && n > drivenRPM {
				all = append(all, torque(s.a[i], s.Speed[i], n))
			}
		}
	}
	return stats.Nearest(all, 0.99)
}

// blur adds h, convolved with a normal of sd bins, to out.
func blur(out, h []float64, sd float64) {
	r := int(3 * sd)
	kernel := make([]float64, 2*r+1)
	sum := 0.0
	for i := range kernel {
		x := float64(i-r) / sd
		kernel[i] = math.Exp(-0.5 * x * x)
		sum += kernel[i]
	}
	for b, w := range h {
		if w == 0 {
			continue
		}
		for i, k := range kernel {
			if j := b + i - r; j >= 0 && j < len(out) {
				out[j] += w * k / sum
			}
		}
	}
}

// peaks returns the rungs of a histogram, largest k first.
func peaks(h []float64) []rung {
	total := 0.0
	prefix := make([]float64, len(h)+1)
	for i, w := range h {
		total += w
		prefix[i+1] = total
	}
	mass := func(lo, hi int) float64 { return prefix[min(len(h), hi)] - prefix[max(0, lo)] }
	need := math.Max(peakTime, peakShare*total)
	half, wide := int(math.Round(closeSpacing/2/lnBin)), 75 // bins: half of the way to the closest neighbour; +-15 %
	var at []int
	for i := 1; i+1 < len(h); i++ {
		if h[i] >= h[i-1] && h[i] > h[i+1] && mass(i-half, i+half+1) > need {
			at = append(at, i)
		}
	}
	slices.SortFunc(at, func(a, b int) int {
		return cmp.Or(cmp.Compare(h[b], h[a]), cmp.Compare(a, b))
	})
	// mean is that of h about a bin, but for the gears that were found: they stand close in some gearboxes
	mean := func(i int, found []rung) float64 {
		lo, hi := i-wide, i+wide+1
		sum, n := mass(lo, hi), float64(hi-lo)
		for _, r := range found {
			c := int((math.Log(r.k) - lnLow) / lnBin)
			if from, to := max(lo, c-half), min(hi, c+half+1); from < to {
				sum, n = sum-mass(from, to), n-float64(to-from)
			}
		}
		return sum / n
	}
	var out []rung
	for _, i := range at {
		free := h[i] > peakHeight*mean(i, out)
		for _, r := range out {
			if d := math.Abs(math.Log(r.k) - center(i)); d < closeSpacing || d < minSpacing && !separate(h, r.k, i) {
				free = false
			}
		}
		if free {
			k := math.Exp(center(i))
			out = append(out, rung{k: k, seconds: mass(i-half, i+half+1)})
		}
	}
	slices.SortFunc(out, func(a, b rung) int { return cmp.Compare(b.k, a.k) })
	return out
}

// separate tells whether a peak stands apart from the rung at k.
func separate(h []float64, k float64, bin int) bool {
	lo, hi := int((math.Log(k)-lnLow)/lnBin), bin
	low := min(h[lo], h[hi])
	for b := min(lo, hi); b <= max(lo, hi); b++ {
		if h[b] < valley*low {
			return true
		}
	}
	return false
}

func center(bin int) float64 { return lnLow + (float64(bin)+0.5)*lnBin }

// usualLadder is ln(rpm per km/h) of first to sixth gear of ordinary cars (common practice, no source); it only
// numbers the rungs of a ladder that was found without a vehicle file.
var usualLadder = []float64{4.80, 4.19, 3.80, 3.51, 3.28, 3.09, 2.93}

// skipped is the cost of a gear between two rungs that nobody drove in: tall gearing is more usual than that.
const skipped = 5.0

// A gear of an ordinary car lies about where it does in the usual ladder, and as far from the next, by so much.
const usualApart, usualStep = 0.22, 0.1

// number gives rungs (largest k first) gear numbers: those of the file's ladder where there is one.
func (p *pool) number(rungs []rung) {
	if len(p.filed) >= len(rungs) && len(rungs) > 0 {
		numberBy(rungs, p.filed, 1, 1, 0) // as near as can be, in place and step alike
		return
	}
	number(rungs)
}

// number gives rungs gear numbers of ordinary cars.
func number(rungs []rung) { numberBy(rungs, usualLadder, usualApart, usualStep, skipped) }

// numberBy gives rungs the numbers of a ladder, ln(rpm per km/h) from first gear: rising, as near to it as they can
// be. A gear that is left out costs something.
func numberBy(rungs []rung, ladder []float64, apart, spacing, skipped float64) {
	n, g := len(rungs), len(ladder)
	if n == 0 {
		return
	}
	if n > g { // more rungs than gears: count them through
		for i := range rungs {
			rungs[i].number = i + 1
		}
		return
	}
	// cost[i][j]: rungs up to i placed, rung i is gear j. A skipped gear between two rungs costs something, and
	// so does unusual spacing.
	cost := make([][]float64, n)
	from := make([][]int, n)
	for i := range cost {
		cost[i], from[i] = make([]float64, g), make([]int, g)
		for j := range cost[i] {
			d := (math.Log(rungs[i].k) - ladder[j]) / apart
			cost[i][j] = math.Inf(1)
			if i == 0 {
				cost[i][j] = d * d
				continue
			}
			for q := range j {
				step := math.Log(rungs[i-1].k/rungs[i].k) - (ladder[q] - ladder[j])
				c := cost[i-1][q] + d*d + step*step/(spacing*spacing) + skipped*float64(j-q-1)
				if c < cost[i][j] {
					cost[i][j], from[i][j] = c, q
				}
			}
		}
	}
	best := n - 1
	for j := n - 1; j < g; j++ {
		if cost[n-1][j] < cost[n-1][best] {
			best = j
		}
	}
	for i := n - 1; i >= 0; i-- {
		rungs[i].number = best + 1
		best = from[i][best]
	}
}
