package slip

import (
	"math"
	"testing"

	"flywitness/analysis/detect"
	"flywitness/analysis/stats"
	"flywitness/vehicle"
)

// slid is a slip of 3 s that began at a time with a torque (N m).
func slid(gear int, at, torque float64) Event {
	return Event{Start: at, End: at + 3, Gear: gear, Kind: detect.KindSlip, PeakSlip: 10,
		OnsetTorque: stats.Normal(torque, 5)}
}

// tried is a slip from a torque on, or a pull that held it, so long after a gear change, with so much heat put in
// just before.
func tried(torque float64, slipped bool, since, heat float64) trial {
	return trial{torque: torque, slipped: slipped, since: since, heat: []heatPut{{heat, 5}}}
}

// What explains slips and pulls that held, by what each explanation says of them.
func TestExplanationsOfSlip(t *testing.T) {
	const far = 60.0
	slip := func(torque, since, heat float64) trial { return tried(torque, true, since, heat) }
	held := func(torque, since, heat float64) trial { return tried(torque, false, since, heat) }
	onSlopes := func(trials ...trial) []trial {
		for i := range trials {
			trials[i].error = 50
		}
		return trials
	}
	for _, c := range []struct {
		what   string
		trials []trial
		want   Pattern
	}{
		{"at one torque, held below it", []trial{slip(200, far, 1), slip(204, far, 1), slip(197, 2, 1),
			held(180, far, 1), held(170, 2, 1), held(185, far, 1)}, AboveTorque},
		{"at any torque, only beside gear changes, while more was held elsewhere", []trial{slip(90, 1, 1),
			slip(150, 1, 1), slip(120, 2, 1), slip(200, 1, 1), slip(70, 1, 1), held(210, far, 1), held(200, far, 1),
			held(205, far, 1), held(190, far, 1), held(180, far, 1), held(210, far, 1)}, AfterShifts},
		{"the same, six seconds after them", []trial{slip(90, 6, 1), slip(150, 6, 1), slip(120, 6, 1), slip(200, 6, 1),
			slip(70, 6, 1), held(210, far, 1), held(200, far, 1), held(205, far, 1), held(190, far, 1), held(180, far, 1),
			held(210, far, 1)}, Unclear},
		{"lower, the hotter", []trial{slip(200, far, 0), slip(180, far, 2e4), slip(160, far, 4e4),
			slip(140, far, 6e4), slip(120, far, 8e4), held(190, far, 0), held(170, far, 2e4)}, WithHeat},
		{"lower, the hotter, by as much as slopes make", onSlopes(slip(200, far, 0), slip(180, far, 2e4), slip(160, far, 4e4),
			slip(140, far, 6e4), slip(120, far, 8e4), held(190, far, 0), held(170, far, 2e4)), Unclear},
		{"as far apart, whatever the heat", []trial{slip(200, far, 4e4), slip(150, far, 0), slip(90, far, 8e4),
			slip(70, far, 0), slip(110, far, 6e4), held(190, far, 8e4), held(170, far, 4e4), held(190, far, 0)}, Unclear},
		{"by chance: more was held as often", []trial{slip(100, far, 1), slip(190, far, 1), slip(140, far, 1),
			held(200, far, 1), held(190, 2, 1), held(180, far, 1), held(200, 2, 1)}, Unclear},
		{"nothing known", nil, Unclear},
	} {
		got := explain(c.trials)
		if unclear := len(got) > 1 || got[0] == Unclear; unclear != (c.want == Unclear) || !unclear && got[0] != c.want {
			t.Errorf("%s: %q, want %q", c.what, got, c.want)
		}
	}
}

// A lining that its own slip heats keeps less of its hold. Four slips, each read to 0.1, are read to 0.05 together.
//
//	0.98: fading (Phi(0.4)-Phi(-9.6))/0.5 = 1.31; dry (Phi(0.4)-Phi(-1.2))/0.08 = (0.655-0.115)/0.08 = 6.75, oily
//	0.655/0.2 = 3.28; ln((0.02+0.98 1.31)/(0.02+0.98 6.75)) = -1.63, and -0.91
//	0.75: fading 2; dry (1-Phi(3.4))/0.08 = 0.0042, oily (1-Phi(1))/0.2 = 0.793; ln(1.98/0.0241) = 4.41, and
//	ln(1.98/0.797) = 0.91
func TestHoldThatIsLostAsItSlides(t *testing.T) {
	for _, c := range []struct{ kept, dry, oily float64 }{{0.98, -1.63, -0.91}, {0.75, 4.41, 0.91}} {
		var trials []trial
		for range 4 {
			trials = append(trials, trial{slipped: true, kept: stats.Normal(c.kept, 0.1)}, trial{})
		}
		dry, oily := fades(trials, dryKeeps), fades(trials, oilyKeeps)
		if math.Abs(dry-c.dry) > 0.02 || math.Abs(oily-c.oily) > 0.02 {
			t.Errorf("%.2f kept: %.3f nats dry and %.3f oily, by hand %.2f and %.2f", c.kept, dry, oily, c.dry, c.oily)
		}
	}
	if got := fades([]trial{{slipped: true}}, dryKeeps); got != 0 {
		t.Errorf("nothing read: %.2f nats", got)
	}
}

// A mean of likelihoods, by hand: of 1 and e it is 1.859, whose logarithm is 0.620.
func TestMeanOfLikelihoods(t *testing.T) {
	if got := mean([]float64{0, 1}); math.Abs(got-0.620) > 0.001 {
		t.Errorf("%.4f", got)
	}
}

// The name of a pattern, and what is blamed and advised.
func TestPatterns(t *testing.T) {
	held := func(torque float64, n int) (out []Pull) {
		for i := range n {
			out = append(out, Pull{Start: 1000 + 100*float64(i), Verdict: Holds, PeakTorque: stats.Normal(torque, 5)})
		}
		return out
	}
	for _, c := range []struct {
		what   string
		events []Event
		pulls  []Pull
		rating float64
		want   Pattern
		causes int
		advice int
	}{
		{"near its torque", []Event{slid(3, 100, 200), slid(4, 300, 205), slid(4, 500, 198)}, held(180, 4), 0,
			AboveTorque, 2, 0},
		{"once", []Event{slid(3, 100, 200)}, nil, 0, "", 0, 0},
		{"low in two gears", []Event{slid(3, 100, 100), slid(4, 300, 103), slid(4, 500, 98)},
			append(held(80, 4), Pull{PeakTorque: stats.Normal(220, 5)}), 0, Everywhere, 3, 0},
		{"low in one gear", []Event{slid(4, 100, 100), slid(4, 300, 103), slid(4, 500, 98)},
			append(held(80, 4), Pull{PeakTorque: stats.Normal(220, 5)}), 0, AboveTorque, 2, 0},
		{"far below the rating", []Event{slid(3, 100, 100), slid(4, 300, 103), slid(4, 500, 98)}, held(80, 4), 250,
			Everywhere, 3, 0},
		{"more was held as often", []Event{slid(3, 100, 150), slid(4, 300, 205), slid(4, 500, 90)}, held(210, 3), 0,
			Unclear, 0, 1},
	} {
		j := empty()
		j.out.Events, j.out.Pulls = c.events, c.pulls
		for _, e := range c.events {
			j.events = append(j.events, eventNote{sure: true, onset: e.OnsetTorque})
		}
		for _, p := range c.pulls {
			j.pulls = append(j.pulls, pullNote{torque: p.PeakTorque})
		}
		if c.rating > 0 {
			j.veh = &vehicle.Vehicle{Clutch: &vehicle.Clutch{TorqueRating: c.rating}}
		}
		j.pattern()
		if o := j.out; o.Pattern != c.want || len(o.LikelyCauses) != c.causes || len(o.WhatToDrive) != c.advice {
			t.Errorf("%s: %q, causes %v, advice %v", c.what, o.Pattern, o.LikelyCauses, o.WhatToDrive)
		}
	}
}
