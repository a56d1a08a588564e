package text

import (
	"fmt"
	"sort"

	"flywitness/analysis"
	"flywitness/analysis/inertia"
	"flywitness/analysis/slip"
	"flywitness/finding"
)

// notUsed lists what was left out and why: like things together, then what the reader of the logs warned of.
func (w writer) notUsed(r *analysis.Result) []string {
	var t tally
	t.runs(r.Inertia, "")
	if r.Slip != nil && r.Compare == nil {
		t.slip(r.Slip, "")
	}
	if r.Job != nil {
		for _, e := range r.Job.Excluded {
			t.add(e[0], finding.Say(finding.New(finding.Excluded, finding.Name("reason", e[1]))))
		}
	}
	if c := r.Compare; c != nil {
		t.runs(c.Before, ", before")
		t.runs(c.After, ", after")
		t.slip(c.SlipBefore, ", before")
		t.slip(c.SlipAfter, ", after")
	}
	out := t.lines(w)
	for _, m := range r.Warnings {
		out = append(out, m.In(w.u))
	}
	return out
}

// tally counts refused things by what they are and why; reasons that differ in their numbers only stand together.
type tally struct{ groups []*group }

type group struct {
	thing string
	why   finding.Text
	n     int
}

func (t *tally) add(thing string, why finding.Text) {
	for _, g := range t.groups {
		if g.thing != thing {
			continue
		}
		if both, ok := g.why.Together(why); ok {
			g.why = both
			g.n++
			return
		}
	}
	t.groups = append(t.groups, &group{thing, why, 1})
}

func (t *tally) slip(f *slip.Finding, side string) {
	if f == nil {
		return
	}
	for _, p := range f.Pulls {
		if p.Verdict == slip.Inconclusive && len(p.Reason) > 0 {
			t.add("pull"+side, p.Reason)
		}
	}
	for _, e := range f.Events {
		if !counts(e) {
			t.add("moment that looks like slip"+side, finding.Say(finding.Told("", EventKind(e.Kind))))
		}
	}
}

func (t *tally) runs(f *inertia.Finding, side string) {
	if f == nil {
		return
	}
	for _, r := range f.Runs {
		if !r.Used && r.Kind != inertia.RevUp { // a rise is a picture, nothing that went wrong
			t.add(RunKind(r.Kind)+side, r.WhyNot)
		}
	}
}

// lines writes the tally, the most frequent first.
func (t *tally) lines(w writer) (out []string) {
	sort.SliceStable(t.groups, func(i, j int) bool { return t.groups[i].n > t.groups[j].n })
	for _, g := range t.groups {
		out = append(out, fmt.Sprintf("%d × %s: %s", g.n, g.thing, w.text(g.why)))
	}
	return out
}

// RunKind names a kind of run in words.
func RunKind(k inertia.Kind) string {
	switch k {
	case inertia.RevDown:
		return "rev-down"
	case inertia.RollingRevDown:
		return "rolling rev-down"
	case inertia.RevUp:
		return "rev-up"
	case inertia.Overrun:
		return "off-throttle in gear"
	case inertia.Coast:
		return "neutral coast"
	case inertia.PullRun:
		return "pull"
	}
	return string(k)
}
