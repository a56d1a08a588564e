package gearstate

import "math"

// The decoder needs some functions many times a sample. They are read from tables.

const (
	tableEnd    = 20.0 // to which the tables go; beyond, exp -x is nothing beside 1
	perDoubling = 128  // pieces of the logarithm from one power of two to the next
)

// table holds a function between two places, to be read linearly: the decoder needs some logarithms many times
// a sample, to three digits.
type table struct {
	lo, perUnit float64
	y           []float64
}

func newTable(lo, hi, perUnit float64, f func(x float64) float64) table {
	t := table{lo: lo, perUnit: perUnit}
	for i := 0.0; i <= (hi-lo)*perUnit+1; i++ {
		t.y = append(t.y, f(lo+i/perUnit))
	}
	return t
}

func (t *table) at(x float64) float64 {
	p := (x - t.lo) * t.perUnit
	i := int(p)
	f := p - float64(i)
	return t.y[i]*(1-f) + t.y[i+1]*f
}

// lnUpperNormal is the logarithm of the standard normal distribution function, from a table.
func lnUpperNormal(z float64) float64 {
	switch {
	case z > tableEnd:
		return 0
	case z < -tableEnd: // its tail, less a logarithm that does not matter there
		return -0.5*z*z - lnSqrt2Pi - 2.995732273553991
	}
	return upperTable.at(z)
}

var upperTable = newTable(-tableEnd, tableEnd, 64,
	func(z float64) float64 { return math.Log(0.5 * math.Erfc(-z/math.Sqrt2)) })

func logSumExp(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	return a + softplus(b-a)
}

// softplus is ln(1 + exp x) for x <= 0, from a table.
func softplus(x float64) float64 {
	if !(x > -tableEnd) {
		return 0
	}
	return softplusTable.at(-x)
}

var softplusTable = newTable(0, tableEnd, 64, func(x float64) float64 { return math.Log1p(math.Exp(-x)) })

// curve holds a function from a place on as parabolas, one for each piece: seven digits where a table has three.
type curve struct {
	lo, perUnit float64
	piece       []parabola
}

// parabola is a + b d + c d^2 at a distance d from the middle of a piece, in pieces.
type parabola struct{ a, b, c float64 }

func newCurve(lo, hi, perUnit float64, f func(x float64) float64) curve {
	c := curve{lo: lo, perUnit: perUnit}
	for i := 0.0; i <= (hi-lo)*perUnit; i++ {
		left, mid, right := f(lo+i/perUnit), f(lo+(i+0.5)/perUnit), f(lo+(i+1)/perUnit)
		c.piece = append(c.piece, parabola{mid, right - left, 2 * (left + right - 2*mid)})
	}
	return c
}

func (c *curve) at(x float64) float64 {
	x = (x - c.lo) * c.perUnit
	i := int(x)
	p := &c.piece[i]
	d := x - float64(i) - 0.5
	return p.a + d*(p.b+d*p.c)
}

// erf is the error function.
func erf(x float64) float64 {
	if !(math.Abs(x) < tableEnd) {
		return math.Copysign(1, x)
	}
	return math.Copysign(erfCurve.at(math.Abs(x)), x)
}

var erfCurve = newCurve(0, tableEnd, 128, math.Erf)

// expMinus is exp -x for x >= 0.
func expMinus(x float64) float64 {
	if !(x < tableEnd) {
		return math.Exp(-x)
	}
	return expCurve.at(x)
}

var expCurve = newCurve(0, tableEnd, 64, func(x float64) float64 { return math.Exp(-x) })

// ln is the natural logarithm of a positive number: that of its power of two, and of what is left between 1 and 2.
func ln(x float64) float64 {
	const mantissa, one = 1<<52 - 1, 1023
	b := math.Float64bits(x)
	rest := math.Float64frombits(b&mantissa | one<<52)
	return float64(int(b>>52)-one)*math.Ln2 + lnCurve.at(rest)
}

var lnCurve = newCurve(1, 2, perDoubling, math.Log)
