package slip

import (
	"math"
	"slices"

	"flywitness/analysis/detect"
	"flywitness/finding"
)

// Pattern is how a clutch slips.
type Pattern string

// The patterns.
const (
	AboveTorque Pattern = "above_torque" // above a torque only
	Everywhere  Pattern = "everywhere"
	WithHeat    Pattern = "with_heat"    // growing with heat
	AfterShifts Pattern = "after_shifts" // after shifts only
	Unclear     Pattern = "unclear"      // the pulls fit more than one of them
)

// causes of each pattern, the likeliest first. Common practice, no source.
var causes = map[Pattern][]finding.Code{
	AboveTorque: {finding.ClampTooLow, finding.LiningWorn},
	Everywhere:  {finding.Contamination, finding.NotLetGo, finding.WornToRivets},
	WithHeat:    {finding.LiningFades, finding.HeatSoaked},
	AfterShifts: {finding.SlowEngagement, finding.FootRests},
}

const (
	fewestSlips = 2   // that make a pattern
	lowShare    = 0.6 // of the torque that the car puts through the clutch, below which slip is no matter of capacity
	// nats by which one explanation must be likelier than each other: ten to one. Less: nobody can tell which
	patternLead = math.Ln10
)

// pattern names how the clutch slips and what is likely behind it: by the sure slips, since one that is none moves the
// torque from which slip is looked for.
func (j *judge) pattern() {
	var events []Event
	for i, e := range j.out.Events {
		if e.Kind == detect.KindSlip && j.events[i].sure {
			events = append(events, e)
		}
	}
	if len(events) < fewestSlips {
		return
	}
	may := explain(j.trials())
	if i := slices.Index(may, AboveTorque); i >= 0 && j.lowEverywhere(events) {
		may[i] = Everywhere
	}
	if len(may) == 1 && may[0] != Unclear {
		j.out.Pattern = may[0]
		j.blame(causes[may[0]])
		return
	}
	j.out.Pattern = Unclear
	j.advise(finding.New(finding.OneCoolPull))
	for _, p := range may {
		if p != Unclear {
			j.blame(causes[p][:1])
		}
	}
}

// blame names causes, each with what is known of it.
func (j *judge) blame(codes []finding.Code) {
	o := j.out
	for _, c := range codes {
		f := finding.New(c)
		if c == finding.ClampTooLow && o.OnsetTorque != nil {
			f.Values = append(f.Values, finding.Torque("onset", o.OnsetTorque.Value))
		}
		o.LikelyCauses = append(o.LikelyCauses, finding.Say(f))
	}
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
