package slip

import (
	"fmt"
	"math"
	"slices"

	"flywitness/analysis/stats"
	"flywitness/drive"
)

// tested is the share of a rating or of the engine's peak that must have gone through the clutch to have put it to the test.
const tested = 0.9

// againstRating sets the torque that was seen against what the clutch is rated for and against the engine's peak, where they are known: in the reason, and as
// a warning where something follows from it.
func (j *judge) againstRating() {
	o := j.out
	seen, what := o.HighestTorqueHeld, "The torque held"
	if o.Verdict == Slips {
		seen, what = o.OnsetTorque, "The torque at which it lets go"
	}
	if seen == nil {
		return
	}
	rating, peak := 0.0, j.veh.Engine.PeakTorque
	if j.veh.Clutch != nil {
		rating = j.veh.Clutch.TorqueRating
	}
	switch share := func(x float64) string { return fmt.Sprintf("%.0f %% of", 100*seen.Value/x) }; {
	case rating > 0 && peak > 0:
		o.Reason += fmt.Sprintf(" %s is %s the clutch's rating of %.0f N m and %s the engine's peak of %.0f N m.", what, share(rating), rating, share(peak), peak)
	case rating > 0:
		o.Reason += fmt.Sprintf(" %s is %s the clutch's rating of %.0f N m.", what, share(rating), rating)
	case peak > 0:
		o.Reason += fmt.Sprintf(" %s is %s the engine's peak of %.0f N m.", what, share(peak), peak)
	}
	if rating > 0 {
		j.warnOfRating(seen, rating)
	}
	if peak > 0 && o.Verdict == Holds && seen.Value < tested*peak {
		j.warn("peak_not_tested", fmt.Sprintf("at most %.0f N m went through the clutch and the engine gives up to %.0f N m, so the clutch was not put to the whole test",
			seen.Value, peak))
	}
}

// warnOfRating says what follows from a torque beside the rating.
func (j *judge) warnOfRating(seen *stats.Estimate, rating float64) {
	switch {
	case j.out.Verdict == Slips && seen.CI95[1] < rating:
		j.warn("slips_below_rating", fmt.Sprintf("the clutch slips from about %.0f N m, below its rating of %.0f N m", seen.Value, rating))
	case j.out.Verdict == Holds && seen.Value < tested*rating:
		j.warn("rating_not_tested", fmt.Sprintf("at most %.0f N m went through the clutch, so its rating of %.0f N m was not put to the test", seen.Value, rating))
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
