package motion

import (
	"math"
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
		z[i] = measurement{t: ref.T[i], speed: ref.Speed[i], speedR: ref.SpeedVar[i], engine: ref.Engine[i],
			engnR: ref.EngineVar[i]}
	}
	for i, m := range smooth(z) {
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

func TestSmootherOfNothing(t *testing.T) {
	if got := smooth(nil); len(got) != 0 {
		t.Errorf("%d states of no measurement", len(got))
	}
}
