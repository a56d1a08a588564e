package gearstate

import (
	"math"

	"flywitness/analysis/stats"
)

// A logger that averages over its last m samples leaves a mark: the sum lets one value in as it lets another out,
// so what jumped once jumps back m samples later. The second differences, in which a car's own motion is small, then
// correlate by up to -1/2 at a distance of m and not beside it (the sum of white noise differs by e[i] - e[i-1] -
// e[i-m] + e[i-m-1]). Motion correlates at neighbouring distances alike, noise and a display's steps at one and two
// alone, and a cycle at its multiples too. A first-order filter leaves no such mark: it is a delay, which is learnt
// as one.
const (
	averagedLeast = 0.2  // s; a shorter average changes nothing that is claimed
	averagedMost  = 2.2  // s; two, and a little for the clock
	firstDistance = 3    // samples, beyond what noise and steps do
	markSure      = 0.15 // that the correlation at m lies below those beside it,
	markAlone     = 2.0  // and so many times further than at any other distance
	averagedFew   = 400  // values that tell
	finerThan     = 2.0  // steps that the jumps have in the mean: a coarse display jumps in a beat of its own
	valuesForEach = 4    // that a correlation is taken over, for each distance
	evenStamps    = 0.1  // of an interval by which stamps may be off,
	evenShare     = 0.9  // most of them: uneven ones blur the mark
)

// AveragedOver returns over how long (s) a signal was averaged before it was written, 0 where nothing shows it.
func AveragedOver(t, v []float64) float64 {
	t, v = t[:min(len(t), enough)], v[:min(len(v), enough)]
	dt := stats.MedianStep(t)
	if len(v) < averagedFew || dt <= 0 || !even(t, dt) {
		return 0
	}
	d, size := jumps(v)
	if size < finerThan*finestChange(v) {
		return 0
	}
	mark := marks(d, int(2*averagedMost/dt)+2)
	best := firstDistance
	for m := range mark {
		if m > best && mark[m] > mark[best] {
			best = m
		}
	}
	if best >= len(mark) || mark[best] < markSure || float64(best)*dt < averagedLeast || float64(best)*dt > averagedMost {
		return 0
	}
	for m := firstDistance; m < len(mark); m++ {
		if (m < best-1 || m > best+1) && markAlone*math.Abs(mark[m]) > mark[best] {
			return 0
		}
	}
	return float64(best) * dt
}

// marks returns for each distance by how much the correlation lies below the mean of those beside it.
func marks(d []float64, most int) []float64 {
	most = min(most, len(d)/valuesForEach)
	c := make([]float64, most+1)
	for m := range c {
		for i := m; i < len(d); i++ {
			c[m] += d[i] * d[i-m]
		}
	}
	out := make([]float64, most)
	if c[0] == 0 {
		return out
	}
	for m := 1; m < most; m++ {
		out[m] = ((c[m-1]+c[m+1])/2 - c[m]) / c[0]
	}
	return out
}

// even tells whether most stamps follow each other at dt.
func even(t []float64, dt float64) bool {
	n := 0
	for i := 1; i < len(t); i++ {
		if math.Abs(t[i]-t[i-1]-dt) <= evenStamps*dt {
			n++
		}
	}
	return float64(n) >= evenShare*float64(len(t)-1)
}

// jumps are the second differences of a signal, cut to their mean size: a change of gear is no noise.
func jumps(v []float64) (d []float64, far float64) {
	d = make([]float64, len(v)-2)
	for i := range d {
		d[i] = v[i+2] - 2*v[i+1] + v[i]
		far += math.Abs(d[i]) / float64(len(d))
	}
	for i, x := range d {
		d[i] = max(-far, min(far, x))
	}
	return d, far
}

// finestChange is the smallest change of a signal from one value to the next, but for what a computer's own digits
// leave.
func finestChange(v []float64) float64 {
	least := math.Inf(1)
	for i := 1; i < len(v); i++ {
		if d := math.Abs(v[i] - v[i-1]); d > 1e-9*math.Abs(v[i]) && d < least {
			least = d
		}
	}
	return least
}
