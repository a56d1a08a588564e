package slip

import (
	"math"
	"slices"

	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/finding"
)

// tested is the share of a rating or of the engine's peak that must have gone through the clutch to have put it
// to the test.
const tested = 0.9

// againstRating sets the torque that was seen against what the clutch is rated for and against the engine's
// peak, where they are known: in the reason, and as a warning where something follows from it.
func (j *judge) againstRating() {
	o := j.out
	seen := o.HighestTorqueHeld
	if o.Verdict == Slips {
		seen = o.OnsetTorque
	}
	if seen == nil {
		return
	}
	rating, peak := 0.0, j.veh.Engine.PeakTorque
	if j.veh.Clutch != nil {
		rating = j.veh.Clutch.TorqueRating
	}
	of := finding.New(finding.TorqueOfRating, finding.Flag("slips", o.Verdict == Slips))
	if rating > 0 {
		of.Values = append(of.Values, finding.Torque("rating", rating), finding.Pct("rating_share", 100*seen.Value/rating))
	}
	if peak > 0 {
		of.Values = append(of.Values, finding.Torque("peak", peak), finding.Pct("peak_share", 100*seen.Value/peak))
	}
	if rating > 0 || peak > 0 {
		o.Reason = append(o.Reason, of)
	}
	if rating > 0 {
		j.warnOfRating(seen, rating)
	}
	if peak > 0 && o.Verdict == Holds && seen.Value < tested*peak {
		j.warn(finding.PeakNotTested, finding.Torque("held", seen.Value), finding.Torque("peak", peak))
	}
}

// warnOfRating says what follows from a torque beside the rating.
func (j *judge) warnOfRating(seen *stats.Estimate, rating float64) {
	switch {
	case j.out.Verdict == Slips && seen.CI95[1] < rating:
		j.warn(finding.SlipsBelowRating, finding.Torque("onset", seen.Value), finding.Torque("rating", rating))
	case j.out.Verdict == Holds && seen.Value < tested*rating:
		j.warn(finding.RatingNotTested, finding.Torque("held", seen.Value), finding.Torque("rating", rating))
	}
}

// channelApart is how far the logged engine torque may be from the torque that accelerates the car before it is said.
const channelApart = 0.10

// Channels are those that Judge reads of the logs themselves; everything else it has from the tracks.
var Channels = []string{drive.EngineTorque, drive.ReferenceTorque, drive.Altitude, drive.ClutchSwitch}

// checkTorqueChannel sets the engine's own torque channel, where one is logged, against the torque from the
// car's acceleration. A remapped engine often reports a clipped or mis-scaled one; the acceleration stands.
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
		j.warn(finding.ChannelDiffers, finding.Pct("off", 100*(mid-1)))
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
