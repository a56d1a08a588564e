package slip

import (
	"math"

	"flywitness/analysis/detect"
	"flywitness/finding"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Pattern is how a clutch slips.
type Pattern string

// The patterns.
const (
	AboveTorque Pattern = "above_torque" // above a torque only
	Everywhere  Pattern = "everywhere"
	WithHeat    Pattern = "with_heat"    // growing with heat
	AfterShifts Pattern = "after_shifts" // after shifts only
)

// causes of each pattern, the likeliest first. Common practice, no source.
var causes = map[Pattern][]finding.Code{
	AboveTorque: {finding.ClampTooLow, finding.LiningWorn},
	Everywhere:  {finding.Contamination, finding.NotLetGo, finding.WornToRivets},
	WithHeat:    {finding.LiningFades, finding.HeatSoaked},
	AfterShifts: {finding.SlowEngagement, finding.FootRests},
}

const (
	shiftNear  = 3.0  // s after a gear change that an event belongs to it
	lowShare   = 0.6  // of the torque that the car puts through the clutch, below which slip is no matter of capacity
	heatFall   = 0.05 // relative fall of the onset torque over the events
	heatP      = 0.05
	heatEvents = 4
)

// pattern names how the clutch slips and what is likely behind it.
func (j *judge) pattern() {
	var events []Event
	for _, e := range j.out.Events {
		if e.Kind == detect.KindSlip {
			events = append(events, e)
		}
	}
	o := j.out
	switch {
	case len(events) >= 2 && j.allAfterShifts(events):
		o.Pattern = AfterShifts
	case len(events) >= 2 && j.lowEverywhere(events):
		o.Pattern = Everywhere
	case falling(events):
		o.Pattern = WithHeat
	case len(events) >= 2:
		o.Pattern = AboveTorque
	default:
		return
	}
	for _, c := range causes[o.Pattern] {
		f := finding.New(c)
		if c == finding.ClampTooLow && o.OnsetTorque != nil {
			f.Values = append(f.Values, finding.Torque("onset", o.OnsetTorque.Value))
		}
		o.LikelyCauses = append(o.LikelyCauses, finding.Say(f))
	}
}

// allAfterShifts tells whether each event began soon after an engagement, while there were pulls long after one
// that held.
func (j *judge) allAfterShifts(events []Event) bool {
	for _, e := range events {
		near := false
		for _, g := range j.out.Engagements {
			near = near || g.Input == e.Input && e.Start >= g.Start && e.Start-g.End < shiftNear
		}
		if !near {
			return false
		}
	}
	for _, p := range j.out.Pulls {
		if p.Verdict == Holds && p.End-p.Start > 2*shiftNear {
			return true
		}
	}
	return false
}

// lowEverywhere tells whether the clutch slips in two gears at least, far below the torque that the car puts
// through it at most, or far below its rating.
func (j *judge) lowEverywhere(events []Event) bool {
	most := 0.0
	if j.veh != nil && j.veh.Clutch != nil {
		most = j.veh.Clutch.TorqueRating
	}
	for _, p := range j.out.Pulls {
		if p.PeakTorque != nil {
			most = math.Max(most, p.PeakTorque.Value)
		}
	}
	gears, low := map[int]bool{}, 0
	for _, e := range events {
		if e.OnsetTorque != nil && e.OnsetTorque.Value < lowShare*most {
			gears[e.Gear] = true
			low++
		}
	}
	return len(gears) >= 2 && 2*low > len(events)
}

// falling tells whether the torque at which the clutch lets go falls from event to event, by a straight line
// through their order: the clutch gets hotter with each.
func falling(events []Event) bool {
	var x, y []float64
	for _, e := range events {
		if e.OnsetTorque != nil {
			x, y = append(x, float64(len(x))), append(y, e.OnsetTorque.Value)
		}
	}
	n := float64(len(x))
	if n < heatEvents {
		return false
	}
	a, b := stat.LinearRegression(x, y, nil, false)
	if b >= 0 || -b*(n-1) < heatFall*a {
		return false
	}
	r2 := stat.RSquared(x, y, nil, a, b)
	if r2 >= 1 {
		return true
	}
	t := math.Sqrt(r2 * (n - 2) / (1 - r2))
	return distuv.StudentsT{Sigma: 1, Nu: n - 2}.Survival(t) < heatP
}
