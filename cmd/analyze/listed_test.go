package main

import (
	"bytes"
	"context"
	"testing"

	"flywitness/analysis"
	"flywitness/analysis/inertia"
	"flywitness/analysis/slip"
	"flywitness/figure"

	"github.com/spf13/cobra"
)

// What logs hold is worked out where an output lists it, and no text depends on that.
func TestLogsAreListedWhereAnOutputDoesSo(t *testing.T) {
	for _, c := range []struct {
		out  outputFlags
		want bool
	}{{outputFlags{}, false}, {outputFlags{plot: "a.svg"}, false}, {outputFlags{json: true}, true}, {outputFlags{report: "a.html"}, true}} {
		if got := c.out.lists(); got != c.want {
			t.Errorf("%+v lists logs: %v", c.out, got)
		}
	}
	cmd := &cobra.Command{}
	cmd.SetContext(context.Background())
	in := logFlags{vehicle: demo + "/mule.toml"}
	set := func(listed bool) analysis.Set {
		s, err := in.set(cmd, []string{demo + "/after/thursday.csv"}, listed)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	for name, do := range map[string]func(analysis.Set) *analysis.Result{
		"learn":   analysis.Learn,
		"slip":    func(s analysis.Set) *analysis.Result { return analysis.Slip(s, slip.Options{}) },
		"inertia": func(s analysis.Set) *analysis.Result { return analysis.Inertia(s, inertia.Options{}) },
	} {
		listed, unlisted := do(set(true)), do(set(false))
		a, b := listed.Inputs[0], unlisted.Inputs[0]
		if len(a.SHA256) != 64 || len(a.Channels) == 0 || a.Channels[0].RateHz == 0 || a.Channels[0].Max == nil || a.DurationS == 0 {
			t.Errorf("%s lists %+v", name, a)
		}
		if (name != "learn") != (len(listed.Findings) > 0) || len(unlisted.Findings) > 0 {
			t.Errorf("%s: %d findings listed, %d where nothing is", name, len(listed.Findings), len(unlisted.Findings))
		}
		if b.SHA256 != "" || len(b.Channels) > 0 || b.DurationS != 0 || b.Path != a.Path || b.Rows != a.Rows {
			t.Errorf("%s: where nothing is listed %+v", name, b)
		}
		var text, bare bytes.Buffer
		if err, err2 := printText(&text, listed, figure.Metric), printText(&bare, unlisted, figure.Metric); err != nil || err2 != nil || text.String() != bare.String() {
			t.Errorf("%s: the text is another one: %v, %v\n%s\n%s", name, err, err2, text.String(), bare.String())
		}
	}
}
