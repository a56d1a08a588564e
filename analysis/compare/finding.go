// Package compare sets before against after: did the part swap change the effective inertia, and what is that worth.
package compare

import (
	"flywitness/analysis/drag"
	"flywitness/analysis/inertia"
	"flywitness/analysis/promise"
	"flywitness/analysis/slip"
	"flywitness/analysis/stats"
	"flywitness/finding"
)

// Verdict is the answer on a change of inertia.
type Verdict string

// The verdicts. NoChange needs an interval that lies within the equivalence margin.
const (
	Reduced      Verdict = "reduced"
	Increased    Verdict = "increased"
	NoChange     Verdict = "no_change"
	Inconclusive Verdict = "inconclusive"
)

// Finding is the comparison of two sides.
type Finding struct {
	Verdict     Verdict        `json:"verdict"`
	Reason      finding.Text   `json:"reason"`
	WhatToDrive []finding.Text `json:"what_to_drive"`
	// why before and after may be swapped; empty where nothing speaks for it
	SidesDoubt         finding.Text    `json:"sides_doubt"`
	ChangeBelow        *float64        `json:"change_below_pct"` // any change is smaller than this (95 %)
	PValue             *float64        `json:"p_value"`          // of no change
	Ratio              *stats.Estimate `json:"inertia_ratio_before_over_after"`
	InertiaBefore      *stats.Estimate `json:"inertia_before_kgm2"`
	InertiaAfter       *stats.Estimate `json:"inertia_after_kgm2"`
	Change             *stats.Estimate `json:"inertia_change_kgm2"` // after minus before
	SmallestDetectable *float64        `json:"smallest_detectable_pct"`
	ByGear             []ByGear        `json:"by_gear"`
	SpanTimes          []SpanTime      `json:"span_times"`
	Torque             []TorqueAt      `json:"full_load_torque"` // of the engine, from all pulls; nil without any
	Drivability        Drivability     `json:"drivability"`
	Claim              *Claim          `json:"claim"`
	// what the held engine tells of the drag; absent where it was not held
	Drag *drag.Finding `json:"drag,omitempty"`

	Before     *inertia.Finding `json:"before"`
	After      *inertia.Finding `json:"after"`
	SlipBefore *slip.Finding    `json:"slip_before"`
	SlipAfter  *slip.Finding    `json:"slip_after"`

	Fit *RatioFit `json:"-"` // for charts
}

// ByGear is what the change is worth in one gear at a stated engine speed and acceleration.
type ByGear struct {
	Gear             int             `json:"gear"`
	EquivalentMass   *stats.Estimate `json:"equivalent_mass_kg"` // positive when inertia was taken off
	AccelerationGain *stats.Estimate `json:"acceleration_gain_pct"`
	EquivalentPower  *stats.Estimate `json:"equivalent_power_kw"` // exists only while accelerating
	AtRPM            float64         `json:"at_rpm"`
	AtAcceleration   float64         `json:"at_acceleration_mps2"` // full load on the level after the job
	Acceleration     *stats.Estimate `json:"acceleration_mps2"`    // the same with its error
	TyresMayLimit    bool            `json:"tyres_may_limit"`      // at that torque, on a dry road
}

// TorqueAt is the engine's torque at full load at an engine speed.
type TorqueAt struct {
	RPM    float64         `json:"rpm"`
	Torque *stats.Estimate `json:"torque_nm"`
}

// SpanTime is what the change saves over a span of road speed in one gear at full load.
type SpanTime struct {
	Gear    int             `json:"gear"`
	FromKmh float64         `json:"from_kmh"`
	ToKmh   float64         `json:"to_kmh"`
	Saved   *stats.Estimate `json:"saved_s"`

	TyresMayLimit bool `json:"tyres_may_limit"` // somewhere in the span, on a dry road
}

// Drivability is what the change cost.
type Drivability struct {
	IdleSDBefore       *stats.Estimate `json:"idle_sd_rpm_before"`
	IdleSDAfter        *stats.Estimate `json:"idle_sd_rpm_after"`
	ShiftRevFallBefore *stats.Estimate `json:"shift_rev_fall_rpm_s_before"`
	ShiftRevFallAfter  *stats.Estimate `json:"shift_rev_fall_rpm_s_after"`
	LaunchBefore       *stats.Estimate `json:"launch_s_before"` // how long letting the clutch in takes when setting off
	LaunchAfter        *stats.Estimate `json:"launch_s_after"`

	// Reasons say by the names above why what is null cannot be had.
	Reasons map[string]string `json:"reasons"`
}

// Claim is a promise and what the measurement says of it.
type Claim struct {
	Stated   map[string]float64 `json:"stated"`
	Measured *stats.Estimate    `json:"measured"` // of the quantity that was promised, by the same name
	Verdict  promise.Verdict    `json:"verdict"`
	// the same in five: kept, kept_and_more, within_not_shown, not_kept, cannot_tell
	Outcome promise.Outcome `json:"outcome"`
	Reason  finding.Text    `json:"reason"` // with both numbers

	Promise promise.Promise `json:"-"`
}

// RatioFit is the picture behind the ratio: the runs of both sides and the common shape, for charts.
// Shape maps rpm to seconds for a side whose ln b is 0; a run of slope B and offset A has t = A - B*Shape(rpm).
type RatioFit struct {
	Runs      []FitRun
	Shape     func(rpm float64) float64
	Low, High float64 // rpm window
}

// FitRun is one run in the common fit.
type FitRun struct {
	After    bool
	Run      inertia.Run
	A, B     float64
	Residual []float64 // s, one per sample of Run
}
