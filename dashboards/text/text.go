// Package text puts a result into sentences: the verdict first, then the numbers with units and uncertainty, then what
// was not used and why, then the cautions. Text output and pages both take their words from here.
package text

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"flywitness/analysis"
	"flywitness/figure"
	"flywitness/finding"
)

// Tone is how an answer is to be taken; a page shows it as a word and a sign, never as a colour alone.
type Tone string

// The tones.
const (
	Good Tone = "good" // shown, and as one would wish
	Act  Tone = "act"  // something must be done
	Open Tone = "open" // the data cannot tell
	Fact Tone = "fact" // a finding that is neither
)

// Number is a quantity with its name.
type Number struct{ Name, Value string }

// Answer is a question and what the data says to it.
type Answer struct {
	Question string
	Tone     Tone
	Headline string   // the verdict in plain words, a sentence
	Slips    bool     // the clutch in the car slips: nobody should go on
	Sentence string   // what it rests on
	Numbers  []Number // with units and uncertainty
	Next     []string // what must still be driven to know
}

// Ask is what stands before Next: what an open question takes, or what makes a settled one surer.
func (a Answer) Ask() string {
	if a.Tone == Open {
		return "To settle it:"
	}
	return "To be surer:"
}

// Summary is a whole result in words.
type Summary struct {
	Line     string   // the job in one line; "" where there is a single question
	Doubts   []string // what puts everything below in doubt, to be said first
	Answers  []Answer
	NotUsed  []string
	Caution  []string // the ones that must stand beside the verdict
	Cautions []string // all of them
}

// Of returns a result in words.
func Of(r *analysis.Result, u figure.Units) Summary {
	w := writer{u: u}
	var s Summary
	if r.Slip != nil && r.Compare == nil {
		s.Answers = append(s.Answers, w.slip(r.Slip, "Does the clutch hold?"))
	}
	if c := r.Compare; c != nil {
		s.Answers = append(s.Answers, w.compared(r)...)
	}
	if r.Inertia != nil {
		s.Answers = append(s.Answers, w.inertia(r.Inertia, ""))
	}
	if r.Command == "learn" {
		s.Answers = append(s.Answers, w.learnt(r))
	}
	s.Line = w.line(r)
	s.Doubts = w.doubts(r)
	s.NotUsed = w.notUsed(r)
	s.Caution, s.Cautions = caution(s.Answers), cautions(r)
	return s
}

// writer writes in the units of the reader; of a clutch that is no longer in the car it speaks as of the past.
type writer struct {
	u    figure.Units
	past bool
}

// text is what the analysis says, in the reader's units.
func (w writer) text(t finding.Text) string { return t.With(finding.Flag("past", w.past)).In(w.u) }

func (w writer) texts(list []finding.Text) []string {
	var out []string
	for _, t := range list {
		out = append(out, w.text(t))
	}
	return out
}

func (w writer) number(name string, value string) Number { return Number{name, figure.Pretty(value)} }

// pct writes a percentage to two significant digits.
func pct(v float64) string { return figure.Significant(v, 2) + " %" }

// sentence makes s begin with a capital and end with a stop.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	if s == "" {
		return ""
	}
	r, n := utf8.DecodeRuneInString(s)
	s = string(unicode.ToUpper(r)) + s[n:]
	if strings.ContainsAny(s[len(s)-1:], ".!?") {
		return s
	}
	return s + "."
}

func join(parts ...string) string {
	var out []string
	for _, p := range parts {
		if p = sentence(p); p != "" {
			out = append(out, p)
		}
	}
	return strings.Join(out, " ")
}

// count writes a number of things: "1 pull", "3 pulls".
func count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// gear names a gear: "first gear", "gear 7".
func gear(n int) string {
	names := [...]string{"neutral", "first gear", "second gear", "third gear", "fourth gear", "fifth gear", "sixth gear"}
	if n >= 0 && n < len(names) {
		return names[n]
	}
	return fmt.Sprintf("gear %d", n)
}

// Quantity writes a plain number with its unit to three digits.
func Quantity(v float64, unit string) string {
	return figure.WithUnit(figure.Significant(v, 3), unit)
}
