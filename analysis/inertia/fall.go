package inertia

import "math"

// fall is one fall of engine speed from a peak to the next trough, whole: what trimming cuts from.
type fall struct {
	t, n    []float64 // from the peak sample to the trough, arrival order
	release float64   // s, the latest moment at which the torque may still have been on
	clean   float64   // s, nothing before this may be used: the throttle was still open
	bottom  float64   // rpm, lowest speed that may be used
}

// falls splits engine speed at its turning points and returns the falls of at least 400 rpm. A turn smaller than the
// ripple is noise, so the peak of a fall after limiter bounce is the last bounce, and a re-blip ends a fall.
func (s *scene) falls() []*fall {
	var out []*fall
	hi, lo := 0, 0 // index of the highest sample since the last trough, of the lowest since the last peak
	falling := false
	for i := 1; i < len(s.n); i++ {
		// A hole in the record ends whatever was going on: what happened in it is not known.
		if s.t[i]-s.t[i-1] > 8*s.interval && s.t[i]-s.t[i-1] > 1 {
			if falling {
				out = s.addFall(out, hi, lo)
			}
			hi, lo, falling = i, i, false
			continue
		}
		if falling {
			if s.n[i] <= s.n[lo] {
				lo = i
			} else if s.n[i] > s.n[lo]+s.ripple || s.n[lo] < 1.15*s.idle {
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

func (s *scene) addFall(out []*fall, hi, lo int) []*fall {
	if s.n[hi]-s.n[lo] < 400 {
		return out
	}
	f := &fall{t: s.t[hi : lo+1], n: s.n[hi : lo+1], bottom: s.bottom()}
	f.release = f.releaseTime()
	f.clean = math.Inf(-1)
	return append(out, f)
}

// releaseTime is the latest moment at which the driver can have let go: the peak sample, or, where the next sample is
// nearly as high, the moment at which the fall carried back reaches the peak's level.
func (f *fall) releaseTime() float64 {
	if len(f.t) < 4 {
		return f.t[0]
	}
	rate := (f.n[1] - f.n[3]) / (f.t[3] - f.t[1])
	if !(rate > 0) {
		return f.t[0]
	}
	back := f.t[1] - (f.n[0]-f.n[1])/rate
	return math.Min(math.Max(f.t[0], back), math.Max(f.t[0], f.t[1]))
}

// last returns the final index of the fall.
func (f *fall) last() int { return len(f.t) - 1 }

// trimmed cuts a fall to low..high rpm, to what lies topTrim seconds after the release and 300 rpm below the peak (the
// first moments belong to the dashpot, the emptying manifold, the filter of the sensor and the limiter), and to what
// comes after the throttle shut.
func (f *fall) trimmed(low, high, topTrim float64) (t, n []float64) {
	from := math.Max(f.release+topTrim, f.clean)
	top := math.Min(high, f.n[0]-300)
	low = math.Max(low, f.bottom)
	i := 0
	for i < len(f.t) && (f.t[i] <= from || f.n[i] >= top) {
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

// Bottom returns the lowest engine speed of a free rev that may be used, in rpm; 0 for a run of another kind.
func (r *Run) Bottom() float64 {
	if r.fall == nil {
		return 0
	}
	return r.fall.bottom
}
