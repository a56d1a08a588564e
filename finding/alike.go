package finding

import (
	"math"
	"slices"

	"flywitness/figure"
)

// Together is one finding for two that differ in their first number at most: that number is then the range of both. ok is false where they differ in more.
func Together(f, g Finding) (both Finding, ok bool) {
	i := f.firstNumber()
	if f.Code != g.Code || f.Side != g.Side || f.part != g.part || len(f.Values) != len(g.Values) || i != g.firstNumber() {
		return f, false
	}
	if i < 0 {
		return f, f.Equal(g)
	}
	low, high := f.Values[i].span()
	gLow, gHigh := g.Values[i].span()
	both = f
	both.Values = slices.Clone(f.Values)
	g.Values = slices.Clone(g.Values)
	both.Values[i] = f.Values[i].ranging(math.Min(low, gLow), math.Max(high, gHigh))
	g.Values[i] = both.Values[i] // the rest must read the same
	return both, both.Equal(g)
}

// firstNumber is where the first number among the values stands, -1 without one.
func (f Finding) firstNumber() int {
	return slices.IndexFunc(f.Values, func(v Value) bool { return v.kind == aQuantity || v.kind == anEstimate || v.kind == aCount })
}

// span is the range of a number.
func (v Value) span() (low, high float64) { return v.x, math.Max(v.x, v.high) }

// ranging is a number that stands for all from low to high.
func (v Value) ranging(low, high float64) Value {
	v.x, v.high = low, high
	return v
}

// Together is the same for texts of one sentence; others go together where they say the same.
func (t Text) Together(other Text) (both Text, ok bool) {
	if len(t) != 1 || len(other) != 1 {
		return t, t.In(figure.Metric) == other.In(figure.Metric)
	}
	f, ok := Together(t[0], other[0])
	return Text{f}, ok
}
