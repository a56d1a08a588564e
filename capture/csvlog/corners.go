package csvlog

import "math"

// Where the reply fell between two rows, neither row holds its value: the corner of the two lines does. A road speed that the car gives
// in whole steps stands in fractions all over such a table. Taken for a fine one, nobody would ask whether it was rounded or cut off,
// and half a step is three per cent of a first gear.
const (
	nearWhole  = 0.1 // of a step; a fifth of all numbers is as near to a whole one,
	wholeShare = 0.8 // so these are whole
)

// corner is the value in which the lines on either side of a bend meet.
func (b bend) corner(t, v []float64) float64 {
	if b.hi-b.lo < 2 || b.lo < 2 || b.lo+3 >= len(v) {
		return v[b.at]
	}
	i := b.lo
	left := (v[i] - v[i-2]) / (t[i] - t[i-2])
	right := (v[i+3] - v[i+1]) / (t[i+3] - t[i+1])
	dt := t[i+1] - t[i]
	u := (v[i+1] - v[i] - right*dt) / (left - right)
	return v[i] + left*min(max(u, 0), dt) // min and max keep a NaN, which then is near no whole step
}

// wholeSteps tells whether the corners lie on whole steps.
func wholeSteps(t, v []float64, bends []bend, step float64) bool {
	n := 0
	for _, b := range bends {
		if awayFromWhole(b.corner(t, v), step) <= nearWhole {
			n++
		}
	}
	return float64(n) >= wholeShare*float64(len(bends))
}

// awayFromWhole is how far x is from a whole step, in steps.
func awayFromWhole(x, step float64) float64 { return math.Abs(x/step - math.Round(x/step)) }

// onSteps returns the kept samples with the values that the car gave, which are whole steps. Between two corners on one line only a
// value that is whole can have been one.
func onSteps(t, v []float64, bends []bend, kept []int, step float64) (rows []int, values []float64) {
	k := 0
	for _, i := range kept {
		for k < len(bends) && bends[k].at < i {
			k++
		}
		x := v[i]
		if k < len(bends) && bends[k].at == i {
			x = bends[k].corner(t, v)
		} else if awayFromWhole(x, step) > nearWhole {
			continue
		}
		rows, values = append(rows, i), append(values, math.Round(x/step)*step)
	}
	return rows, values
}
