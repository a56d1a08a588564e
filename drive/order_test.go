package drive_test

import (
	"math"
	"slices"
	"testing"

	"flywitness/drive"
)

// Samples that are whole and in order are shared; others are left out, and stamps out of order are sorted as they came.
func TestSamplesInOrder(t *testing.T) {
	whole := &drive.Channel{T: []float64{1, 2, 2, 3}, V: []float64{10, 20, 21, 30}}
	if at, v := whole.InOrder(); &at[0] != &whole.T[0] || &v[0] != &whole.V[0] || len(at) != 4 {
		t.Error("samples in order are copied")
	}
	inf := math.Inf(1)
	torn := &drive.Channel{T: []float64{3, 1, math.NaN(), 2, 2, 5, inf}, V: []float64{30, 10, 1, 20, 21, inf, 1}}
	if at, v := torn.InOrder(); !slices.Equal(at, []float64{1, 2, 2, 3}) || !slices.Equal(v, []float64{10, 20, 21, 30}) {
		t.Errorf("%v %v", at, v)
	}
	if torn.T[0] != 3 {
		t.Error("the channel is changed")
	}
	for _, c := range []*drive.Channel{nil, {}, {T: []float64{1}}, {T: []float64{1}, V: []float64{math.NaN()}}} {
		if at, v := c.InOrder(); len(at) != 0 || len(v) != 0 {
			t.Errorf("%v: %v %v", c, at, v)
		}
	}
}

func TestFinite(t *testing.T) {
	for x, want := range map[float64]bool{0: true, -1e308: true, math.Inf(1): false, math.Inf(-1): false, math.NaN(): false} {
		if drive.Finite(x) != want {
			t.Errorf("%v: %v", x, !want)
		}
	}
}
