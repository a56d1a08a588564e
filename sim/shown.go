package sim

import "math"

// Shown returns the drive as the car's diagnostic channels show it: a function of canonical channel name and time in
// s, with the logger's lag, filter, steps and scales, and none of its polling; ok is false for a channel that the car
// does not have. An emulated car answers from it.
func (lg Logger) Shown(tr *Truth) func(channel string, t float64) (v float64, ok bool) {
	g := lg.gauge(tr, nil)
	return func(channel string, t float64) (float64, bool) {
		v := g.at(channel, t)
		return v, !math.IsNaN(v)
	}
}
