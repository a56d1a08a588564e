// Package report writes report.html: one file that answers first, convinces next and can be checked to the last number.
// It needs nothing from outside, works with scripts off, and prints.
package report

import (
	_ "embed"
	"html/template"
	"io"
	"strings"

	"flywitness/analysis"
	"flywitness/dashboards/chart"
	"flywitness/dashboards/paper"
	"flywitness/dashboards/text"
	"flywitness/dashboards/web"
	"flywitness/figure"
)

//go:embed report.html
var pageHTML string

var page = web.Parse(pageHTML, template.FuncMap{"tight": unbroken})

// Options are what a report needs beside the result.
type Options struct {
	Units figure.Units
	Still bool       // no zoomable charts, even where the script was built in
	Paper paper.Size // to be printed on; "" leaves it to the printer
}

// view is what the template shows.
type view struct {
	Page              web.Page
	Subtitle          string
	Job               bool   // it is a job that is handed over
	Room              string // for the picture of the first page
	Head              head
	Picture           *picture // the one of the first page
	Words             text.Summary
	Figures           []figureGroup
	Sessions          []session
	Conditions        [][2]string
	Provenance        []source
	Tool              analysis.Tool
	Command, Warnings string
}

// figureGroup is a part of the evidence with its pictures and tables.
type figureGroup struct {
	Title   string
	Figures []*picture
	Tables  []table
}

type picture struct {
	ID, Title, Caption string
	Drawn              template.HTML
	Data               *chart.Data // for the script; nil without one
	Behind             *table      // the numbers behind the picture
}

type table struct {
	Title  string
	Folded bool
	Head   []string
	Rows   [][]string
}

// Write writes the report of a result.
func Write(w io.Writer, r *analysis.Result, o Options) error {
	shell := web.New(title(r), web.Own{CSS: o.Paper.CSS(), Charts: !o.Still, Policy: "img-src data:"})
	b := builder{r: r, u: o.Units, zoom: shell.Script != ""}
	said := text.Of(r, o.Units)
	space := room(letters(said))
	v := view{
		Page: shell, Subtitle: subtitle(r), Job: r.Job != nil, Head: headOf(r, o.Units), Tool: r.Tool, Command: r.Command,
		Words: said, Room: space, Picture: b.handOver(space), Figures: b.groups(),
		Sessions: sessions(r), Conditions: conditions(r, o.Units), Provenance: provenance(r),
	}
	b.drawing.Wait()
	return page.Execute(w, v)
}

// How many letters of answers leave room on the first sheet for the picture in full and in reduced size, measured on Letter with a wide typeface.
const (
	fullSize    = 550
	reducedSize = 900

	tight = "tight" // classes of the stylesheet
	scant = "tight scant"
)

// room names the class of the first sheet by how much there is to say on it.
func room(letters int) string {
	switch {
	case letters <= fullSize:
		return ""
	case letters <= reducedSize:
		return tight
	}
	return scant
}

// letters counts those of the answers.
func letters(s text.Summary) (n int) {
	texts := append([]string{s.Line}, s.Doubts...)
	for _, a := range s.Answers {
		texts = append(append(texts, a.Question, a.Headline, a.Sentence), a.Next...)
	}
	for _, t := range texts {
		n += len(t)
	}
	return n
}

func title(r *analysis.Result) string {
	if r.Job != nil && r.Job.Title != "" {
		return r.Job.Title
	}
	switch r.Command {
	case "slip":
		return "The clutch under load"
	case "inertia":
		return "Effective rotating inertia"
	case "compare":
		return "Before and after"
	case "learn":
		return "What the log tells of the car"
	}
	return "What the drive showed"
}

func subtitle(r *analysis.Result) string {
	s := ""
	if r.Vehicle != nil {
		s = r.Vehicle.Name
	}
	if r.Job != nil && r.Job.Done != "" {
		if s != "" {
			s += " · "
		}
		s += r.Job.Done
	}
	return s
}

// unbroken keeps a short cell on one line.
func unbroken(s string) string {
	if len(s) > 18 {
		return s
	}
	return together.Replace(s)
}

var together = strings.NewReplacer(" ", "\u00a0", "–", "\u2060–\u2060")
