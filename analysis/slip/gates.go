package slip

import (
	"fmt"
	"math"
	"slices"

	"flywitness/drive"
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
	switch n := len(starts); n {
	case 1:
		text += " in one single full-load pull"
	default:
		text += fmt.Sprintf(" in %d full-load pulls", n)
		if lastHot(inputs) {
			text += ", the last one hot"
		} else {
			text += ", none of them hot"
		}
	}
	return text + fmt.Sprintf("; anything above %.1f %% would have shown.", *o.SmallestDetectable)
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

// againstRating sets the torque that was seen against what the clutch is rated for.
func (j *judge) againstRating() {
	if j.veh == nil || j.veh.Clutch == nil || j.veh.Clutch.TorqueRating <= 0 {
		return
	}
	rating := j.veh.Clutch.TorqueRating
	o := j.out
	switch {
	case o.Verdict == Slips && o.OnsetTorque != nil && o.OnsetTorque.CI95[1] < rating:
		j.warn("slips_below_rating", fmt.Sprintf("the clutch slips from about %.0f N m, below its rating of %.0f N m", o.OnsetTorque.Value, rating))
	case o.Verdict == Holds && o.HighestTorqueHeld != nil && o.HighestTorqueHeld.Value < 0.9*rating:
		j.warn("rating_not_tested", fmt.Sprintf("at most %.0f N m went through the clutch, so its rating of %.0f N m was not put to the test", o.HighestTorqueHeld.Value, rating))
	}
}

// channelApart is how far the logged engine torque may be from the torque that accelerates the car before it is said.
const channelApart = 0.10

// checkTorqueChannel sets the engine's own torque channel, where one is logged, against the torque from the car's acceleration. A remapped engine
// often reports a clipped or mis-scaled one; the acceleration stands.
func (j *judge) checkTorqueChannel(logs []*drive.Log) {
	var ratio []float64
	for _, p := range j.out.Pulls {
		if p.Verdict != Holds || p.PeakTorque == nil || p.PeakTorque.Value <= 0 {
			continue
		}
		if engine, ok := engineTorque(logs[p.Input], p.Start, p.End); ok {
			ratio = append(ratio, engine/p.PeakTorque.Value)
		}
	}
	if len(ratio) < 2 {
		return
	}
	slices.Sort(ratio)
	mid := ratio[len(ratio)/2]
	if math.Abs(mid-1) > channelApart {
		j.warn("torque_channel_differs", fmt.Sprintf("the engine reports %+.0f %% against the torque that the car's acceleration shows; the acceleration stands "+
			"(a remapped engine often reports a clipped or mis-scaled torque; mass and tyre size matter too)", 100*(mid-1)))
	}
}

// engineTorque is the greatest logged engine torque in N m over a stretch; ok is false without the channels.
func engineTorque(l *drive.Log, from, to float64) (torque float64, ok bool) {
	pct, ref := l.Channel(drive.EngineTorque), l.Channel(drive.ReferenceTorque)
	if pct == nil || ref == nil || ref.Len() == 0 {
		return 0, false
	}
	for i, t := range pct.T {
		if t >= from && t <= to {
			torque, ok = math.Max(torque, pct.V[i]/100*ref.V[0]), true
		}
	}
	return torque, ok && torque > 0
}
