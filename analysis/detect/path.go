package detect

import (
	"math"
	"slices"

	"flywitness/analysis/motion"
	"flywitness/internal/parts"
)

// A single wheel's speed is not the car's: in a bend of lateral acceleration b it is off by w b/v, w half the track.
// That is large in slow bends and little at speed, where a clutch is put to the test. A spread that is the same
// everywhere would take the one for the other, so how much of it there is, is read from the log: which standard
// deviation path/v goes best with what the windows at light load show.
const (
	mostPath   = 40.0 // (km/h)^2: 0.75 m at 3 m/s^2 in the mean square, and a little
	pathStep   = 2.0  // (km/h)^2 between two that are tried
	pathWindow = 1.5  // s of the windows that tell,
	// and the values that they have at least
	controlValues = 3.0
	bendTime      = 6.0 // s of driving that tell one thing: a bend and the straight behind it
	pathNats      = 3.0 // by which a path must be the likelier: the odds that a log is of one wheel are not long
)

// control is a window at light load: its mean (km/h), and what is known to make it.
type control struct{ mean, variance, v float64 }

// pathOf finds the path error that windows at light load show, of a link with a value every so many s.
func pathOf(windows []control, period float64) (found float64) {
	if len(windows) < nullLeast {
		return 0
	}
	independent := float64(len(windows)) * nullStep * controlLength(period) / bendTime
	misfits := make([]float64, 1+int(mostPath/pathStep))
	parts.Each(len(misfits), 1, func(k, _ int) { misfits[k] = misfit(windows, float64(k)*pathStep) })
	least := misfits[0] - pathNats/independent
	for k, x := range misfits {
		if x < least {
			least, found = x, float64(k)*pathStep
		}
	}
	return found
}

// controls are the windows at light load of one length; light[i] is how many samples before i are at light load.
func (r *Record) controls(light []int32) []control {
	runs := r.someRuns()
	each := make([][]control, len(runs))
	parts.Every(len(runs), func(q int) { each[q] = r.controlsOf(runs[q], light) })
	return slices.Concat(each...)
}

func (r *Record) controlsOf(run *motion.Run, light []int32) (out []control) {
	r.nullWindows(run, []float64{controlLength(r.Period)}, func(lo, hi int) {
		if int(light[hi]-light[lo]) < hi-lo {
			return
		}
		if w := r.test(lo, hi, run.Index); w.mean <= nullFar*w.v {
			out = append(out, control{w.mean, w.sd * w.sd, w.v})
		}
	})
	return out
}

// controlLength is how long (s) a window is on a link with a value every so many s.
func controlLength(period float64) float64 { return max(pathWindow, controlValues*period) }

// misfit is the mean negative logarithm of the likelihood of windows that wander by path/v beside what is known, all
// of it times a scale that fits best. Errors have long tails, so it is Laplace's.
func misfit(windows []control, path float64) float64 {
	sum, width := 0.0, 0.0
	for _, w := range windows {
		sd := math.Sqrt(w.variance + path*path/(w.v*w.v))
		sum += math.Abs(w.mean) / sd
		width += math.Log(sd)
	}
	n := float64(len(windows))
	return width/n + math.Log(max(sum/n, leastScale))
}

// leastScale is the scale of windows that show nothing at all.
const leastScale = 0.3
