// Package analysis goes from recorded drives and a vehicle to findings. It reads no files, opens no network and writes
// no HTML; one result tree is computed once and only rendered afterwards.
package analysis

import (
	"flywitness/analysis/air"
	"flywitness/analysis/calibrate"
	"flywitness/analysis/compare"
	"flywitness/analysis/fleet"
	"flywitness/analysis/gearing"
	"flywitness/analysis/inertia"
	"flywitness/analysis/slip"
	"flywitness/finding"
	"flywitness/job"
)

// Result is the tree behind text, JSON and pages; findings that were not asked for are absent.
type Result struct {
	Tool        Tool                   `json:"tool"`
	Command     string                 `json:"command"`
	Inputs      []Input                `json:"inputs"`
	Warnings    []finding.Finding      `json:"warnings"`
	StandardAir *air.Finding           `json:"standard_air,omitempty"` // nil unless it was asked for
	Vehicle     *VehicleInfo           `json:"vehicle,omitempty"`
	Job         *JobInfo               `json:"job,omitempty"`
	Calibration *calibrate.Calibration `json:"calibration,omitempty"`
	// CalibrationBefore is the before side's where there are two; Calibration is then the after side's.
	CalibrationBefore *calibrate.Calibration `json:"calibration_before,omitempty"`
	// Gearing is what torque and equivalent mass rest on; of two sides the after side's.
	Gearing *gearing.Told    `json:"gearing,omitempty"`
	Slip    *slip.Finding    `json:"slip,omitempty"`
	Inertia *inertia.Finding `json:"inertia,omitempty"`
	Compare *compare.Finding `json:"compare,omitempty"`
	Fleet   *fleet.Finding   `json:"fleet,omitempty"`
	// Findings are the codes and quantities behind the sentences of the findings above, each with its place.
	Findings []finding.At `json:"findings,omitempty"`
}

// Tool names the program that computed a result.
type Tool struct {
	Name    string `json:"name"`
	Version string `json:"version"`
}

// Input is one log as it was read.
type Input struct {
	Path        string         `json:"path"`
	SHA256      string         `json:"sha256"`
	Side        string         `json:"side,omitempty"` // before | after, in comparisons and jobs
	Session     int            `json:"session,omitempty"`
	Rows        int            `json:"rows"`
	SkippedRows int            `json:"skipped_rows"`
	DurationS   float64        `json:"duration_s"`
	Channels    []InputChannel `json:"channels"`

	Created string `json:"created,omitempty"` // RFC 3339, where the log says it
	// what a session file says of itself: adapter, operator, odometer, ...
	Header map[string]string `json:"header,omitempty"`
}

// InputChannel is one channel of an input.
type InputChannel struct {
	Name       string  `json:"name"`
	Samples    int     `json:"samples"`
	RateHz     float64 `json:"rate_hz"`
	Resolution float64 `json:"resolution"` // smallest step seen, in the unit of the name

	Min *float64 `json:"min,omitempty"` // in the unit of the name; nil where there is no sample
	Max *float64 `json:"max,omitempty"`
}

// VehicleInfo is what the vehicle file said, for the report.
type VehicleInfo struct {
	Name   string `json:"name"`
	Path   string `json:"path"`
	SHA256 string `json:"sha256"`
	// Facts are the values that were used, in the order of the file, as people read them: "mass", "1285 kg, weighed".
	Facts []Fact `json:"facts,omitempty"`

	TorqueRating *float64 `json:"torque_rating_nm,omitempty"` // of the clutch
}

// JobInfo is what the job file said, for the report.
type JobInfo struct {
	Title         string   `json:"title"`
	Done          string   `json:"done"`
	Site          job.Site `json:"site"`
	DryRoad       bool     `json:"dry_road,omitempty"`
	KmSinceFitted *float64 `json:"km_since_fitted"`
	BedInKm       *float64 `json:"bed_in_km"`
	FootOnClutch  *bool    `json:"foot_on_clutch"`
	Checklist     bool     `json:"checklist"`

	Shop         *Shop    `json:"shop,omitempty"`
	Customer     string   `json:"customer,omitempty"`
	Registration string   `json:"registration,omitempty"`
	VIN          string   `json:"vin,omitempty"`  // as the job file says it, else as the logs do
	Date         string   `json:"date,omitempty"` // as the job file says it, else the day of the last log
	OdometerKm   *float64 `json:"odometer_km,omitempty"`

	Facts       [][2]string  `json:"facts,omitempty"`    // free fields of the job file: operator, place, ...
	Excluded    [][2]string  `json:"excluded,omitempty"` // recordings listed but not used, with the reason given
	ClutchClaim *ClutchClaim `json:"clutch_claim,omitempty"`
}

// Shop is who did the work.
type Shop struct {
	Name    string    `json:"name"`
	Address []string  `json:"address,omitempty"`
	Logo    *job.Logo `json:"-"`
}
