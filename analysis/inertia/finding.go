// Package inertia measures the effective rotating inertia: all that turns with the crankshaft in neutral with the foot
// off the clutch (engine, flywheel, cover, disc, gearbox input).
package inertia

import (
	"flywitness/analysis/stats"
	"flywitness/finding"
)

// Kind of a run.
type Kind string

// The kinds of run.
const (
	RevDown        Kind = "rev_down"
	RollingRevDown Kind = "rolling_rev_down"
	RevUp          Kind = "rev_up"
	Overrun        Kind = "overrun"
	Coast          Kind = "coast"
	PullRun        Kind = "pull"
)

// Options says how a set of logs was driven and how it is to be judged. The zero value is a set of logs of one sitting
// each, of which nothing is known.
type Options struct {
	FootOnClutch *bool      // in the free revs; nil when it was not told
	Session      []int      // session of each log, from 0; nil: each log is a session of its own
	Window       [2]float64 // rpm of the free revs, low and high; zeros: what the runs reach
	TopTrim      float64    // s after the release that are not used; 0: 0.35
	Rollers      bool       // the car stood on a rolling road: no road load, so no coast-downs
}

// Finding is what a set of logs of one side tells about inertia.
type Finding struct {
	Runs         []Run           `json:"runs"`
	Methods      []Method        `json:"methods"`
	Inertia      *stats.Estimate `json:"inertia_kgm2"`
	MethodsAgree *bool           `json:"methods_agree"` // nil with fewer than two methods
	WhatToDrive  []finding.Text  `json:"what_to_drive"` // what is missing for an answer
	// of the closed-throttle engine at DragRPM, when the inertia is known
	Drag    *stats.Estimate `json:"drag_nm"`
	DragRPM float64         `json:"drag_at_rpm"`
	IdleRPM float64         `json:"idle_rpm"`
	// of the car, that the absolute inertia rests on; 0 when it is not known
	MassKg       float64 `json:"mass_kg"`
	FootOnClutch *bool   `json:"foot_on_clutch"` // in the free revs, as told or as the clutch switch shows
	Drift        []Drift `json:"drift"`          // of the drag over the free revs of each session
}

// Run is one stretch that could tell about inertia, used or refused. Input counts the logs from 0; times are
// seconds in that log.
type Run struct {
	Input    int          `json:"input"`
	Session  int          `json:"session"`
	Start    float64      `json:"start_s"`
	End      float64      `json:"end_s"`
	Kind     Kind         `json:"kind"`
	Gear     int          `json:"gear"` // 0 in neutral
	Used     bool         `json:"used"`
	Why      finding.Code `json:"why_not_code"` // of WhyNot; "" for a used run
	WhyNot   finding.Text `json:"why_not"`
	MeanRate float64      `json:"mean_rate_rpm_s"`
	OilTemp  *float64     `json:"oil_temp_c"`
	Coolant  *float64     `json:"coolant_temp_c"`

	T, RPM []float64 `json:"-"` // kept samples, seconds in the log, for fits and charts
	speed  []float64 // km/h over T, of a coast-down
	fall   *fall     // what Trimmed cuts from; nil unless a fall of free revs
	Turn   float64   `json:"-"` // s that engine speed takes to turn before a free rev; 0 where it does not show
}

// Method is one way to the absolute inertia.
type Method struct {
	Name    string          `json:"name"` // overrun | gear_pulls | known_part
	Inertia *stats.Estimate `json:"inertia_kgm2"`
	Error   ErrorParts      `json:"-"`
}

// ErrorParts says where the error of the logarithm of an inertia comes from, for combining it with others.
type ErrorParts struct {
	Own    float64 // sd that nothing else shares
	Common float64 // sd that all values from driving this car share: mass, rolling radius, efficiency
	// Slope is what the slopes of the road under the runs leave, with its degrees of freedom: two of what is
	// usual and those of the runs. Another drive shares it where it met the same road.
	Slope, SlopeDF float64
	// How an error of the free revs' time scale enters, d ln I / d ln B, and the sd of that scale.
	RevDown, RevDownSD float64
}

// Drift is a straight line through the drag of a session's free revs in the order they were driven.
type Drift struct {
	Session   int      `json:"session"`
	Runs      int      `json:"runs"`
	Total     float64  `json:"change_pct"` // of the drag, first run to last
	P         *float64 `json:"p_value"`
	Confirmed bool     `json:"confirmed"` // p below 5 %
}
