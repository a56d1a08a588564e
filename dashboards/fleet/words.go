// Package fleet shows many vehicles side by side: as words for the text, and as a page with a curve for each.
package fleet

import (
	"fmt"
	"time"

	"flywitness/analysis/fleet"
	"flywitness/analysis/stats"
	"flywitness/dashboards/text"
	"flywitness/figure"
)

// Summary is a fleet in words.
type Summary struct {
	Headline string
	Needs    []Need // what is urgent first
	Rows     []Row  // of every vehicle
	Note     string
}

// Need is something to see to.
type Need struct {
	Vehicle, Text string
	Urgent        bool
}

// Row is how one vehicle stands; "" is what cannot be had.
type Row struct {
	Vehicle, Last, Job    string
	Clutch                string
	Tone                  text.Tone
	Held, Margin, Inertia string
	Change                string // what the last job did to the inertia
	Needs                 []Need
}

// Words puts a fleet into words.
func Words(f *fleet.Finding, u figure.Units) Summary {
	s := Summary{Note: "Torque held is the most that was driven without slip: a lower one than before is no weaker clutch. " +
		"The figure after ± is one standard deviation."}
	needy := 0
	for _, v := range f.Vehicles {
		r := row(v, u)
		if len(r.Needs) > 0 {
			needy++
		}
		s.Needs = append(s.Needs, r.Needs...)
		s.Rows = append(s.Rows, r)
	}
	s.Headline = fmt.Sprintf("%s, %s. ", count(len(f.Vehicles), "vehicle"), count(f.Jobs, "job"))
	switch needy {
	case 0:
		s.Headline += "Nothing is due."
	case 1:
		s.Headline += "One needs somebody to see to it."
	default:
		s.Headline += fmt.Sprintf("%d need somebody to see to them.", needy)
	}
	return s
}

func count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

func row(v fleet.Vehicle, u figure.Units) Row {
	r := Row{Vehicle: v.Vehicle, Last: day(v.Last.Time), Job: v.Last.Job}
	r.Clutch, r.Tone = clutch(v.Last.Slip)
	r.Held = short(v.Last.Held, u, "N m")
	if m := v.Margin; m != nil {
		r.Margin = short(m.Scale(100), u, "%")
	}
	r.Inertia = short(v.Last.Inertia, u, "kg m^2")
	r.Change = change(v.Last.Compare)
	for _, n := range v.Needs {
		r.Needs = append(r.Needs, Need{v.Vehicle, n.Message.In(u), n.Urgent})
	}
	return r
}

func clutch(verdict string) (string, text.Tone) {
	switch verdict {
	case "holds":
		return "holds", text.Good
	case "slips":
		return "slips", text.Act
	case "inconclusive":
		return "cannot tell", text.Open
	}
	return "not judged", text.Fact
}

func change(verdict string) string {
	switch verdict {
	case "reduced":
		return "inertia reduced"
	case "increased":
		return "inertia increased"
	case "no_change":
		return "inertia unchanged"
	case "inconclusive":
		return "change of inertia cannot be told"
	}
	return ""
}

// short writes an estimate with its deviation, without the interval.
func short(e *stats.Estimate, u figure.Units, metric string) string {
	if e == nil {
		return ""
	}
	return figure.Pretty(u.Uncertain(e, metric))
}

func day(t time.Time) string { return t.UTC().Format("2006-01-02") }
