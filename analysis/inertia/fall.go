package inertia

import "math"

// fall is one fall of engine speed from a peak to the next trough, whole: what trimming cuts from.
type fall struct {
	t, n    []float64 // from the peak sample to the trough, arrival order
	release float64   // s, the peak sample: the driver let go then or up to a sample later
	rate    float64   // rpm/s, mean of the fall
	clean   float64   // s, nothing before this may be used: the throttle was still open
	bottom  float64   // rpm, lowest speed that may be used
}

const (
	holeValues = 8.0   // intervals without a value after which nothing is known of what was going on
	nearIdle   = 1.15  // times idle, below which a fall has come to its end
	leastFall  = 400.0 // rpm; less is a foot that plays
	fallTop    = 300.0 // rpm at the top of a fall that are left out: the throttle closes and the air goes
)

// falls splits engine speed at its turning points and returns the falls. A turn smaller than the
// ripple is noise, so the peak of a fall after limiter bounce is the last bounce, and a re-blip ends a fall.
func (s *preparedLog) falls() []*fall {
	var out []*fall
	hi, lo := 0, 0 // index of the highest sample since the last trough, of the lowest since the last peak
	falling := false
	for i := 1; i < len(s.n); i++ {
		// A hole in the record ends whatever was going on: what happened in it is not known.
		if s.t[i]-s.t[i-1] > holeValues*s.interval && s.t[i]-s.t[i-1] > 1 {
			if falling {
				out = s.addFall(out, hi, lo)
			}
			hi, lo, falling = i, i, false
			continue
		}
		if falling {
			if s.n[i] <= s.n[lo] {
				lo = i
			} else if s.n[i] > s.n[lo]+s.ripple || s.n[lo] < nearIdle*s.idle {
				out = s.addFall(out, hi, lo)
				hi, falling = i, false
			}
			continue
		}
		if s.n[i] >= s.n[hi] {
			hi = i
		} else if s.n[i] < s.n[hi]-s.ripple {
			lo, falling = i, true
		}
	}
	if falling {
		out = s.addFall(out, hi, lo)
	}
	return out
}

func (s *preparedLog) addFall(out []*fall, hi, lo int) []*fall {
	if s.n[hi]-s.n[lo] < leastFall {
		return out
	}
	f := &fall{t: s.t[hi : lo+1], n: s.n[hi : lo+1], bottom: s.bottom()}
	f.release, f.rate = f.t[0], f.fallRate()
	f.clean = math.Inf(-1)
	return append(out, f)
}

// fallRate is the mean rate of a fall below its top, rpm/s; 0 when there is none.
func (f *fall) fallRate() float64 {
	i, j := 0, len(f.n)-1
	for i < j && f.n[i] > f.n[0]-fallTop {
		i++
	}
	for j > i && f.n[j] < f.bottom {
		j--
	}
	if j <= i {
		i, j = 0, len(f.n)-1
	}
	if f.t[j] <= f.t[i] {
		return 0
	}
	return (f.n[i] - f.n[j]) / (f.t[j] - f.t[i])
}

// last returns the final index of the fall.
func (f *fall) last() int { return len(f.t) - 1 }

// trimmed cuts a fall to low..high rpm, to what lies topTrim seconds of falling and at least 300 rpm below the
// peak (the first moments belong to the dashpot, the emptying manifold, the filter of the sensor and the
// limiter), and to what comes after the throttle shut. The cut is made in engine speed, not in time: the moment
// of the release falls between two samples and their stamps jitter, and to choose samples by their own time
// error would bend the fall.
func (f *fall) trimmed(low, high, topTrim float64) (t, n []float64) {
	top := math.Min(high, f.n[0]-math.Max(fallTop, f.rate*topTrim))
	low = math.Max(low, f.bottom)
	i := 0
	for i < len(f.t) && (f.t[i] <= f.clean || f.n[i] >= top) {
		i++
	}
	j := i
	for j < len(f.t) && f.n[j] >= low {
		j++
	}
	return f.t[i:j], f.n[i:j]
}

// Trimmed returns the samples (s, rpm) of a free-rev run between low and high rpm that are at least topTrim seconds
// after the release, in arrival order; nothing for a run of another kind.
func (r *Run) Trimmed(low, high, topTrim float64) (t, rpm []float64) {
	if r.fall == nil {
		return nil, nil
	}
	return r.fall.trimmed(low, high, topTrim)
}

// Peak returns the engine speed of a free rev's highest sample, in rpm; 0 for a run of another kind.
func (r *Run) Peak() float64 {
	if r.fall == nil {
		return 0
	}
	return r.fall.n[0]
}

// Bottom returns the lowest engine speed of a free rev that may be used, in rpm; 0 for a run of another kind.
func (r *Run) Bottom() float64 {
	if r.fall == nil {
		return 0
	}
	return r.fall.bottom
}
