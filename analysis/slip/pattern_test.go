package slip

import (
	"testing"

	"flywitness/analysis/detect"
	"flywitness/analysis/stats"
	"flywitness/vehicle"
)

// slid is a slip of 3 s that began at a time with a torque (N m; 0: not known).
func slid(gear int, at, torque float64) Event {
	e := Event{Start: at, End: at + 3, Gear: gear, Kind: detect.KindSlip, PeakSlip: 10}
	if torque > 0 {
		e.OnsetTorque = stats.Normal(torque, 5)
	}
	return e
}

// The torque at which a clutch lets go falls as it gets hot: over four slips, by more than chance and by more than
// a twentieth.
func TestOnsetThatFallsWithHeat(t *testing.T) {
	for _, c := range []struct {
		what    string
		torques []float64
		want    bool
	}{
		{"210 to 180", []float64{210, 199, 191, 180}, true},
		{"210 to 190", []float64{210, 204, 196, 190}, true}, // a tenth
		{"210 to 205", []float64{210, 208, 207, 205}, false},
		{"three slips", []float64{210, 195, 180}, false},
		{"five slips, a straight line", []float64{210, 200, 190, 180, 170}, true},
		{"up", []float64{180, 190, 200, 210}, false},
		// by hand: slope -4, mean square left gives r^2 = 0.25, t = 1.0 of three degrees of freedom: one in five
		// by chance
		{"up and down", []float64{200, 170, 205, 165, 190}, false},
		// t = 2.11 of two degrees of freedom: 0.085
		{"one in twelve by chance", []float64{210, 180, 190, 170}, false},
	} {
		var events []Event
		for i, x := range c.torques {
			events = append(events, slid(4, float64(100*i), x))
		}
		if falling(events) != c.want {
			t.Errorf("%s: falling %v", c.what, !c.want)
		}
	}
}

// The patterns by what they rest on.
func TestPatterns(t *testing.T) {
	shift := func(end float64) Engagement { return Engagement{Start: end - 0.6, End: end, Kind: "upshift", Gear: 3} }
	long := Pull{Start: 200, End: 208, Verdict: Holds}
	for _, c := range []struct {
		what        string
		events      []Event
		engagements []Engagement
		pulls       []Pull
		rating      float64
		want        Pattern
	}{
		{"twice, near its torque", []Event{slid(3, 100, 200), slid(4, 300, 205)}, nil,
			[]Pull{{PeakTorque: stats.Normal(220, 5)}}, 0, AboveTorque},
		{"once", []Event{slid(3, 100, 200)}, nil, nil, 0, ""},
		{"after changes of gear alone", []Event{slid(3, 102, 200), slid(3, 302, 200)}, []Engagement{shift(100),
			shift(300)}, []Pull{long}, 0, AfterShifts},
		{"five seconds after changes of gear", []Event{slid(3, 105, 200), slid(3, 305, 200)}, []Engagement{shift(100),
			shift(300)}, []Pull{long}, 0, AboveTorque},
		{"after changes of gear, no long pull held", []Event{slid(3, 102, 200), slid(3, 302, 200)},
			[]Engagement{shift(100), shift(300)}, nil, 0, AboveTorque},
		{"after changes of gear, ten seconds held", []Event{slid(3, 102, 200), slid(3, 302, 200)},
			[]Engagement{shift(100), shift(300)},
			[]Pull{{Start: 200, End: 210, Verdict: Holds}}, 0, AfterShifts},
		{"low in two gears", []Event{slid(3, 100, 100), slid(4, 300, 110)}, nil, []Pull{{PeakTorque: stats.Normal(220,
			5)}}, 0, Everywhere},
		{"low in one gear", []Event{slid(4, 100, 100), slid(4, 300, 110)}, nil, []Pull{{PeakTorque: stats.Normal(220,
			5)}}, 0, AboveTorque},
		{"far below the rating", []Event{slid(3, 100, 100), slid(4, 300, 110)}, nil, nil, 250, Everywhere},
		{"hotter each time", []Event{slid(4, 100, 210), slid(4, 200, 199), slid(4, 300, 191), slid(4, 400, 180)}, nil,
			[]Pull{{PeakTorque: stats.Normal(220, 5)}}, 0, WithHeat},
	} {
		j := empty()
		j.out.Events, j.out.Engagements, j.out.Pulls = c.events, c.engagements, c.pulls
		if c.rating > 0 {
			j.veh = &vehicle.Vehicle{Clutch: &vehicle.Clutch{TorqueRating: c.rating}}
		}
		j.pattern()
		if j.out.Pattern != c.want || (c.want == "") != (len(j.out.LikelyCauses) == 0) {
			t.Errorf("%s: %q, causes %v", c.what, j.out.Pattern, j.out.LikelyCauses)
		}
	}
}
