// Package inertia measures the effective rotating inertia: all that turns with the crankshaft in neutral with the foot
// off the clutch (engine, flywheel, cover, disc, gearbox input).
package inertia

import "flywitness/analysis/stats"

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

// Finding is what a set of logs of one side tells about inertia.
type Finding struct {
	Runs         []Run           `json:"runs"`
	Methods      []Method        `json:"methods"`
	Inertia      *stats.Estimate `json:"inertia_kgm2"`
	MethodsAgree *bool           `json:"methods_agree"` // nil with fewer than two methods
	WhatToDrive  []string        `json:"what_to_drive"` // what is missing for an answer
	Drag         *stats.Estimate `json:"drag_nm"`       // of the closed-throttle engine at DragRPM, when the inertia is known
	DragRPM      float64         `json:"drag_at_rpm"`
}

// Run is one stretch that could tell about inertia, used or refused. Input counts the logs from 0; times are seconds in that log.
type Run struct {
	Input    int     `json:"input"`
	Start    float64 `json:"start_s"`
	End      float64 `json:"end_s"`
	Kind     Kind    `json:"kind"`
	Gear     int     `json:"gear"` // 0 in neutral
	Used     bool    `json:"used"`
	WhyNot   string  `json:"why_not"`
	MeanRate float64 `json:"mean_rate_rpm_s"`

	T, RPM []float64 `json:"-"` // kept samples, seconds in the log, for fits and charts
}

// Method is one way to the absolute inertia.
type Method struct {
	Name    string          `json:"name"` // overrun | gear_pulls | known_part
	Inertia *stats.Estimate `json:"inertia_kgm2"`
}
