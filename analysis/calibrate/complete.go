package calibrate

import (
	"cmp"
	"math"
	"slices"

	"flywitness/analysis/gearstate"
)

// missing looks for gears that the histogram did not show: stretches outside the ladder in which engine and road speed change together.
// It returns the ladder with what it found.
func (p *pool) missing(tracks []*gearstate.Track, rungs []rung, s *solution) []rung {
	type stretch struct{ k, seconds float64 }
	var found []stretch
	for _, t := range tracks {
		start := 0
		for i := 0; i <= t.Len(); i++ {
			if i < t.Len() && t.Clutch[i] != gearstate.Locked && t.SpeedKmh[i] >= minMoving &&
				t.RPM[i] > 1.3*p.idle && // below: rolling at idle
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
		for j < len(found) && found[i].k/found[j].k < 1.04 {
			total += found[j].seconds
			j++
		}
		k := found[(i+j)/2].k
		if (j-i >= 2 || total >= 4) && total >= 3.5 && apart(out, k) {
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
	return math.Abs(r/r0-1) < math.Max(0.02, 1.3/t.SpeedKmh[i])
}

// constant returns the ratio of a stretch of at least 1.8 s in which engine speed changed by more than 6 %.
func constant(t *gearstate.Track, start, end int) (k float64, ok bool) {
	if end-start < 5 || t.T[end-1]-t.T[start] < 1.8 {
		return 0, false
	}
	lo, hi := math.Inf(1), 0.0
	var n, v float64
	for i := start; i < end; i++ {
		lo, hi = math.Min(lo, t.RPM[i]), math.Max(hi, t.RPM[i])
		n += t.RPM[i]
		v += t.SpeedKmh[i]
	}
	return n / v, hi > 1.06*lo
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
