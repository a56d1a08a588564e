package motion

import (
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/internal/numbers"
)

// The reference is SciPy (scipy.linalg.cho_solve on the dense covariance of the slope), testdata/survey.py.
func TestSurveyAgreesWithSciPy(t *testing.T) {
	var ref struct {
		Gear   []int     `json:"gear"`
		Way    []float64 `json:"way"`
		New    []bool    `json:"new"`
		V      []float64 `json:"v"`
		RPM    []float64 `json:"rpm"`
		Load   []float64 `json:"load"`
		SD     []float64 `json:"sd"`
		Pull   []float64 `json:"pull"`
		Turn   []float64 `json:"turning"`
		Spread float64   `json:"spread"`
		Length float64   `json:"length"`
		X      []float64 `json:"x"`
		XSD    []float64 `json:"x_sd"`
		Slope  []float64 `json:"slope"`
	}
	numbers.Read(t, "survey.json", &ref)
	f := NewForce(handCar(), false)
	pieces := make([]piece, len(ref.Gear))
	for i := range pieces {
		pieces[i] = piece{way: ref.Way[i], gear: ref.Gear[i], arm: f.Arm(ref.Gear[i]), v: ref.V[i], rpm: ref.RPM[i],
			load: ref.Load[i], sd: ref.SD[i], pull: ref.Pull[i], turning: ref.Turn[i]}
		if ref.New[i] {
			pieces[i].way = math.Inf(1)
		}
	}
	s := layOut(pieces, f)
	if s == nil {
		t.Fatal("no survey")
	}
	s.spread, s.length = ref.Spread, ref.Length
	if !s.fit(f) {
		t.Fatal("no fit")
	}
	near := func(what string, i int, got, want float64) {
		if math.Abs(got-want) > 1e-8*math.Max(1, math.Abs(want)) {
			t.Errorf("%s %d: %.12g, SciPy has %.12g", what, i, got, want)
		}
	}
	if len(ref.X) != s.n {
		t.Fatalf("%d unknowns, the reference has %d", s.n, len(ref.X))
	}
	for i, want := range ref.X {
		near("unknown", i, s.x.AtVec(i), want)
		near("its standard deviation", i, math.Sqrt(s.cov.At(i, i)), ref.XSD[i])
	}
	slope, _ := s.slopes()
	for i, want := range ref.Slope {
		near("slope", i, slope[i], want)
	}
}

// Wheels that spin at full load seem to pull three times as hard: a full load that grips is then no climb of a third,
// and the estimate is none. Where they grip throughout, it stands.
func TestSlopesThatNoRoadHasAreNone(t *testing.T) {
	f := NewForce(handCar(), false)
	for _, spun := range []float64{1, 3} {
		rng := rand.New(rand.NewPCG(1, uint64(spun)))
		var pieces []piece
		for i := range 120 {
			p := piece{way: 60, gear: 3, arm: f.Arm(3), v: 20, rpm: 2000 + 1500*rng.Float64(), load: 0.3 + 0.3*rng.Float64(), sd: 0.004}
			if i%12 > 8 {
				p.load = 1
			}
			p.pull = 0.4*p.load + 0.003*rng.NormFloat64()
			if i < 60 && p.load == 1 {
				p.pull *= spun
			}
			pieces = append(pieces, p)
		}
		if s := fitGrade(pieces, f); (s != nil) != (spun == 1) {
			t.Errorf("pulls %g times as hard at first: %v", spun, s != nil)
		}
	}
}
