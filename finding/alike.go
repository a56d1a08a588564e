package finding

import (
	"math"
	"slices"

	"flywitness/figure"
)

// together is one finding for two that differ in their numbers alone: each number is then the range of both. ok is
// false where they differ in more.
func together(f, g Finding) (both Finding, ok bool) {
	if f.Code != g.Code || f.Side != g.Side || f.part != g.part || len(f.Values) != len(g.Values) {
		return f, false
	}
	both = f
	both.Values, both.made = slices.Clone(f.Values), ""
	g.Values, g.made = slices.Clone(g.Values), ""
	for i, v := range f.Values {
		if v.isNumber() && g.Values[i].isNumber() {
			both.Values[i] = v.ranging(g.Values[i])
			g.Values[i] = both.Values[i]
		}
	}
	return both, both.Equal(g) // the rest must read the same
}

func (v Value) isNumber() bool {
	return v.kind == aQuantity || v.kind == anEstimate || v.kind == aCount
}

// span is the range of a number.
func (v Value) span() (low, high float64) { return v.x, v.x + v.wide }

// ranging is a number that stands for all of both.
func (v Value) ranging(w Value) Value {
	low, high := v.span()
	from, to := w.span()
	v.x = math.Min(low, from)
	v.wide = math.Max(high, to) - v.x
	return v
}

// together is the same for texts of one sentence; others go together where they say the same.
func (t Text) Together(other Text) (both Text, ok bool) {
	if len(t) != 1 || len(other) != 1 {
		return t, t.In(figure.Metric) == other.In(figure.Metric)
	}
	f, ok := together(t[0], other[0])
	return Text{f}, ok
}
