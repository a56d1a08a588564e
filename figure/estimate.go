package figure

// Estimate is a measured quantity: its value, its standard deviation and its 95 % interval, all in one unit that the
// name of the field carrying it tells. In results it is used by pointer: nil (null) is "cannot be had", and a warning
// says why. Package stats makes them.
type Estimate struct {
	Value float64    `json:"value"`
	SD    float64    `json:"sd"`
	CI95  [2]float64 `json:"ci95"`
}

// Scale returns e times k, interval ends in rising order; nil stays nil.
func (e *Estimate) Scale(k float64) *Estimate {
	if e == nil {
		return nil
	}
	lo, hi := e.CI95[0]*k, e.CI95[1]*k
	sd := e.SD * k
	if k < 0 {
		lo, hi, sd = hi, lo, -sd
	}
	return &Estimate{Value: e.Value * k, SD: sd, CI95: [2]float64{lo, hi}}
}
