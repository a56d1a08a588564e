package calibrate

import (
	"cmp"
	"math"
	"slices"

	"flywitness/analysis/gearstate"
)

// A gear that the histogram missed shows as a ratio that stays while engine and road speed change together.
const (
	rollingIdle  = 1.3  // times idle, below which the engine rolls along at idle in whatever gear
	oneGear      = 1.04 // ratios within this factor are one gear
	missedLeast  = 3.5  // s of it in all,
	missedOnce   = 4.0  // and s in one stretch where there is no second
	missedTime   = 1.8  // s of a stretch: longer than a change of gear
	missedValues = 5    // of it
	// highest over lowest engine speed: a ratio that two steady speeds have by chance does not change with them
	missedSpan   = 1.06
	steadyWithin = 0.02 // relative, within which a ratio stays,
	steadyStep   = 1.3  // or km/h, where steps of road speed are larger
)

// missing looks for gears that the histogram did not show: stretches outside the ladder in which engine and
// road speed change together. It returns the ladder with what it found.
func (p *pool) missing(tracks []*gearstate.Track, rungs []rung, s *solution) []rung {
	type stretch struct{ k, seconds float64 }
	var found []stretch
	for _, t := range tracks {
		start := 0
		for i := 0; i <= t.Len(); i++ {
			if i < t.Len() && t.Clutch[i] != gearstate.Locked && t.SpeedKmh[i] >= minMoving &&
				t.RPM[i] > rollingIdle*p.idle &&
				!(t.Load[i] > moderate) && // above, a clutch may slip at a constant ratio
				(i == start || steady(t, start, i)) {
				continue
			}
			if k, ok := constant(t, start, i); ok {
				found = append(found, stretch{k, t.T[i-1] - t.T[start]})
			}
			start = i
			if i < t.Len() && (t.Clutch[i] == gearstate.Locked || t.SpeedKmh[i] < minMoving) {
				start = i + 1
			}
		}
	}
	slices.SortFunc(found, func(a, b stretch) int { return cmp.Compare(b.k, a.k) })
	out := slices.Clone(rungs)
	for i := 0; i < len(found); {
		j, total := i, 0.0
		for j < len(found) && found[i].k/found[j].k < oneGear {
			total += found[j].seconds
			j++
		}
		k := found[(i+j)/2].k
		if (j-i >= 2 || total >= missedOnce) && total >= missedLeast && apart(out, k) {
			out = append(out, rung{k: k, seconds: total})
		}
		i = j
	}
	slices.SortFunc(out, func(a, b rung) int { return cmp.Compare(b.k, a.k) })
	number(out)
	return out
}

// steady tells whether sample i still has the ratio of the stretch that began at start.
func steady(t *gearstate.Track, start, i int) bool {
	r0, r := t.RPM[start]/t.SpeedKmh[start], t.RPM[i]/t.SpeedKmh[i]
	return math.Abs(r/r0-1) < math.Max(steadyWithin, steadyStep/t.SpeedKmh[i])
}

// constant returns the ratio of a stretch that lasts, in which engine speed changed.
func constant(t *gearstate.Track, start, end int) (k float64, ok bool) {
	if end-start < missedValues || t.T[end-1]-t.T[start] < missedTime {
		return 0, false
	}
	lo, hi := math.Inf(1), 0.0
	var n, v float64
	for i := start; i < end; i++ {
		lo, hi = math.Min(lo, t.RPM[i]), math.Max(hi, t.RPM[i])
		n += t.RPM[i]
		v += t.SpeedKmh[i]
	}
	return n / v, hi > missedSpan*lo
}

// apart tells whether a ratio is a gear of its own.
func apart(rungs []rung, k float64) bool {
	for _, r := range rungs {
		if math.Abs(math.Log(r.k/k)) < minSpacing {
			return false
		}
	}
	return true
}
