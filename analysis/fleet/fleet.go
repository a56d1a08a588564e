// Package fleet sets the jobs of many vehicles side by side: how each stands, what is due and what drifts.
package fleet

import (
	"cmp"
	"math"
	"slices"
	"time"

	"flywitness/analysis/stats"
	"flywitness/finding"
)

// Entry is what one side of one job found. The strings are the codes of the findings; an absent verdict is "".
type Entry struct {
	Vehicle    string          `json:"vehicle"`
	Job        string          `json:"job"`
	Side       string          `json:"side"` // before | after
	Time       time.Time       `json:"time"` // when its last recording began
	Done       string          `json:"done"` // what was done, as the job file says
	BeddingIn  bool            `json:"bedding_in"`
	Slip       string          `json:"slip_verdict"`
	SlipReason string          `json:"slip_reason"`
	Compare    string          `json:"compare_verdict"` // of the job, beside its after side
	Rating     *float64        `json:"torque_rating_nm"`
	Held       *stats.Estimate `json:"highest_torque_held_nm"`
	Onset      *stats.Estimate `json:"onset_torque_nm"`
	Inertia    *stats.Estimate `json:"inertia_kgm2"`
	MostSlip   *float64        `json:"most_slip_pct"` // nil where none was seen
	// slip of at least this size would have been seen; nil where that is not known
	Smallest *float64 `json:"smallest_detectable_pct"`
}

// Sides of an entry.
const (
	Before = "before"
	After  = "after"
)

// Options say when a vehicle is due.
type Options struct {
	Now time.Time
	Due time.Duration // since the last job; 0: Year
}

// Year is when a clutch that is watched is looked at again: with the yearly service. Common practice, no source.
const Year = 365 * 24 * time.Hour

// Finding is the whole fleet. Vehicles that need something urgent come first, then those that need anything, then the
// rest, each by name.
type Finding struct {
	AsOf     time.Time `json:"as_of"`
	DueDays  float64   `json:"due_days"`
	Jobs     int       `json:"jobs"`
	Vehicles []Vehicle `json:"vehicles"`
}

// Vehicle is how one vehicle stands after its last job.
type Vehicle struct {
	Vehicle string          `json:"vehicle"`
	Jobs    int             `json:"jobs"`
	Last    Entry           `json:"last"`
	Margin  *stats.Estimate `json:"margin"`        // torque held over the clutch's rating
	Why     finding.Text    `json:"margin_reason"` // why there is none
	Drift   *Drift          `json:"inertia_drift"` // nil with fewer than three measurements since the last work
	Needs   []Need          `json:"needs"`
	History []Entry         `json:"history"` // in the order of time
}

// Need is something that somebody should see to.
type Need struct {
	Code    finding.Code `json:"code"`
	Urgent  bool         `json:"urgent"`
	Message finding.Text `json:"message"`
}

// Judge looks at all entries. Of entries of one vehicle, job, side and time the last counts.
func Judge(entries []Entry, opt Options) *Finding {
	if opt.Due == 0 {
		opt.Due = Year
	}
	f := &Finding{AsOf: opt.Now, DueDays: opt.Due.Hours() / 24, Vehicles: []Vehicle{}}
	byVehicle := map[string][]Entry{}
	for _, e := range entries {
		byVehicle[e.Vehicle] = append(byVehicle[e.Vehicle], e)
	}
	for name, list := range byVehicle {
		v := vehicle(name, ordered(list), opt)
		f.Jobs += v.Jobs
		f.Vehicles = append(f.Vehicles, v)
	}
	slices.SortFunc(f.Vehicles, func(a, b Vehicle) int {
		return cmp.Or(cmp.Compare(a.rank(), b.rank()), cmp.Compare(a.Vehicle, b.Vehicle))
	})
	return f
}

func (v Vehicle) rank() int {
	switch {
	case slices.ContainsFunc(v.Needs, func(n Need) bool { return n.Urgent }):
		return 0
	case len(v.Needs) > 0:
		return 1
	}
	return 2
}

// ordered sorts by time, before ahead of after, and leaves one of each.
func ordered(list []Entry) []Entry {
	slices.Reverse(list) // so that of equals the last comes first
	slices.SortStableFunc(list, func(a, b Entry) int {
		return cmp.Or(a.Time.Compare(b.Time), cmp.Compare(b.Side, a.Side), cmp.Compare(a.Job, b.Job))
	})
	return slices.CompactFunc(list, func(a, b Entry) bool {
		return a.Time.Equal(b.Time) && a.Side == b.Side && a.Job == b.Job
	})
}

func vehicle(name string, list []Entry, opt Options) Vehicle {
	v := Vehicle{Vehicle: name, Last: list[len(list)-1], History: list, Needs: []Need{}}
	for i, e := range list {
		if second := i > 0 && e.Side == After && list[i-1].Side == Before && list[i-1].Job == e.Job; !second {
			v.Jobs++
		}
	}
	v.Margin, v.Why = margin(v.Last)
	state := sinceWork(list)
	v.Drift = drift(state)
	v.Needs = append(v.Needs, needs(v, state, opt)...)
	return v
}

// margin is the torque that was held over the clutch's rating, which is taken as exact.
func margin(e Entry) (m *stats.Estimate, why finding.Text) {
	switch {
	case e.Rating == nil || *e.Rating <= 0:
		return nil, finding.Say(finding.New(finding.NoRating))
	case e.Held == nil && e.Slip == "slips":
		return nil, finding.Say(finding.New(finding.NoHeldSlips))
	case e.Held == nil:
		return nil, finding.Say(finding.New(finding.HeldUnknown))
	}
	if m = e.Held.Scale(1 / *e.Rating); !finite(m) {
		return nil, finding.Say(finding.New(finding.MarginOdd))
	}
	return m, nil
}

// finite tells whether an estimate is made of numbers: what is read from a file or a database may be anything.
func finite(e *stats.Estimate) bool {
	for _, v := range []float64{e.Value, e.SD, e.CI95[0], e.CI95[1]} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

// sinceWork returns the entries of the parts that are in the car now. Work lies between a before and an after side,
// and between two after sides that say different things were done.
func sinceWork(list []Entry) []Entry {
	for i := len(list) - 1; i > 0; i-- {
		if list[i].Side == After && (list[i-1].Side == Before || list[i-1].Done != list[i].Done) {
			return list[i:]
		}
	}
	return list
}
