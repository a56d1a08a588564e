package slip

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"flywitness/analysis/stats"
	"flywitness/vehicle"
)

// torqueBasis says in words for the reader where the torque comes from: whose road load, and how the slope of the road was bounded; or why there is
// none.
func (j *judge) torqueBasis() string {
	f := j.force
	if !f.Known() {
		return strings.ToUpper(f.Reason[:1]) + f.Reason[1:] + "."
	}
	load := "that of a common car of this mass"
	if f.Vehicle.RoadLoad != nil {
		load = "from the vehicle file"
	}
	if s := f.Grade.Coasted(); s > 0 {
		load += fmt.Sprintf(", corrected by %.0f s of rolling in neutral in the log", s)
	}
	text := "Torque is worked out from mass and acceleration. "
	if sd := f.Vehicle.Gearbox.GearingSD; sd > 0 {
		text += fmt.Sprintf("Gearing is as the log shows it, ± %.2g %%, with the displayed speed. ", 100*sd)
	}
	return text + "Road load is " + load + ". " + j.slopeWords()
}

// slopeWords says how the slope of the road was bounded.
func (j *judge) slopeWords() string {
	slope, share, ok := j.slopeLeft()
	left := ""
	if ok {
		left = fmt.Sprintf(", which is ± %.0f %% of their torque", 100*share)
	}
	if s := j.force.Grade; s != nil {
		return fmt.Sprintf("The slope of the road is not logged; it was told from how the car pulls at equal engine speed and load over %.0f min of driving. "+
			"That leaves ± %.1f %% of slope under the pulls%s.", s.Seconds(true)/60, 100*slope, left)
	}
	why := "the log holds too little driving under load to tell it"
	if j.blind() {
		why = "without a load or throttle channel the log cannot tell it"
	}
	return fmt.Sprintf("The slope of the road is not logged and %s: ± %.0f %% of slope, as of ordinary roads, is allowed for under each pull%s; "+
		"drive both ways and record engine load to narrow it.", why, 100*slope, left)
}

// slopeLeft is the usual standard deviation of the slope under the pulls, and as a share of their torque; without pulls ok is false.
func (j *judge) slopeLeft() (slope, share float64, ok bool) {
	var slopes, shares []float64
	f := j.force
	for _, p := range j.out.Pulls {
		if p.PeakTorque == nil || p.PeakTorque.Value <= 0 {
			continue
		}
		r := j.records[p.Input]
		i := min(r.Track.Len()-1, sort.SearchFloat64s(r.Track.T, (p.Start+p.End)/2))
		sd := r.SlopeError(i)
		slopes = append(slopes, sd)
		shares = append(shares, sd*f.Vehicle.Mass*vehicle.Gravity*f.Arm(p.Gear)/p.PeakTorque.Value)
	}
	if len(slopes) == 0 {
		return vehicle.UsualSlopeSD, math.NaN(), false
	}
	return stats.Median(slopes), stats.Median(shares), true
}
