// Package slip judges whether the clutch slips under load: pulls, events, torque held, verdict.
package slip

import (
	"flywitness/analysis/detect"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
	"flywitness/analysis/stats"
	"flywitness/finding"
)

// Verdict is the answer for a pull, a log or a set of logs.
type Verdict string

// The verdicts.
const (
	Holds        Verdict = "holds"
	Slips        Verdict = "slips"
	Inconclusive Verdict = "inconclusive"
)

// Finding is what a set of logs tells about slip. Slip is (engine speed - locked engine speed) / engine speed
// in per cent.
type Finding struct {
	Verdict            Verdict        `json:"verdict"`
	Reason             finding.Text   `json:"reason"`        // for the driver
	WhatToDrive        []finding.Text `json:"what_to_drive"` // when inconclusive: what would settle it
	SmallestDetectable *float64       `json:"smallest_detectable_pct"`
	SmallestSeconds    *float64       `json:"smallest_detectable_s"` // that a slip of that size must last to show
	// largest clutch torque carried for at least 0.5 s with no slip
	HighestTorqueHeld *stats.Estimate `json:"highest_torque_held_nm"`
	OnsetTorque       *stats.Estimate `json:"onset_torque_nm"` // lowest of the events: see lowestOnset
	// of the clutch that was in the car; nil where it is not known
	TorqueRating *float64 `json:"torque_rating_nm"`
	// whose road load, how the slope of the road was bounded, or why there is no torque
	TorqueBasis  finding.Text   `json:"torque_basis"`
	Pattern      Pattern        `json:"pattern"`
	LikelyCauses []finding.Text `json:"likely_causes"`
	Pulls        []Pull         `json:"pulls"`
	Events       []Event        `json:"events"`
	Engagements  []Engagement   `json:"engagements"`

	Traces []Trace `json:"-"` // one per input, for charts
	Road   *Road   `json:"-"` // what the torques rest on; nil where no torque is known
}

// Road is the road load that the torques were worked out with, as the logs corrected it.
type Road = motion.Road

// Pull is one stretch of load in one gear. Input counts the logs from 0; times are seconds in that log.
type Pull struct {
	Input              int             `json:"input"`
	Start              float64         `json:"start_s"`
	End                float64         `json:"end_s"`
	Gear               int             `json:"gear"`
	Verdict            Verdict         `json:"verdict"`
	Reason             finding.Text    `json:"reason"`
	MaxSlip            float64         `json:"max_slip_pct"`
	SmallestDetectable *float64        `json:"smallest_detectable_pct"`
	SmallestSeconds    *float64        `json:"smallest_detectable_s"`
	PeakTorque         *stats.Estimate `json:"peak_torque_nm"`
	HeldTorque         *stats.Estimate `json:"held_torque_nm"`
	// the engine gave what it has, as the log tells it or as the strongest pulls show
	FullLoad bool     `json:"full_load"`
	Heat     *float64 `json:"energy_j"` // turned into heat in the clutch, a lower bound
}

// Event is one departure of engine speed, Engagement the clutch being let in.
type (
	Event      = detect.Event
	Engagement = detect.Engagement
)

// Trace is the decoded drive of one input on one clock (the moment of each road speed sample, lag removed), for
// charts. All slices have equal length. LockedRPM is NaN where no gear is told, Torque where none can be had.
// Slope is that of the road, rise per metre, as far as it is known.
type Trace struct {
	T, SpeedKmh, RPM, LockedRPM, SlipPct, TorqueNm []float64
	Slope, SlopeSD                                 []float64
	Segments                                       []gearstate.Segment
}
