package slip_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/slip"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/numbers"
	"flywitness/sim"
	"flywitness/vehicle"
)

// Torque held and torque at which the clutch lets go are set against the rating and the engine's peak, and what
// follows is said.
func TestTorqueIsSetAgainstRatingAndPeak(t *testing.T) {
	numbers.Only(t)
	mule := sim.BenchMule()
	peak, _ := mule.Engine.PeakNm()
	type driven struct {
		logs   []*drive.Log
		tracks []*gearstate.Track
		cal    *calibrate.Calibration
	}
	drives := map[float64]driven{}
	for _, share := range []float64{1.5, 0.85} {
		rng := rand.New(rand.NewPCG(1, 7))
		d := driven{logs: []*drive.Log{sim.NewLogger(sim.CANMulti).Record(sim.Drive(weak(share), sim.LevelRoad(), pulls(4),
			rng), rng)}}
		d.cal, _ = calibrate.Learn(d.logs, mule.Vehicle)
		d.tracks = []*gearstate.Track{d.cal.Decode(d.logs[0])}
		drives[share] = d
	}
	for _, c := range []struct {
		share, rating, peak float64 // capacity over the engine's peak, N m, N m; 0: not known
		verdict             slip.Verdict
		says                []string
		warns, silent       []finding.Code
	}{
		{1.5, 0, 0, slip.Holds, nil, nil, []finding.Code{finding.RatingNotTested, finding.PeakNotTested,
			finding.SlipsBelowRating}},
		{1.5, 260, 0, slip.Holds, []string{"The torque held is", "% of the clutch's rating of 260 N m"}, nil,
			[]finding.Code{finding.RatingNotTested}},
		{1.5, 400, 0, slip.Holds, []string{"rating of 400 N m"}, []finding.Code{finding.RatingNotTested},
			[]finding.Code{finding.PeakNotTested}},
		{1.5, 0, peak, slip.Holds, []string{fmt.Sprintf("of the engine's peak of %.0f N m", peak)}, nil,
			[]finding.Code{finding.PeakNotTested}},
		{1.5, 260, 350, slip.Holds, []string{"rating of 260 N m and", "peak of 350 N m"},
			[]finding.Code{finding.PeakNotTested}, []finding.Code{finding.RatingNotTested}},
		{0.85, 300, peak, slip.Slips, []string{"The torque at which it lets go is", "rating of 300 N m and"},
			[]finding.Code{finding.SlipsBelowRating}, []finding.Code{finding.PeakNotTested}},
		{0.85, 150, 0, slip.Slips, []string{"rating of 150 N m"}, nil, []finding.Code{finding.SlipsBelowRating}},
	} {
		v := *mule.Vehicle
		v.Engine.PeakTorque = c.peak
		if c.rating > 0 {
			v.Clutch = &vehicle.Clutch{TorqueRating: c.rating}
		}
		d := drives[c.share]
		f, warnings := slip.Judge(d.logs, d.tracks, &v, d.cal, slip.Options{})
		if f.Verdict != c.verdict {
			t.Fatalf("%+v: %s (%s)", c, f.Verdict, f.Reason)
		}
		for _, s := range c.says {
			if !strings.Contains(f.Reason.String(), s) {
				t.Errorf("rating %.0f, peak %.0f: reason %q does not say %q", c.rating, c.peak, f.Reason, s)
			}
		}
		if c.rating == 0 && strings.Contains(f.Reason.String(), "rating") || c.peak == 0 &&
			strings.Contains(f.Reason.String(), "peak") {
			t.Errorf("rating %.0f, peak %.0f: reason %q names what is not known", c.rating, c.peak, f.Reason)
		}
		for _, code := range c.warns {
			if !warned(warnings, code) {
				t.Errorf("rating %.0f, peak %.0f: no warning %s in %v", c.rating, c.peak, code, warnings)
			}
		}
		for _, code := range c.silent {
			if warned(warnings, code) {
				t.Errorf("rating %.0f, peak %.0f: warning %s in %v", c.rating, c.peak, code, warnings)
			}
		}
	}
}

func warned(warnings []finding.Finding, code finding.Code) bool {
	for _, w := range warnings {
		if w.Code == code {
			return true
		}
	}
	return false
}
