package main

import (
	"io"

	"flywitness/analysis"
	"flywitness/cmd/internal/cli"
	"flywitness/dashboards/text"
	"flywitness/figure"
)

// mostUnused is how many lines on what was not used the text shows; the page and the JSON have them all.
const mostUnused = 8

// tones are the colours of answers on a terminal.
var tones = map[text.Tone]cli.Tone{text.Good: cli.Good, text.Act: cli.Act, text.Open: cli.Open, text.Fact: cli.Strong}

// printText writes a result for people: the verdict in words first, then the numbers, then what was not used and why, then
// the caution.
func printText(w io.Writer, r *analysis.Result, u figure.Units) error {
	s := text.Of(r, u)
	var t cli.Text
	for _, d := range s.Doubts {
		t.Line("%s", d)
	}
	if s.Line != "" {
		t.Line("%s", s.Line)
	}
	for _, a := range s.Answers {
		if len(s.Answers) > 1 {
			t.Heading(a.Question)
		}
		t.Answer(tones[a.Tone], a.Headline)
		if a.Sentence != "" {
			t.Line("%s", a.Sentence)
		}
		if len(a.Numbers) > 0 {
			rows := make([][2]string, len(a.Numbers))
			for j, n := range a.Numbers {
				rows[j] = [2]string{n.Name, n.Value}
			}
			t.Pairs(rows)
		}
		if len(a.Next) > 0 {
			t.Line("%s", a.Ask())
			for j, next := range a.Next {
				t.Numbered(j+1, "%s", next)
			}
		}
	}
	if a := text.StandardAir(r.StandardAir, u); a != nil {
		t.Heading(a.Title + ":")
		if len(a.Rows) > 0 {
			t.Table(a.Head, a.Rows)
		}
		for _, note := range a.Notes {
			t.Line("%s", note)
		}
	}
	if len(s.NotUsed) > 0 {
		t.Heading("Not used, or worth knowing:")
		for i, line := range s.NotUsed {
			if i == mostUnused && len(s.NotUsed) > mostUnused+1 {
				t.Item("and %d more; --json and the report have them all", len(s.NotUsed)-i)
				break
			}
			t.Item("%s", cli.OneLine(line))
		}
	}
	if len(s.Caution) > 0 {
		t.Heading("Take care:")
		for _, c := range s.Caution {
			t.Item("%s", c)
		}
	}
	_, err := t.WriteTo(w)
	return err
}
