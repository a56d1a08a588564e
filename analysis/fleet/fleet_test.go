package fleet

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"flywitness/analysis/stats"
	"flywitness/finding"
	"flywitness/internal/numbers"
)

var start = time.Date(2024, 3, 1, 9, 0, 0, 0, time.UTC)

func after(days int) time.Time { return start.AddDate(0, 0, days) }

func one(t *testing.T, now time.Time, list ...Entry) Vehicle {
	t.Helper()
	f := Judge(list, Options{Now: now})
	if len(f.Vehicles) != 1 {
		t.Fatalf("%d vehicles", len(f.Vehicles))
	}
	return f.Vehicles[0]
}

func codes(v Vehicle) string {
	var out []string
	for _, n := range v.Needs {
		out = append(out, string(n.Code))
	}
	return strings.Join(out, " ")
}

// The line is NumPy's, its p value SciPy's (testdata/reference.py).
func TestDriftIsTheWeightedLine(t *testing.T) {
	var cases []struct {
		Days      []int
		Value, SD []float64
		Slope, P  float64
		SlopeSD   float64 `json:"slope_sd"`
	}
	numbers.Read(t, "reference.json", &cases)
	for i, c := range cases {
		var list []Entry
		for k, d := range c.Days {
			list = append(list, Entry{Vehicle: "a", Job: fmt.Sprint(k), Side: After, Time: after(d),
				Inertia: stats.Normal(c.Value[k], c.SD[k])})
		}
		d := drift(list)
		if d == nil || math.Abs(d.PerYear.Value/c.Slope-1) > 1e-8 || math.Abs(d.PerYear.SD/c.SlopeSD-1) > 1e-8 ||
			math.Abs(d.P/c.P-1) > 1e-8 {
			t.Errorf("case %d: %+v %+v, want %+v", i, d, d.PerYear, c)
		}
		if d.Confirmed != (i == 1) {
			t.Errorf("case %d: confirmed %v", i, d.Confirmed)
		}
	}
}

// Healthy vehicles with honest intervals: the level of the alarm is kept. 4,000 vehicles at one in a thousand give 4
// by chance; 12 would be a fault (Poisson, p below 0.001).
func TestHealthyFleetIsLeftAlone(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 11))
	var list []Entry
	for v := range 4000 {
		for k := range 6 {
			sd := 0.004 + 0.008*rnd.Float64()
			held := 220 + 60*rnd.Float64() // as much as was driven
			list = append(list, Entry{Vehicle: fmt.Sprint(v), Job: fmt.Sprint(k), Side: After, Time: after(60 * k),
				Slip: "holds", Done: "x",
				Held: stats.Normal(held, 10), Inertia: stats.Normal(0.15+sd*rnd.NormFloat64(), sd)})
		}
	}
	f := Judge(list, Options{Now: after(320)})
	drifts, other := 0, 0
	for _, v := range f.Vehicles {
		for _, n := range v.Needs {
			if n.Code == finding.InertiaDrifts {
				drifts++
			} else {
				other++
			}
		}
	}
	if drifts > 11 || other > 0 || len(f.Vehicles) != 4000 || f.Jobs != 24000 {
		t.Errorf("%d healthy vehicles drift, %d need something else; %d vehicles, %d jobs", drifts, other, len(f.Vehicles),
			f.Jobs)
	}
}

func TestWorkIsNoDrift(t *testing.T) {
	var list []Entry
	for k := range 4 { // each job takes a third of the inertia off; between the jobs nothing changes
		i := 0.3 * math.Pow(0.67, float64(k))
		for n, side := range []string{Before, After} {
			list = append(list, Entry{Vehicle: "a", Job: fmt.Sprint(k), Side: side, Time: after(100*k + n), Slip: "holds",
				Inertia: stats.Normal(i*math.Pow(0.67, float64(n)), 0.003)})
		}
	}
	v := one(t, after(310), list...)
	if v.Drift != nil || v.Needs == nil || len(v.Needs) > 0 || v.Jobs != 4 {
		t.Errorf("%+v", v)
	}
	// Three checks after the last work, of the same parts, and something comes loose.
	for k := range 3 {
		list = append(list, Entry{Vehicle: "a", Job: fmt.Sprint("check ", k), Side: After, Time: after(320 + 100*k),
			Slip: "holds", Inertia: stats.Normal(0.0605*(1+0.1*float64(k+1)), 0.001)})
	}
	if v = one(t, after(600), list...); codes(v) != string(finding.InertiaDrifts) || !v.Needs[0].Urgent ||
		v.Drift.Jobs != 4 {
		t.Errorf("%s %+v", codes(v), v.Drift)
	}
	// Another thing done begins anew.
	for i := range list[len(list)-3:] {
		list[len(list)-3+i].Done = "another flywheel"
	}
	if v = one(t, after(600), list...); v.Drift == nil || v.Drift.Jobs != 3 {
		t.Errorf("%+v", v.Drift)
	}
}

func TestNeeds(t *testing.T) {
	holds := Entry{Vehicle: "a", Job: "1", Side: After, Time: after(0), Slip: "holds", Done: "clutch",
		Held: stats.Normal(280, 10)}
	for _, c := range []struct {
		name string
		now  int
		list []Entry
		want string
	}{
		{"holds", 10, []Entry{holds}, ""},
		{"a year later", 366, []Entry{holds}, string(finding.Overdue)},
		{"slips", 10, []Entry{{Slip: "slips", Onset: stats.Normal(180, 10)}}, string(finding.SlipsSince)},
		{"held before, slips now", 110, []Entry{holds, {Job: "2", Side: After, Done: "clutch", Time: after(100),
			Slip: "slips", Onset: stats.Normal(180, 10)}}, string(finding.LostCapacity)},
		{"held less before than it slips at now", 110, []Entry{holds,
			{Job: "2", Side: After, Done: "clutch", Time: after(100), Slip: "slips", Onset: stats.Normal(270, 10)}},
			string(finding.SlipsSince)},
		{"another clutch slips", 110, []Entry{holds, {Job: "2", Side: After, Done: "racing clutch", Time: after(100),
			Slip: "slips", Onset: stats.Normal(180, 10)}}, string(finding.SlipsSince)},
		{"driven more gently", 110, []Entry{holds, {Job: "2", Side: After, Done: "clutch", Time: after(100), Slip: "holds",
			Held: stats.Normal(120, 5)}}, ""},
		{"cannot tell", 10, []Entry{{Slip: "inconclusive"}}, string(finding.NotTold)},
		{"bedding in", 10, []Entry{{Slip: "inconclusive", BeddingIn: true}}, ""},
		{"bedded in", 40, []Entry{{Slip: "inconclusive", BeddingIn: true}}, string(finding.FullLoadDue)},
		{"bedded in, a year later", 400, []Entry{{Slip: "inconclusive", BeddingIn: true}}, string(finding.FullLoadDue) +
			" " + string(finding.Overdue)},
		{"slipped before the work", 10, []Entry{{Side: Before, Slip: "slips"}, {Side: After, Slip: "holds"}}, ""},
		{"clock of the recorder ahead", -5, []Entry{holds}, ""},
	} {
		for i := range c.list {
			e := &c.list[i]
			e.Vehicle = "a"
			if e.Time.IsZero() {
				e.Time = after(0)
			}
		}
		if v := one(t, after(c.now), c.list...); codes(v) != c.want {
			t.Errorf("%s: %q, want %q", c.name, codes(v), c.want)
		}
	}
}

func TestMarginAndOrder(t *testing.T) {
	rating := 340.0
	list := []Entry{
		{Vehicle: "c", Job: "1", Side: After, Time: after(0), Slip: "holds", Held: stats.Normal(282, 15), Rating: &rating},
		{Vehicle: "b", Job: "1", Side: After, Time: after(0), Slip: "inconclusive"},
		{Vehicle: "d", Job: "1", Side: After, Time: after(0), Slip: "slips", Rating: &rating},
		{Vehicle: "a", Job: "1", Side: After, Time: after(0), Slip: "slips"},
		{Vehicle: "a", Job: "1", Side: After, Time: after(0), Slip: "holds"}, // the same again, corrected
	}
	f := Judge(list, Options{Now: after(1)})
	var names []string
	for _, v := range f.Vehicles {
		names = append(names, v.Vehicle)
	}
	if !slices.Equal(names, []string{"d", "b", "a", "c"}) {
		t.Errorf("%v", names)
	}
	c := f.Vehicles[3]
	if m := c.Margin; m == nil || math.Abs(m.Value-282/340.) > 1e-12 ||
		math.Abs(m.CI95[1]-(282+1.959963984540054*15)/340) > 1e-12 || len(c.Why) > 0 {
		t.Errorf("%+v %s", c.Margin, c.Why)
	}
	for _, v := range f.Vehicles[:3] {
		if v.Margin != nil || len(v.Why) == 0 {
			t.Errorf("%s: %+v %q", v.Vehicle, v.Margin, v.Why)
		}
	}
}

// Numbers from a file or a database may be anything: the result stays one that JSON can hold.
func TestHostileNumbers(t *testing.T) {
	for _, x := range []float64{1e308, -1e308, 1e-308, 0, -1} {
		var list []Entry
		for k := range 4 {
			e := &stats.Estimate{Value: x / 4 * float64(1-k), SD: x, CI95: [2]float64{-x, x}}
			rating := 1e-300 * x
			list = append(list, Entry{Vehicle: "a", Job: fmt.Sprint(k), Side: After, Time: after(k), Slip: "slips",
				Rating: &rating, Held: e, Onset: e, Inertia: e})
		}
		if _, err := json.Marshal(Judge(list, Options{Now: after(9)})); err != nil {
			t.Errorf("%g: %v", x, err)
		}
	}
}

// Two values are no line, and a sure change of less than the equivalence margin is nobody's concern.
func TestSmallDrifts(t *testing.T) {
	measured := func(k int, value, sd float64) Entry {
		return Entry{Vehicle: "a", Job: fmt.Sprint(k), Side: After, Time: after(100 * k), Slip: "holds",
			Inertia: stats.Normal(value, sd)}
	}
	if d := drift([]Entry{measured(0, 0.15, 0.001), measured(1, 0.2, 0.001)}); d != nil {
		t.Errorf("two values: %+v", d)
	}
	small := []Entry{measured(0, 0.15, 1e-4), measured(1, 0.151, 1e-4), measured(2, 0.152, 1e-4),
		measured(3, 0.153, 1e-4)}
	if d := drift(small); d == nil || d.P > 1e-6 || d.Confirmed {
		t.Errorf("2 %%: %+v", d)
	}
}
