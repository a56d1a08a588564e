package plots_test

import (
	"testing"

	"flywitness/analysis/compare"
	"flywitness/analysis/drag"
	"flywitness/analysis/stats"
	"flywitness/dashboards/plots"
)

// What was held, both ratios and the ladder each have their picture; what is not there has none.
func TestHeldHasItsPictures(t *testing.T) {
	if c := plots.Held(&compare.Finding{}); len(c) != 0 {
		t.Errorf("%d pictures of nothing", len(c))
	}
	flow := 6.1
	oil := 95.0
	f := &compare.Finding{Drag: &drag.Finding{FlowUnit: "g/s", Before: []drag.Hold{{RPM: 2500, Flow: &flow, Used: true}, {RPM: 2500, Flow: &flow}},
		After: []drag.Hold{{RPM: 2510, Flow: &flow, Used: true}}, Uncorrected: stats.LogNormal(0.05, 0.03), Corrected: stats.LogNormal(0.05, 0.02), Decides: "corrected",
		Trust: drag.Trust{Ladder: &drag.Ladder{Rungs: []drag.Rung{{Oil: &oil, DragPct: 3, AfterPct: 0.2}}}}}}
	charts := plots.Held(f)
	if len(charts) != 3 {
		t.Fatalf("%d pictures", len(charts))
	}
	if n := len(charts[0].Panels[0].Lines[0].X); n != 1 {
		t.Errorf("%d holds before, one counts", n)
	}
	if w := charts[1].Panels[0].Whiskers; len(w) != 2 || w[0].High-w[0].Low <= w[1].High-w[1].Low || w[1].Name != "corrected, decides" {
		t.Errorf("%+v", w)
	}
	f.Drag.Corrected, f.Drag.Trust.Ladder, f.Drag.After = nil, nil, nil
	if c := plots.Held(f); len(c) != 0 {
		t.Errorf("%d pictures of one side without a correction", len(c))
	}
}
