// Package drivesheet is the sheet of paper that goes along on the test drives: what to drive, with boxes to tick, and a
// place for the hash of each recording.
package drivesheet

import (
	_ "embed"
	"io"

	"flywitness/analysis/plan"
	"flywitness/analysis/practice"
	"flywitness/dashboards/paper"
	"flywitness/dashboards/web"
	"flywitness/figure"
)

//go:embed sheet.html
var pageHTML string

//go:embed sheet.css
var ownCSS string

var page = web.Parse(pageHTML, nil)

// Sheet is what is known before the drives. Empty texts become lines to write on.
type Sheet struct {
	Title, Car, Customer, Registration, Done string

	Plan  *plan.Finding
	Units figure.Units
	Paper paper.Size
}

// hashDigits is how many digits of a SHA-256 are copied by hand. Sixteen hexadecimal digits, 64 bits, leave no room for a
// recording that was exchanged by mistake; all of them stand in the report.
const hashDigits = 16

// usualSessions is how many sessions of a side tell by themselves how much sessions differ, where the plan asks for no number.
const usualSessions = 3

// mostRecordings is how many lines for recordings a side of the sheet has room for.
const mostRecordings = 5

type view struct {
	Sheet
	Page  web.Page
	Sides []side
}

type side struct {
	Name       string
	Fields     []field
	First      []string // before each session
	Steps      []step
	Recordings []int
	Digits     []int
	Cautions   []string
	Last       string
}

type field struct{ Name, Value string }

type step struct {
	Text  string
	Boxes []int
}

// Write writes the sheet as one page of HTML with a sheet of paper for each side, which asks for nothing outside.
func Write(w io.Writer, s Sheet) error {
	title := "Drive sheet"
	if s.Title != "" {
		title += ": " + s.Title
	}
	v := view{Sheet: s, Page: web.New(title, web.Own{CSS: ownCSS + s.Paper.CSS()})}
	v.Sides = []side{s.side("before"), s.side("after")}
	return page.Execute(w, v)
}

func (s Sheet) side(name string) side {
	one := side{Name: name, First: practice.Checklist(), Digits: numbers(hashDigits),
		Cautions: practice.Cautions(practice.Driving, practice.FreeRevs, practice.Coasting, practice.Pulling)}
	one.Fields = []field{{"car", s.Car}, {"registration", s.Registration}, {"customer", s.Customer}, {"date", ""}, {"odometer", ""},
		{"driver", ""}, {"at the recorder", ""}, {"outside temp.", ""}, {"tyre pressures", ""}}
	for _, st := range Steps(s.Plan, s.Units) {
		one.Steps = append(one.Steps, step{st.Text, numbers(st.Boxes)})
	}
	sessions := usualSessions
	if n := s.Plan.Sessions; n != nil {
		sessions = min(*n, mostRecordings)
	}
	one.Recordings = numbers(sessions)
	one.Last = "Nothing on tyres, load and fuel is changed before the drive after the work. While the car is on the lift, the old and the new part can be swung on a pendulum (fw-analyze part pendulum): it is the best evidence of all."
	if name == "after" {
		one.Fields = append(one.Fields, field{"driven since work", ""})
		one.Last = "The same drive as before the work: the same road, the same load, the same fuel level, the same pressures."
	}
	return one
}

// numbers counts from one, for a template to repeat something.
func numbers(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i + 1
	}
	return out
}
