// Package detect finds departures of engine speed from the locked line under load and says which explanation each has.
package detect

import (
	"flywitness/analysis/stats"
)

// Event is one stretch of slip under load, from where slip rises through 1 % to where it falls back through 1 %.
type Event struct {
	Input       int             `json:"input"`
	Start       float64         `json:"start_s"`
	End         float64         `json:"end_s"`
	Gear        int             `json:"gear"`
	PeakSlip    float64         `json:"peak_slip_pct"`
	MeanSlip    float64         `json:"mean_slip_pct"`
	PeakSlipRPM float64         `json:"peak_slip_rpm"`
	OnsetTorque *stats.Estimate `json:"onset_torque_nm"` // through the clutch at the start of the event
	Energy      *float64        `json:"energy_j"`
	Confidence  float64         `json:"confidence"` // 0-1
	Kind        Kind            `json:"kind"`       // slip, or the explanation that could not be excluded
	Rivals      []Rival         `json:"rivals"`     // every explanation that was weighed
}

// LetIn is what a clutch is let in for.
type LetIn string

// What for.
const (
	Launch    LetIn = "launch"
	Upshift   LetIn = "upshift"
	Downshift LetIn = "downshift"
)

// Engagement is the clutch being let in: a launch or a shift.
type Engagement struct {
	Input    int      `json:"input"`
	Start    float64  `json:"start_s"`
	End      float64  `json:"end_s"`
	Kind     LetIn    `json:"kind"`
	Gear     int      `json:"gear"`
	Energy   *float64 `json:"energy_j"`
	Duration float64  `json:"duration_s"`
}
