package motion

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"flywitness/internal/numbers"
)

// The reference is SciPy (scipy.linalg.cho_solve on the whole system at once), testdata/smoother.py.
func TestSmootherAgreesWithSciPy(t *testing.T) {
	var ref struct {
		T         []float64 `json:"t"`
		Speed     []float64 `json:"speed"`
		SpeedVar  []float64 `json:"speed_var"`
		Engine    []float64 `json:"engine"`
		EngineVar []float64 `json:"engine_var"`
		V         []float64 `json:"v"`
		A         []float64 `json:"a"`
		VarV      []float64 `json:"var_v"`
		VarA      []float64 `json:"var_a"`
	}
	numbers.Read(t, "smoother.json", &ref)
	z := make([]measurement, len(ref.T))
	for i := range z {
		z[i] = measurement{speed: ref.Speed[i], speedR: ref.SpeedVar[i], engine: ref.Engine[i],
			engnR: ref.EngineVar[i]}
	}
	for i, m := range smooth(ref.T, func(i int) measurement { return z[i] }) {
		for _, x := range []struct {
			what      string
			got, want float64
		}{{"speed", m.V, ref.V[i]}, {"acceleration", m.A, ref.A[i]}, {"variance of speed", m.VarV, ref.VarV[i]},
			{"variance of acceleration", m.VarA, ref.VarA[i]}} {
			if math.Abs(x.got-x.want) > 1e-8*math.Max(1, math.Abs(x.want)) {
				t.Errorf("sample %d: %s %.12g, SciPy has %.12g", i, x.what, x.got, x.want)
			}
		}
	}
}

// A drive smoothed in parts is the drive smoothed as a whole, to the last bit, whatever the parts. Where values come so
// fast that a part ends before the filter has forgotten, too.
func TestSmootherInParts(t *testing.T) {
	const n = 10007
	for _, dt := range []float64{0.05, 0.0005} {
		rng := rand.New(rand.NewPCG(4, 4))
		at, z := make([]float64, n), make([]measurement, n)
		for i := range z {
			if i > 0 {
				at[i] = at[i-1] + dt*(0.8+0.4*rng.Float64())
			}
			v := 60 + 30*math.Sin(at[i]/20)
			z[i] = measurement{speed: math.Round(v), speedR: 0.15}
			if i/300%3 > 0 {
				z[i].engine, z[i].engnR = v+0.1*rng.NormFloat64(), 0.0225
			}
		}
		measured := func(i int) measurement { return z[i] }
		whole := smoothInParts(at, measured, n)
		for _, part := range []int{7, 500, 4096, n - 1} {
			if got := smoothInParts(at, measured, part); !slices.Equal(got, whole) {
				t.Errorf("%g s: parts of %d moments make another drive", dt, part)
			}
		}
	}
}

func TestSmootherOfNothing(t *testing.T) {
	if got := smooth(nil, nil); len(got) != 0 {
		t.Errorf("%d states of no measurement", len(got))
	}
}
