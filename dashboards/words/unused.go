package words

import (
	"fmt"
	"math"
	"regexp"
	"sort"
	"strconv"

	"flywitness/analysis"
	"flywitness/analysis/inertia"
	"flywitness/analysis/slip"
)

// notUsed lists what was left out and why: like things together, then what the reader of the logs warned of.
func notUsed(r *analysis.Result) []string {
	var t tally
	t.runs(r.Inertia, "")
	if r.Slip != nil && r.Compare == nil {
		t.slip(r.Slip, "")
	}
	if r.Job != nil {
		for _, e := range r.Job.Excluded {
			t.add(e[0], e[1])
		}
	}
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

// tally counts refused things by what they are and why; reasons that differ in their first number only stand together.
type tally struct {
	groups []*group
	index  map[[2]string]*group
}

type group struct {
	thing, why string
	n          int
	lo, hi     float64 // of the first number in the reason
}

var firstNumber = regexp.MustCompile(`\d+(\.\d+)?`)

func (t *tally) add(thing, why string) {
	number := firstNumber.FindString(why)
	v, _ := strconv.ParseFloat(number, 64)
	k := [2]string{thing, firstNumber.ReplaceAllString(why, "#")}
	g := t.index[k]
	if g == nil {
		g = &group{thing: thing, why: why, lo: v, hi: v}
		if t.index == nil {
			t.index = map[[2]string]*group{}
		}
		t.index[k] = g
		t.groups = append(t.groups, g)
	}
	g.n++
	g.lo, g.hi = math.Min(g.lo, v), math.Max(g.hi, v)
}

// reason writes the reason with the range of its first number.
func (g *group) reason() string {
	at := firstNumber.FindStringIndex(g.why)
	if g.lo == g.hi || at == nil {
		return g.why
	}
	return fmt.Sprintf("%s%g–%g%s", g.why[:at[0]], g.lo, g.hi, g.why[at[1]:])
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
		if !r.Used && r.Kind != inertia.RevUp { // a rise is a picture, nothing that went wrong
			t.add(RunKind(r.Kind)+side, r.WhyNot)
		}
	}
}

// lines writes the tally, the most frequent first.
func (t *tally) lines() (out []string) {
	sort.SliceStable(t.groups, func(i, j int) bool { return t.groups[i].n > t.groups[j].n })
	for _, g := range t.groups {
		out = append(out, fmt.Sprintf("%d × %s: %s", g.n, g.thing, g.reason()))
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
