package slip

import (
	"fmt"
	"slices"
)

// usualBedIn is the distance that bedding-in takes where the clutch's maker is not asked. Common practice, no source.
const usualBedIn = 500.0 // km

// bedIn is the distance that bedding-in takes.
func (o Options) bedIn() float64 {
	if o.BedInKm != nil {
		return *o.BedInKm
	}
	return usualBedIn
}

// beddingIn tells whether the clutch is known to be new and not bedded in.
func (o Options) beddingIn() bool { return o.KmSinceFitted != nil && *o.KmSinceFitted < o.bedIn() }

// notYet is the verdict on a clutch that is not bedded in: neither slip nor grip proves anything.
func (j *judge) notYet(slipped bool) {
	o := j.out
	o.Verdict = Inconclusive
	o.Reason = fmt.Sprintf("Not yet: the clutch has run %.0f km of the %.0f km that bedding-in takes, and before that neither slip nor grip proves anything.",
		*j.opt.KmSinceFitted, j.opt.bedIn())
	if slipped {
		o.Reason += " Slip was seen: no more full load until then."
	}
	o.WhatToDrive = append(o.WhatToDrive, fmt.Sprintf("easy driving up to %.0f km, then ", j.opt.bedIn())+threePulls)
}

const (
	hotPulls  = 2   // full-load pulls that must have gone before
	hotWithin = 300 // s
)

// heldWords says what holds means: up to which torque, in how many full-load pulls, whether the last was hot, and what would have shown.
func (j *judge) heldWords() string {
	o := j.out
	var starts []float64
	inputs := map[int][]float64{}
	for i, p := range o.Pulls {
		if p.Verdict == Holds && j.full[i] {
			starts = append(starts, p.Start)
			inputs[p.Input] = append(inputs[p.Input], p.Start)
		}
	}
	text := "No slip seen"
	if h := o.HighestTorqueHeld; h != nil {
		text += fmt.Sprintf(" up to %.0f ± %.0f N m", h.Value, h.SD)
	}
	switch n := len(starts); {
	case n == 1 && j.blind():
		text += " in the hardest pull of this log"
	case n == 1:
		text += " in one single full-load pull"
	default:
		if j.blind() {
			text += fmt.Sprintf(" in the %d hardest pulls of this log", n)
		} else {
			text += fmt.Sprintf(" in %d full-load pulls", n)
		}
		if lastHot(inputs) {
			text += ", the last one hot"
		} else {
			text += ", none of them hot"
		}
	}
	return text + fmt.Sprintf("; %.1f %% lasting %.2g s would have shown.", *o.SmallestDetectable, *o.SmallestSeconds)
}

// lastHot tells whether the last full-load pull of some log came soon after others.
func lastHot(inputs map[int][]float64) bool {
	for _, starts := range inputs {
		slices.Sort(starts)
		last := starts[len(starts)-1]
		before := 0
		for _, s := range starts[:len(starts)-1] {
			if last-s <= hotWithin {
				before++
			}
		}
		if before >= hotPulls {
			return true
		}
	}
	return false
}
