package gearstate

import "flywitness/drive"

// Decode tells gear and clutch at every road speed sample of a log, each from the whole drive. A log without
// both channels, or a model without gears, gives a track without gears.
func Decode(l *drive.Log, m Model) *Track {
	s := ReadSignals(l, m.SpeedChannel)
	s.ReadLoad(l, m.Load.Channel)
	return DecodeSignals(s, m)
}

// Close returns the states of the samples that were still waiting.
func (d *Decoder) Close() []State {
	d.align.ended = true
	return d.drain()
}

// Refresh is refresh with the step of the signal itself.
func Refresh(t, v []float64) float64 { return refresh(t, v, step(v)) }

// RefreshOf is refresh.
func RefreshOf(t, v []float64, step float64) float64 { return refresh(t, v, step) }

// Fresh is fresh.
func Fresh(t, v []float64, every float64) ([]float64, []float64) { return fresh(t, v, every) }
