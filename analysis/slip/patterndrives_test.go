package slip_test

import (
	"slices"
	"testing"

	"flywitness/analysis"
	"flywitness/analysis/slip"
	"flywitness/internal/numbers"
	"flywitness/sim/field"
)

// The pattern of whole drives: a lining that fades, a clutch that lets go at the engine's most, slip that follows
// changes of gear. Where the pulls do not settle it nothing is named.
func TestPatternsOfDrives(t *testing.T) {
	numbers.Only(t)
	classes := field.Classes()
	for _, c := range []struct {
		class string
		seed  uint64
		want  slip.Pattern
	}{
		{"slip/hot/full", 12009, slip.WithHeat},
		{"slip/hot/nofile", 12009, slip.WithHeat}, // by what is kept: slopes spread its torque by as much as heat does
		{"slip/top-gear/full", 12000, slip.AboveTorque},
		{"slip/top-gear/nofile", 12010, slip.AboveTorque},
		{"slip/after-shifts/nofile", 14008, slip.AfterShifts},
		{"slip/hot/full", 12003, slip.Unclear},
	} {
		i := slices.IndexFunc(classes, func(k field.Class) bool { return k.Name == c.class })
		if i < 0 {
			t.Fatalf("no class %s", c.class)
		}
		k := classes[i].Make(c.seed, false)
		f := analysis.Slip(analysis.Set{Logs: k.Logs, Vehicle: k.Vehicle}, slip.Options{}).Slip
		if f.Verdict != slip.Slips || f.Pattern != c.want {
			t.Errorf("%s %d: %s, %q, causes %v; want %q", c.class, c.seed, f.Verdict, f.Pattern, f.LikelyCauses, c.want)
		}
		if settles := len(f.WhatToDrive) > 0; settles != (c.want == slip.Unclear) {
			t.Errorf("%s %d: advice %v", c.class, c.seed, f.WhatToDrive)
		}
	}
}
