// Package words puts a result into sentences: the verdict first, then the numbers with units and uncertainty, then what
// was not used and why, then the cautions. Text output and pages both take their words from here.
package words

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"flywitness/analysis"
	"flywitness/dashboards/figure"
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
	Sentence string   // what it rests on
	Numbers  []Number // with units and uncertainty
	Next     []string // what must still be driven to know
}

// Summary is a whole result in words.
type Summary struct {
	Answers  []Answer
	NotUsed  []string
	Caution  []string // the ones that must stand beside the verdict
	Cautions []string // all of them
}

// Of returns a result in words.
func Of(r *analysis.Result, u figure.Units) Summary {
	w := writer{u}
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
	s.NotUsed = notUsed(r)
	s.Caution, s.Cautions = caution(s.Answers), cautions(r)
	return s
}

type writer struct{ u figure.Units }

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
