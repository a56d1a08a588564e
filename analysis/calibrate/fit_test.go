package calibrate

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/internal/numbers"
)

// The reference is SciPy (scipy.optimize.least_squares with Tukey's biweight as its loss, scipy.linalg for the
// covariance), testdata/fit.py.
func TestFitAgreesWithSciPy(t *testing.T) {
	var ref struct {
		NT       []float64 `json:"nt"`
		NN       []float64 `json:"nn"`
		T        []float64 `json:"t"`
		V        []float64 `json:"v"`
		Gear     []int8    `json:"gear"`
		Phi      []float64 `json:"phi"`
		Offset   float64   `json:"offset"`
		StartK   []float64 `json:"start_k"`
		StartLag float64   `json:"start_lag"`
		Inverse  []float64 `json:"inverse"`
		Lag      float64   `json:"lag"`
		Creep    float64   `json:"creep"`
		SD       []float64 `json:"sd"`
	}
	numbers.Read(t, "fit.json", &ref)
	log := &series{Signals: gearstate.Signals{RPMT: ref.NT, RPM: ref.NN, SpeedT: ref.T, Speed: ref.V}, gap: 1,
		dt: make([]float64, len(ref.T))}
	for i := 1; i < len(ref.T); i++ {
		log.dt[i] = ref.T[i] - ref.T[i-1]
	}
	log.place = log.places()
	p := &pool{logs: []*series{log}, step: 1, period: 0.11}
	c := &choice{gear: [][]int8{ref.Gear}, phi: [][]float64{ref.Phi}}
	rungs := make([]rung, len(ref.StartK))
	for i, k := range ref.StartK {
		rungs[i] = rung{k: k}
	}
	s := p.fit(rungs, ref.StartLag, ref.Offset, c, p.fitRows(c))
	g := len(s.inverse)
	// as it is used, it stops far inside its own uncertainty
	for i, x := range append(slices.Clone(s.inverse), s.lag, s.creep) {
		if e := math.Abs(x - append(slices.Clone(ref.Inverse), ref.Lag, ref.Creep)[i]); e > 0.03*ref.SD[i] {
			t.Errorf("unknown %d stops %.3f standard deviations from SciPy's", i, e/ref.SD[i])
		}
	}
	for range 20 { // its own steps carried on from where it stopped lead to the same point
		a, b := p.normal(s, c, nil)
		var x mat.VecDense
		if err := x.SolveVec(a, b); err != nil {
			t.Fatal(err)
		}
		for i := range s.inverse {
			s.inverse[i] += x.AtVec(i)
		}
		s.lag += x.AtVec(len(s.inverse))
		s.creep += x.AtVec(len(s.inverse) + 1)
	}
	inv := s.scatter(p, c)
	near := func(what string, got, want float64) {
		if math.Abs(got-want) > 1e-6*math.Abs(want) {
			t.Errorf("%s %.12g, SciPy has %.12g", what, got, want)
		}
	}
	for i, x := range s.inverse {
		near("1/k", x, ref.Inverse[i])
		near("standard deviation of 1/k", s.sd(i), ref.SD[i])
	}
	near("lag", s.lag, ref.Lag)
	near("standard deviation of the lag", s.sd(g), ref.SD[g])
	near("creep", s.creep, ref.Creep)
	near("standard deviation of the creep", s.sd(g+1), ref.SD[g+1])
	s.uncertainty(p, c)
	near("with what is not told and the prior's share", s.sd(g+1), math.Sqrt(ref.SD[g+1]*ref.SD[g+1]+
		sandwich(inv, s.untold(p)).At(g+1, g+1)+stats.Square(creepRidge*usualCreep*inv.At(g+1, g+1))))
	free := p.fitOffset(rungs, ref.StartLag, prior{at: 0.25, sd: 0.25}, c, p.fitRows(c))
	if e := math.Abs(free.offset - ref.Offset); e > 3*free.sd(g+2) || free.sd(g+2) > 0.3 {
		t.Errorf("free offset %.2f ± %.2f km/h, the data were made with %.2f", free.offset, free.sd(g+2), ref.Offset)
	}
	a, b := p.normal(free, c, nil)
	var x mat.VecDense
	if err := x.SolveVec(a, b); err != nil || math.Abs(x.AtVec(g+2)) > 0.03*free.sd(g+2) {
		t.Errorf("the offset would still go %.3f km/h", x.AtVec(g+2))
	}
}

// A tyre that warms, or is pumped up, is stiffer by about a tenth (from memory) and creeps by as much less: no log tells
// better than that, within a factor of two, how much the next one creeps.
func TestCreepIsNoSurerThanATyreIsTheSame(t *testing.T) {
	if got := finestCreep / usualCreep; got < 0.05 || got > 0.19 {
		t.Errorf("creep is told to %.3f of what it usually is", got)
	}
}
