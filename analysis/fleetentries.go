package analysis

import (
	"fmt"
	"strings"
	"time"

	"flywitness/analysis/detect"
	"flywitness/analysis/fleet"
	"flywitness/analysis/inertia"
	"flywitness/analysis/slip"
	"flywitness/analysis/stats"
	"flywitness/job"
)

// FleetEntries returns what a job found, side by side, for the view over many vehicles. as names the vehicle; ""
// takes the name in the vehicle file, else the VIN of the recordings. An error is a result that says of no vehicle or
// of no time.
func FleetEntries(r *Result, as string) ([]fleet.Entry, error) {
	if r.Job == nil || r.Compare == nil {
		return nil, fmt.Errorf("this is no result of a job (fw-analyze job)")
	}
	name := fleetVehicle(r, as)
	if name == "" {
		return nil, fmt.Errorf("neither a vehicle file nor a VIN names the vehicle: name it in the vehicle file or with " +
			"--as")
	}
	c := r.Compare
	var out []fleet.Entry
	for _, s := range []struct {
		side    string
		slip    *slip.Finding
		inertia *inertia.Finding
		best    *stats.Estimate
	}{{fleet.Before, c.SlipBefore, c.Before, c.InertiaBefore}, {fleet.After, c.SlipAfter, c.After, c.InertiaAfter}} {
		at, recorded := fleetTime(r, s.side)
		if !recorded {
			continue
		}
		if at.IsZero() {
			at = jobDay(r.Job, s.side)
		}
		if at.IsZero() {
			return nil, fmt.Errorf("no recording of the %s side says when it was made: "+
				"give the day in the job file (date = \"2026-03-27\")", s.side)
		}
		e := fleet.Entry{Vehicle: name, Job: fleetJob(r.Job), Side: s.side, Time: at,
			Done: oneLine(r.Job.Done), Inertia: s.best}
		if e.Inertia == nil && s.inertia != nil {
			e.Inertia = s.inertia.Inertia
		}
		if s.slip != nil {
			e.Slip, e.SlipReason = string(s.slip.Verdict), oneLine(s.slip.Reason.String())
			e.Held, e.Onset = s.slip.HighestTorqueHeld, s.slip.OnsetTorque
			e.MostSlip, e.Smallest = mostSlip(s.slip), s.slip.SmallestDetectable
		}
		e.Rating = fleetRating(r, s.side)
		out = append(out, e)
	}
	if n := len(out); n > 0 && out[n-1].Side == fleet.After {
		out[n-1].BeddingIn = bedding(r.Job)
		if n == 2 {
			out[n-1].Compare = string(c.Verdict)
		}
	}
	return out, nil
}

func fleetVehicle(r *Result, as string) string {
	if as != "" {
		return oneLine(as)
	}
	if r.Vehicle != nil && strings.TrimSpace(r.Vehicle.Name) != "" {
		return oneLine(r.Vehicle.Name)
	}
	for _, in := range r.Inputs {
		if vin := strings.TrimSpace(in.Header["vin"]); vin != "" {
			return vin
		}
	}
	return ""
}

func fleetJob(j *JobInfo) string {
	for _, name := range []string{j.Title, j.Done} {
		if strings.TrimSpace(name) != "" {
			return oneLine(name)
		}
	}
	return "job"
}

// fleetTime is when the last recording of a side began; recorded tells whether the side has any.
func fleetTime(r *Result, side string) (at time.Time, recorded bool) {
	for _, in := range r.Inputs {
		if in.Side != side {
			continue
		}
		recorded = true
		if t, err := time.Parse(time.RFC3339, in.Created); err == nil && t.After(at) {
			at = t.UTC()
		}
	}
	return at, recorded
}

// jobDay is the day that a job file gives, for recordings that do not say when they were made; the zero time
// where it gives none that can be read. Of one day the drive before the work comes first.
func jobDay(j *JobInfo, side string) time.Time {
	for _, form := range []string{time.DateOnly, "2 January 2006", "January 2, 2006", "2.1.2006"} {
		if t, err := time.Parse(form, strings.TrimSpace(j.Date)); err == nil {
			if side == fleet.After {
				t = t.Add(12 * time.Hour)
			}
			return t
		}
	}
	return time.Time{}
}

// mostSlip is the largest slip of a finding in per cent, nil where the clutch was not seen to slip.
func mostSlip(f *slip.Finding) *float64 {
	var most *float64
	for _, e := range f.Events {
		if x := e.PeakSlip; e.Kind == detect.KindSlip && (most == nil || x > *most) {
			most = &x
		}
	}
	return most
}

// fleetRating returns the rating of the clutch that is in the car in that state: of two sides it is the after side's.
func fleetRating(r *Result, side string) *float64 {
	if r.Vehicle == nil {
		return nil
	}
	_, after := fleetTime(r, fleet.After)
	if side == fleet.Before && after {
		return nil
	}
	return r.Vehicle.TorqueRating
}

// bedding tells whether the job says that the new clutch was not yet driven in.
func bedding(j *JobInfo) bool {
	early, _ := (&job.Job{KmSinceFitted: j.KmSinceFitted, BedInKm: j.BedInKm}).BeddingIn()
	return early
}

// oneLine makes a text of a job file or a finding fit on one line, as a database holds it.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
