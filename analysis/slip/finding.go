// Package slip judges whether the clutch slips under load: pulls, events, torque held, verdict.
package slip

import (
	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/vehicle"
)

// Verdict is the answer for a pull, a log or a set of logs.
type Verdict string

// The verdicts.
const (
	Holds        Verdict = "holds"
	Slips        Verdict = "slips"
	Inconclusive Verdict = "inconclusive"
)

// Finding is what a set of logs tells about slip. Slip is (engine speed - locked engine speed) / engine speed in per cent.
type Finding struct {
	Verdict            Verdict         `json:"verdict"`
	Reason             string          `json:"reason"`        // one sentence for the driver
	WhatToDrive        []string        `json:"what_to_drive"` // when inconclusive: what would settle it
	SmallestDetectable *float64        `json:"smallest_detectable_pct"`
	HighestTorqueHeld  *stats.Estimate `json:"highest_torque_held_nm"` // largest clutch torque carried for at least 0.5 s with no slip
	OnsetTorque        *stats.Estimate `json:"onset_torque_nm"`        // lowest of the events
	TorqueBasis        string          `json:"torque_basis"`           // in words: whose road load, how the slope of the road was bounded, or why there is no torque
	Pattern            string          `json:"pattern"`
	LikelyCauses       []string        `json:"likely_causes"`
	Pulls              []Pull          `json:"pulls"`
	Events             []Event         `json:"events"`
	Engagements        []Engagement    `json:"engagements"`

	Traces []Trace `json:"-"` // one per input, for charts
	Road   *Road   `json:"-"` // what the torques rest on; nil where no torque is known
}

// Road is the road load that the torques were worked out with, as the logs corrected it. SD and Covariance are relative: of rolling (F0) and of
// air (F1, F2).
type Road struct {
	Load       vehicle.RoadLoad
	SD         [2]float64
	Covariance float64
}

// Pull is one stretch of load in one gear. Input counts the logs from 0; times are seconds in that log.
type Pull struct {
	Input              int             `json:"input"`
	Start              float64         `json:"start_s"`
	End                float64         `json:"end_s"`
	Gear               int             `json:"gear"`
	Verdict            Verdict         `json:"verdict"`
	Reason             string          `json:"reason"`
	MaxSlip            float64         `json:"max_slip_pct"`
	SmallestDetectable *float64        `json:"smallest_detectable_pct"`
	PeakTorque         *stats.Estimate `json:"peak_torque_nm"`
	HeldTorque         *stats.Estimate `json:"held_torque_nm"`
	Heat               *float64        `json:"energy_j"` // turned into heat in the clutch, a lower bound
}

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
	Kind        string          `json:"kind"`       // slip, or why it does not count: wheelspin, engagement, shift, pedal, short, other_gear

	alone bool // proves slip without a second one
}

// Engagement is the clutch being let in: a launch or a shift.
type Engagement struct {
	Input    int      `json:"input"`
	Start    float64  `json:"start_s"`
	End      float64  `json:"end_s"`
	Kind     string   `json:"kind"` // launch | upshift | downshift
	Gear     int      `json:"gear"`
	Energy   *float64 `json:"energy_j"`
	Duration float64  `json:"duration_s"`
}

// Trace is the decoded drive of one input on one clock (the moment of each road speed sample, lag removed), for charts.
// All slices have equal length. LockedRPM is NaN where no gear is told, Torque where none can be had. Slope is that of the road, rise per metre, as far
// as it is known.
type Trace struct {
	T, SpeedKmh, RPM, LockedRPM, SlipPct, TorqueNm []float64
	Slope, SlopeSD                                 []float64
	Segments                                       []gearstate.Segment
}
