package slip_test

import (
	"slices"
	"strings"
	"testing"

	"flywitness/analysis"
	"flywitness/analysis/detect"
	"flywitness/analysis/slip"
	"flywitness/internal/numbers"
	"flywitness/sim/field"
	"flywitness/vehicle"
)

// A drive for each explanation and each doubt, by another simulator's cars and drivers: what was seen is named,
// and the verdict is right or left open.
func TestDrivesOfEachExplanation(t *testing.T) {
	classes := field.Classes()
	for n, c := range []struct {
		class   string
		seed    uint64
		sound   bool
		verdict slip.Verdict
		kinds   []detect.Kind // among the events
		says    string
	}{
		{"slip/small/full", 1, false, slip.Slips, []detect.Kind{detect.KindSlip}, "slipped 3 times"},
		{"slip/oil/full", 1, false, slip.Slips, []detect.Kind{detect.KindSlip, detect.KindEngagement}, "slipped"},
		{"road/rough/full", 3, true, slip.Inconclusive, []detect.Kind{detect.KindCarriedMore}, "not for sure"},
		{"driver/pulses/full", 1, false, slip.Slips, []detect.Kind{detect.KindShort, detect.KindPedal, detect.KindNoForce}, ""},
		{"driver/never-lifts/full", 1, false, slip.Slips, []detect.Kind{detect.KindShift}, ""},
		{"driver/dabs/full", 1, true, slip.Inconclusive, []detect.Kind{detect.KindPedal, detect.KindNoForce}, "not for sure"},
		{"road/spin/full", 1, true, slip.Inconclusive, []detect.Kind{detect.KindWheelspin}, "not for sure"},
		{"road/bends/full", 4, false, slip.Inconclusive, []detect.Kind{detect.KindCreep}, "not for sure"},
		{"road/bends/full", 8, false, slip.Inconclusive, []detect.Kind{detect.KindSignal}, "not for sure"},
		{"box/converter-late/nofile", 1, true, slip.Inconclusive, []detect.Kind{detect.KindOtherGear}, "slips by design"},
		{"box/dual-noload/nofile", 1, true, slip.Inconclusive, nil, "slips by design"},
		{"start/crawl/full", 1, true, slip.Inconclusive, nil, "do not keep step"},
		{"start/second/nofile", 2, false, slip.Inconclusive, nil, "with no gear that fits"},
		{"gap/short-slips/full", 1, false, slip.Inconclusive, nil, "values are missing under load"},
		{"slip/light-load/nofile", 1502001, false, slip.Slips, []detect.Kind{detect.KindSlip}, "slipped"}, // and at light load
		{"channel/half-down/full", 1503001, true, slip.Holds, []detect.Kind{detect.KindPedal}, ""},
		{"channel/half-down/masstyre", 1503003, true, slip.Holds, []detect.Kind{detect.KindPedal}, ""},
		{"channel/clutch-switch/nofile", 1503002, false, slip.Slips, []detect.Kind{detect.KindSlip}, "No foot was on the clutch pedal"},
		{"slip/brief/full", 1, false, slip.Slips, []detect.Kind{detect.KindSlip}, "slipped"},
		{"slip/brief/nofile", 2, false, slip.Inconclusive, []detect.Kind{detect.KindPedal}, "too often to be chance"},
		{"slip/after-shifts/full", 94003, false, slip.Inconclusive, []detect.Kind{detect.KindEngagement}, "not for sure"},
	} {
		if testing.Short() && n != 5 { // one of them runs every goroutine
			continue
		}
		t.Run(c.class, func(t *testing.T) {
			t.Parallel()
			i := slices.IndexFunc(classes, func(x field.Class) bool { return x.Name == c.class })
			k := classes[i].Make(c.seed, c.sound)
			f := analysis.Slip(analysis.Set{Logs: k.Logs, Vehicle: k.Vehicle},
				slip.Options{Gearbox: vehicle.GearboxType(k.Gearbox)}).Slip
			if f.Verdict != c.verdict || !strings.Contains(f.Reason.String(), c.says) {
				t.Errorf("%s: %s", f.Verdict, f.Reason)
			}
			for _, kind := range c.kinds {
				if !slices.ContainsFunc(f.Events, func(e slip.Event) bool { return e.Kind == kind }) {
					t.Errorf("no event is called %s", kind)
				}
			}
			for _, e := range f.Events {
				if len(e.Rivals) != 10 || e.Kind == "" {
					t.Errorf("event at %.1f s: %q beside %d rivals", e.Start, e.Kind, len(e.Rivals))
				}
			}
		})
	}
}

// One slip in one gear, by the speed of wheels that are not driven, may be wheels that spin: the driver knows whether the
// road was dry, and is told that he can say so.
func TestDryRoadSettlesWheelspin(t *testing.T) {
	classes := field.Classes()
	i := slices.IndexFunc(classes, func(x field.Class) bool { return x.Name == "ordinary/2min/full/load/kline" })
	k := classes[i].Make(401004, false)
	judged := func(opt slip.Options) *slip.Finding {
		return analysis.Slip(analysis.Set{Logs: k.Logs, Vehicle: k.Vehicle}, opt).Slip
	}
	f := judged(slip.Options{})
	if f.Verdict != slip.Inconclusive || !strings.Contains(f.Reason.String(), "spinning wheels") ||
		!strings.Contains(f.WhatToDrive[0].String(), "--dry-road") {
		t.Errorf("%s: %s; %v", f.Verdict, f.Reason, f.WhatToDrive)
	}
	if f := judged(slip.Options{DryRoad: true}); f.Verdict != slip.Slips ||
		!strings.Contains(f.Reason.String(), "rests on what was told") {
		t.Errorf("on a dry road %s: %s", f.Verdict, f.Reason)
	}
}

// A rating belongs to the clutch that it was told of. Where before and after have one vehicle file, its rating is
// that of the new clutch: what is said of the old one is the same whatever it is, and does not name it.
func TestRatingOfTheNewClutchSaysNothingOfTheOldOne(t *testing.T) {
	numbers.Only(t)
	classes := field.Classes()
	i := slices.IndexFunc(classes, func(x field.Class) bool { return x.Name == "ordinary/5min/full/load/can" })
	k := classes[i].Make(1, false)
	var seen []*slip.Finding
	for _, rating := range []float64{150, 600} {
		v := *k.Vehicle
		v.Clutch = &vehicle.Clutch{TorqueRating: rating}
		set := analysis.Set{Side: "before", Logs: k.Logs, Vehicle: &v}
		after := set
		after.Side = "after"
		seen = append(seen, analysis.Compare(set, after, analysis.CompareOptions{}).Compare.SlipBefore)
	}
	a, b := seen[0], seen[1]
	if a.Verdict != slip.Slips || a.Pattern == "" || a.Pattern != b.Pattern || a.Reason.String() != b.Reason.String() ||
		strings.Contains(a.Reason.String(), "rating") {
		t.Errorf("%s, %q, %q and %s, %q, %q", a.Verdict, a.Pattern, a.Reason, b.Verdict, b.Pattern, b.Reason)
	}
}

// On a slow link a change of gear looks like seconds of a clutch that comes to rest: on an hour of a value a second it is no doubt.
func TestChangesOfGearOnASlowLinkAreNoDoubt(t *testing.T) {
	numbers.Only(t)
	classes := field.Classes()
	i := slices.IndexFunc(classes, func(x field.Class) bool { return x.Name == "ordinary/60min/full/load/old" })
	k := classes[i].Make(101, true)
	f := analysis.Slip(analysis.Set{Logs: k.Logs, Vehicle: k.Vehicle}, slip.Options{}).Slip
	if f.Verdict != slip.Holds {
		t.Errorf("%s: %s", f.Verdict, f.Reason)
	}
}

// Whoever creeps along in first for a minute and a half and then drives off, so that no other gear settles, shows his
// gears to some per cent: 11 km/h that show as 10 made another gear of the fourth, in which a sound clutch slipped by 22 %.
func TestWalkingPaceProvesNoSlip(t *testing.T) {
	classes := field.Classes()
	i := slices.IndexFunc(classes, func(x field.Class) bool { return x.Name == "ordinary/2min/full/load/old" })
	k := classes[i].Make(995017, true)
	r := analysis.Slip(analysis.Set{Logs: k.Logs, Vehicle: k.Vehicle}, slip.Options{})
	if r.Slip.Verdict != slip.Inconclusive || r.Gearing.Wrong {
		t.Errorf("%s: %s; file blamed: %v", r.Slip.Verdict, r.Slip.Reason, r.Gearing.Wrong)
	}
}
