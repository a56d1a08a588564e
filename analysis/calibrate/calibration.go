// Package calibrate learns from a log how its two signals belong together: how late the road speed is, how it is
// rounded, and how many rpm the engine turns per km/h in each gear.
package calibrate

import (
	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
)

// Calibration is what a set of logs tells about its own signals. A nil estimate could not be had.
type Calibration struct {
	SpeedChannel  string          `json:"speed_channel"`
	SpeedLag      *stats.Estimate `json:"speed_lag_s"`
	SpeedStep     float64         `json:"speed_step_kmh"`
	SpeedRounding string          `json:"speed_rounding"` // round | floor | unknown
	SpeedSource   string          `json:"speed_source"`   // driven | undriven | gps | unknown, as tested or as told
	// tyre creep per unit of wheel force over weight; nil when the source is driven
	Creep    *stats.Estimate `json:"creep"`
	Period   float64         `json:"period_s"`       // median sample interval of the slower of the two channels
	TimingSD float64         `json:"timing_sd_s"`    // of a time stamp, learnt from the log
	OffFile  []int           `json:"gears_off_file"` // gears whose ratio in the vehicle file the log contradicts
	Gears    []Gear          `json:"gears"`          // first gear first; a gap in the ladder is allowed

	model gearstate.Model
	logs  int // that were learnt from
}

// Model returns what the decoder needs to know. A calibration without gears gives a model that decodes nothing.
func (c *Calibration) Model() gearstate.Model { return c.model }

// Gear is one rung of the gear ladder.
type Gear struct {
	// 1 is first; numbered by the vehicle file, else by position and spacing
	Gear      int             `json:"gear"`
	RPMPerKmh *stats.Estimate `json:"rpm_per_kmh"` // engine speed per displayed km/h, locked; never nil, and above 0
	Seconds   float64         `json:"seconds"`     // locked time seen; of a long drive by some of its minutes
}
