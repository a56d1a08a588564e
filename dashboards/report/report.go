// Package report writes report.html: one file that answers first, convinces next and can be checked to the last number.
// It needs nothing from outside, works with scripts off, and prints.
package report

import (
	_ "embed"
	"html/template"
	"io"
	"strings"

	"flywitness/analysis"
	"flywitness/dashboards/figure"
	"flywitness/dashboards/look"
	"flywitness/dashboards/words"
)

//go:embed report.html
var pageHTML string

var page = template.Must(template.New("report").Funcs(template.FuncMap{"tight": tight}).Parse(pageHTML))

// Options are what a report needs beside the result.
type Options struct {
	Units figure.Units
}

// view is what the template shows.
type view struct {
	Title, Subtitle   string
	Policy            string
	CSS               template.CSS
	Words             words.Summary
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
	Figures []picture
	Tables  []table
}

type picture struct {
	ID, Title, Caption string
	Wide, Narrow       template.HTML
	Behind             *table // the numbers behind the picture
}

type table struct {
	Title  string
	Folded bool
	Head   []string
	Rows   [][]string
}

// Write writes the report of a result.
func Write(w io.Writer, r *analysis.Result, o Options) error {
	css := look.CSS()
	v := view{
		Title: title(r), Subtitle: subtitle(r), Tool: r.Tool, Command: r.Command,
		CSS: template.CSS(css), Policy: look.Policy([]string{css}, nil, ""),
		Words: words.Of(r, o.Units), Figures: groups(r, o.Units),
		Sessions: sessions(r), Conditions: conditions(r), Provenance: provenance(r),
	}
	return page.Execute(w, v)
}

func title(r *analysis.Result) string {
	if r.Job != nil && r.Job.Title != "" {
		return r.Job.Title
	}
	switch r.Command {
	case "slip":
		return "Does the clutch hold?"
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

// tight keeps a short cell on one line.
func tight(s string) string {
	if len(s) > 16 {
		return s
	}
	return strings.ReplaceAll(s, " ", "\u00a0")
}
