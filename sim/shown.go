package sim

// Shown returns the drive as the car's diagnostic channels show it: a function of canonical channel name and time in s,
// with the logger's lag, filter, steps and scales, and none of its polling. An emulated car answers from it.
func (lg Logger) Shown(tr *Truth) func(channel string, t float64) float64 {
	return lg.gauge(tr, nil).at
}
