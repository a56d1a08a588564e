package analysis

import (
	"testing"
	"time"

	"flywitness/analysis/compare"
	"flywitness/analysis/detect"
	"flywitness/analysis/fleet"
	"flywitness/analysis/slip"
)

// A clutch that was driven 100 of the 500 km that its maker asks for is bedding in, on the after side alone; one that
// was driven further, or of which nothing is told, is not.
func TestTheFleetIsToldOfAClutchThatBedsIn(t *testing.T) {
	km := func(x float64) *float64 { return &x }
	for _, c := range []struct {
		driven *float64
		want   bool
	}{{km(100), true}, {km(700), false}, {nil, false}} {
		r := &Result{Compare: &compare.Finding{}, Job: &JobInfo{KmSinceFitted: c.driven, BedInKm: km(500)}}
		for _, side := range []string{fleet.Before, fleet.After} {
			in := Input{Side: side}
			in.Created = "2026-03-02T09:00:00Z"
			r.Inputs = append(r.Inputs, in)
		}
		e, err := FleetEntries(r, "car")
		if err != nil || len(e) != 2 {
			t.Fatal(e, err)
		}
		if e[0].BeddingIn || e[1].BeddingIn != c.want {
			t.Errorf("driven %v km: bedding in before %v, after %v", c.driven, e[0].BeddingIn, e[1].BeddingIn)
		}
	}
}

// Recordings of most loggers do not say on which day they were made: the job file's day stands in, the drive
// before the work first. The most slip is that of the clutch, not that of a tyre.
func TestTheDayOfTheJobAndTheMostSlip(t *testing.T) {
	least := 3.7
	slipped := &slip.Finding{Verdict: slip.Slips, Events: []slip.Event{{Kind: detect.KindSlip, PeakSlip: 12},
		{Kind: detect.KindSlip, PeakSlip: 23}, {Kind: "wheelspin", PeakSlip: 60}}}
	for text, day := range map[string]string{"2026-03-27": "2026-03-27", "27 March 2026": "2026-03-27",
		"March 27, 2026": "2026-03-27", "27.3.2026": "2026-03-27", "last week": ""} {
		r := &Result{Compare: &compare.Finding{SlipBefore: slipped,
			SlipAfter: &slip.Finding{Verdict: slip.Holds, SmallestDetectable: &least}},
			Job: &JobInfo{Date: text}, Inputs: []Input{{Side: fleet.Before}, {Side: fleet.After}}}
		e, err := FleetEntries(r, "car")
		if day == "" {
			if err == nil {
				t.Errorf("%q is taken as a day", text)
			}
			continue
		}
		if err != nil || len(e) != 2 || e[0].Time.Format(time.DateOnly) != day || !e[0].Time.Before(e[1].Time) {
			t.Fatalf("%q: %+v %v", text, e, err)
		}
		if e[0].MostSlip == nil || *e[0].MostSlip != 23 || e[1].MostSlip != nil || e[1].Smallest == nil ||
			*e[1].Smallest != least {
			t.Errorf("slip %+v", e)
		}
	}
}
