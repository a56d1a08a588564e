package report

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"flywitness/analysis"
	"flywitness/analysis/slip"
	"flywitness/dashboards/chart"
	"flywitness/drive"
	"flywitness/figure"
	"flywitness/job"
)

// session is a row of the table of logs.
type session struct{ Name, Side, Length, Rows, Used, Channels string }

// source is a file and its hash.
type source struct{ Name, SHA256 string }

func sessions(r *analysis.Result) (out []session) {
	seen := map[string]int{} // inputs of each side so far
	for _, in := range r.Inputs {
		n := seen[in.Side]
		seen[in.Side]++
		s := session{Used: usedFor(r, in.Side, n), Name: in.Path, Side: in.Side, Length: chart.Clock(in.DurationS), Rows: fmt.Sprint(in.Rows)}
		if s.Side == "" {
			s.Side = none
		}
		if in.SkippedRows > 0 {
			s.Rows += fmt.Sprintf(" (%d skipped)", in.SkippedRows)
		}
		var parts []string
		for _, c := range in.Channels {
			parts = append(parts, fmt.Sprintf("%s %s Hz", c.Name, figure.Significant(c.RateHz, 2)))
		}
		s.Channels = strings.Join(parts, ", ")
		out = append(out, s)
	}
	if r.Job != nil {
		for _, e := range r.Job.Excluded {
			out = append(out, session{Name: e[0], Side: none, Length: none, Rows: none, Used: "left out: " + e[1]})
		}
	}
	return out
}

// usedFor says what input n of a side gave.
func usedFor(r *analysis.Result, side string, n int) string {
	s, f := r.Slip, r.Inertia
	if c := r.Compare; c != nil && side == "before" {
		s, f = c.SlipBefore, c.Before
	} else if c != nil {
		s, f = c.SlipAfter, c.After
	}
	pulls, runs := 0, 0
	if s != nil {
		for _, p := range s.Pulls {
			if p.Input == n && p.Verdict != slip.Inconclusive {
				pulls++
			}
		}
	}
	if f != nil {
		for _, x := range f.Runs {
			if x.Input == n && x.Used {
				runs++
			}
		}
	}
	var parts []string
	for _, x := range []struct {
		n    int
		name string
	}{{pulls, "pull"}, {runs, "run"}} {
		if x.n == 1 {
			parts = append(parts, "1 "+x.name)
		} else if x.n > 1 {
			parts = append(parts, fmt.Sprintf("%d %ss", x.n, x.name))
		}
	}
	switch {
	case len(parts) > 0:
		return strings.Join(parts, ", ")
	case s == nil && f == nil:
		return "calibration"
	}
	return "nothing in it counts"
}

func provenance(r *analysis.Result) (out []source) {
	for _, in := range r.Inputs {
		out = append(out, source{in.Path, in.SHA256})
	}
	if v := r.Vehicle; v != nil && v.SHA256 != "" {
		out = append(out, source{v.Path, v.SHA256})
	}
	return out
}

// conditions lists what may have moved the numbers: how the job was done, the car, temperatures, what the logs say of
// themselves.
func conditions(r *analysis.Result, u figure.Units) (out [][2]string) {
	add := func(name, value string) {
		if value != "" {
			out = append(out, [2]string{name, value})
		}
	}
	if j := r.Job; j != nil {
		add("driven on", map[job.Site]string{job.OnRoad: "the road", job.OnRollers: "a rolling road"}[j.Site])
		if j.DryRoad {
			add("state of the road", "paved and dry, as was told")
		}
		if j.KmSinceFitted != nil {
			add("since fitted", distance(u, *j.KmSinceFitted))
		}
		if j.BedInKm != nil {
			add("bedding-in asks for", distance(u, *j.BedInKm))
		}
		if j.FootOnClutch != nil {
			add("free revs", map[bool]string{true: "foot on the clutch", false: "foot off the clutch"}[*j.FootOnClutch])
		}
		for _, f := range j.Facts {
			if f[0] != "customer" && f[0] != "date" { // they stand on the first page
				add(f[0], f[1])
			}
		}
		add("checklist", map[bool]string{true: "recorded: consumers off, battery charged, 20 minutes driven, equal oil temperature", false: "not recorded"}[j.Checklist])
	}
	if v := r.Vehicle; v != nil {
		add("vehicle", v.Name)
		for _, f := range v.Facts {
			add(f.Name, f.Value.In(u))
		}
	}
	for _, c := range []struct{ channel, name, unit string }{
		{drive.CoolantTemp, "coolant", "C"}, {drive.OilTemp, "oil", "C"}, {drive.AmbientTemp, "outside air", "C"}, {drive.BarometricPressure, "air pressure", "kPa"}} {
		add(c.name, ranges(r.Inputs, c.channel, c.unit, u))
	}
	for _, in := range r.Inputs {
		add(in.Path, notes(in))
	}
	return out
}

// distance writes what a job file says in km.
func distance(u figure.Units, km float64) string {
	x, unit := u.In(km, "km")
	if unit == "mile" {
		unit = "miles"
	}
	return figure.Significant(x, 3) + " " + unit
}

// ranges writes the lowest and highest value of a channel, per side.
func ranges(inputs []analysis.Input, channel, metric string, u figure.Units) string {
	var parts []string
	for _, side := range []string{"before", "after", ""} {
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, in := range inputs {
			for _, c := range in.Channels {
				if in.Side == side && c.Name == channel && c.Min != nil && c.Max != nil {
					lo, hi = math.Min(lo, *c.Min), math.Max(hi, *c.Max)
				}
			}
		}
		if lo <= hi {
			lo, _ = u.In(lo, metric)
			hi, unit := u.In(hi, metric)
			decimals := 0
			if unit == "psi" {
				decimals = 1
			}
			if unit == "C" || unit == "F" {
				unit = "°" + unit
			}
			parts = append(parts, strings.TrimSpace(fmt.Sprintf("%s %s to %s %s", side, figure.Round(lo, decimals), figure.Round(hi, decimals), unit)))
		}
	}
	return strings.Join(parts, "; ")
}

func notes(in analysis.Input) string {
	var parts []string
	if in.Created != "" {
		parts = append(parts, "recorded "+in.Created)
	}
	var keys []string
	for k := range in.Header {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	for _, k := range keys {
		if k != "format" && k != "created" {
			parts = append(parts, k+": "+in.Header[k])
		}
	}
	return strings.Join(parts, "; ")
}
