package words

import (
	"fmt"
	"sort"

	"flywitness/analysis"
	"flywitness/analysis/inertia"
	"flywitness/analysis/slip"
)

// notUsed lists what was left out and why: like things together, then what the reader of the logs warned of.
func notUsed(r *analysis.Result) []string {
	var t tally
	t.slip(r.Slip, "")
	t.runs(r.Inertia, "")
	if c := r.Compare; c != nil {
		t.runs(c.Before, ", before")
		t.runs(c.After, ", after")
		t.slip(c.SlipBefore, ", before")
		t.slip(c.SlipAfter, ", after")
	}
	out := t.lines()
	for _, m := range r.Warnings {
		out = append(out, m.Message)
	}
	return out
}

// tally counts refused things by what they are and why.
type tally struct {
	n     map[[2]string]int
	order [][2]string
}

func (t *tally) add(thing, why string) {
	if t.n == nil {
		t.n = map[[2]string]int{}
	}
	k := [2]string{thing, why}
	if t.n[k] == 0 {
		t.order = append(t.order, k)
	}
	t.n[k]++
}

func (t *tally) slip(f *slip.Finding, side string) {
	if f == nil {
		return
	}
	for _, p := range f.Pulls {
		if p.Verdict == slip.Inconclusive && p.Reason != "" {
			t.add("pull"+side, p.Reason)
		}
	}
	for _, e := range f.Events {
		if !Counts(e) {
			t.add("moment that looks like slip"+side, EventKind(e.Kind))
		}
	}
}

func (t *tally) runs(f *inertia.Finding, side string) {
	if f == nil {
		return
	}
	for _, r := range f.Runs {
		if !r.Used {
			t.add(RunKind(r.Kind)+side, r.WhyNot)
		}
	}
}

// lines writes the tally, the most frequent first.
func (t *tally) lines() (out []string) {
	sort.SliceStable(t.order, func(i, j int) bool { return t.n[t.order[i]] > t.n[t.order[j]] })
	for _, k := range t.order {
		out = append(out, fmt.Sprintf("%d × %s: %s", t.n[k], k[0], k[1]))
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
