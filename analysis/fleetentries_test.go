package analysis

import (
	"testing"

	"flywitness/analysis/compare"
	"flywitness/analysis/fleet"
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
