package stats

import "math"

const (
	cdfEnd     = 9.0 // standard deviations, beyond which nothing is left of a probability beside 1
	cdfPerUnit = 64  // places to a standard deviation from which a series begins
)

// cdfPlace is the standard normal distribution function and its density at a place.
type cdfPlace struct{ below, density float64 }

var cdfPlaces = func() (at [2*cdfEnd*cdfPerUnit + 1]cdfPlace) {
	for i := range at {
		z := float64(i)/cdfPerUnit - cdfEnd
		at[i] = cdfPlace{0.5 * math.Erfc(-z/math.Sqrt2), math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)}
	}
	return at
}()

// NormalCDF is the standard normal distribution function to 15 decimals: its Taylor series about the next of many
// places, with five terms of Hermite polynomials. It takes a third of the time of math.Erfc.
func NormalCDF(z float64) float64 {
	if !(z > -cdfEnd && z < cdfEnd) {
		return farCDF(z)
	}
	i := int((z+cdfEnd)*cdfPerUnit + 0.5)
	p, x := &cdfPlaces[i], float64(i)/cdfPerUnit-cdfEnd
	h, xx := z-x, x*x
	series := h * (1 + h*(-0.5*x+h*((xx-1)*(1.0/6)+h*(x*(3-xx)*(1.0/24)+h*(xx*(xx-6)+3)*(1.0/120)))))
	return p.below + p.density*series
}

// farCDF is the function where nothing is left of it beside 0 or 1, or z is no number.
func farCDF(z float64) float64 {
	switch {
	case z > 0:
		return 1
	case z < 0:
		return 0
	}
	return z
}
