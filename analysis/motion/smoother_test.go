package motion

import (
	"math"
	"math/rand/v2"
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
	for i, e := range smooth(ref.T, func(i int) measurement { return z[i] }, nil) {
		for _, x := range []struct {
			what      string
			got, want float64
		}{{"speed", e.v, ref.V[i]}, {"acceleration", e.a, ref.A[i]}, {"variance of speed", e.p11, ref.VarV[i]},
			{"variance of acceleration", e.p22, ref.VarA[i]}} {
			if math.Abs(x.got-x.want) > 1e-8*math.Max(1, math.Abs(x.want)) {
				t.Errorf("sample %d: %s %.12g, SciPy has %.12g", i, x.what, x.got, x.want)
			}
		}
	}
}

// A drive smoothed in parts is the drive smoothed as a whole, where values are few as well.
func TestSmootherInParts(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for _, every := range []float64{0.05, 0.7} {
		var legs []leg
		for range 3 * partSamples / 400 {
			a := 10 * (rng.Float64() - 0.5)
			legs = append(legs, leg{s: 100 * every, a: a / every, gear: 3, clutch: locked}, leg{s: 200 * every, a: -a / every, gear: 3, clutch: slipping, times: 1.1},
				leg{s: 100 * every, a: a / every, gear: 0, clutch: open, rpm: 900})
		}
		r := New(0, trackEvery(every, 60, legs...))
		n := r.Track.Len()
		if n < 2*partSamples {
			t.Fatalf("%d samples", n)
		}
		for i, x := range smooth(r.Track.T, r.measurements(0, n, nil), nil) {
			if got, want := r.State(i), x.state(); math.Abs(got.V-want.V) > 1e-9 || math.Abs(got.A-want.A) > 1e-9 || math.Abs(float64(got.VarA/want.VarA)-1) > 1e-6 {
				t.Fatalf("every %g s, sample %d: %v, as a whole %v", every, i, got, want)
			}
		}
	}
}

func TestSmootherOfNothing(t *testing.T) {
	if r := New(0, track(60)); len(r.parts[0].state) != 0 {
		t.Errorf("%d states of no measurement", len(r.parts[0].state))
	}
}
