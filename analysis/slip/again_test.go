package slip_test

import (
	"slices"
	"testing"

	"flywitness/analysis"
	"flywitness/analysis/detect"
	"flywitness/analysis/slip"
	"flywitness/internal/numbers"
	"flywitness/sim"
	"flywitness/sim/field"
)

// A clutch that slips after every change of gear is seen to slip for sure nine times; what departs besides as likely
// by slip as not is slip too, and all that is named so is.
func TestAProvenClutchSlipsAgain(t *testing.T) {
	numbers.Only(t)
	classes := field.Classes()
	i := slices.IndexFunc(classes, func(k field.Class) bool { return k.Name == "slip/after-shifts/nofile" })
	if i < 0 {
		t.Fatal("no such class")
	}
	c := classes[i].Make(14008, false)
	f := analysis.Slip(analysis.Set{Logs: c.Logs, Vehicle: c.Vehicle}, slip.Options{}).Slip
	slips := 0
	for _, e := range f.Events {
		if e.Kind != detect.KindSlip {
			continue
		}
		slips++
		zero := c.Zero[e.Input]
		if !slices.ContainsFunc(c.Truths[e.Input].Events, func(x sim.SlipEvent) bool {
			return e.Start < x.EndS-zero && x.StartS-zero < e.End
		}) {
			t.Errorf("no clutch slipped from %.1f to %.1f s", e.Start, e.End)
		}
	}
	if slips != 12 {
		t.Errorf("%d slips", slips)
	}
}
