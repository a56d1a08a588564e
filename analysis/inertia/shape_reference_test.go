package inertia

import (
	"encoding/json"
	"flag"
	"math"
	"math/rand/v2"
	"os"
	"testing"
)

var update = flag.Bool("update", false, "write testdata/shape_input.json; then run testdata/shape_reference.py")

// shapeCase is what the reference is computed from: falls of engine speed and the weights that the robust fit ended with.
type shapeCase struct {
	Low    float64     `json:"low"`
	High   float64     `json:"high"`
	T      [][]float64 `json:"t"`
	RPM    [][]float64 `json:"rpm"`
	Weight [][]float64 `json:"weight"`
}

type shapeAnswer struct{ A, B, Q []float64 }

// falls makes five falls with timing noise and some late stamps.
func falls() shapeCase {
	rng := rand.New(rand.NewPCG(13, 13))
	c := shapeCase{Low: 1500, High: 4800}
	for i := range 5 {
		var t, n []float64
		b := 0.95 + 0.03*float64(i)
		for at := 0.0; ; at += 0.11 + 0.02*rng.Float64() {
			rpm := 4800 * math.Exp(-at/(1.7*b)) / (1 + 0.05*at)
			if rpm < 1500 {
				break
			}
			late := 0.0
			if rng.Float64() < 0.06 {
				late = 0.08
			}
			t, n = append(t, 10*float64(i)+at+0.01*rng.NormFloat64()+late), append(n, math.Round(4*rpm)/4)
		}
		c.T, c.RPM = append(c.T, t), append(c.RPM, n)
	}
	return c
}

// The shared-shape fit against SciPy's least squares on the same numbers with the same final weights (testdata/shape_reference.py).
func TestShapeFitAgreesWithSciPy(t *testing.T) {
	c := falls()
	var runs []ShapeRun
	for i := range c.T {
		runs = append(runs, ShapeRun{T: c.T[i], RPM: c.RPM[i]})
	}
	s, err := FitShape(runs, c.Low, c.High, 3)
	if err != nil {
		t.Fatal(err)
	}
	down := 0
	for _, r := range s.Runs {
		c.Weight = append(c.Weight, r.Weight)
		for _, w := range r.Weight {
			if w < 0.5 {
				down++
			}
		}
	}
	if down < 2 {
		t.Fatalf("%d samples lost weight: the late stamps were not seen", down)
	}
	if *update {
		data, err := json.Marshal(c)
		if err == nil {
			err = os.WriteFile("testdata/shape_input.json", data, 0o644)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	data, err := os.ReadFile("testdata/shape_reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var want shapeAnswer
	if err := json.Unmarshal(data, &want); err != nil {
		t.Fatal(err)
	}
	near := func(what string, got, want float64) {
		if math.Abs(got-want) > 1e-6*math.Max(1, math.Abs(want)) {
			t.Errorf("%s: %.10g, SciPy has %.10g", what, got, want)
		}
	}
	for i, r := range s.Runs {
		near("A", r.A, want.A[i])
		near("B", r.B, want.B[i])
	}
	for i, q := range s.Q {
		near("Q", q, want.Q[i])
	}
}
