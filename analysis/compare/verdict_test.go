package compare

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"flywitness/analysis/inertia"
	"flywitness/analysis/inertia/testcar"
	"flywitness/analysis/promise"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/vehicle"
)

// pair compares n free revs a session and side; the drag of a session is off by session (sd, relative).
func pair(before, after float64, sessions, n int, session float64, number uint64, opt Options) *Finding {
	rng := seeded(number, 3)
	side := func(i float64) Side {
		s := Side{}
		for range sessions {
			one := revs(stand(i), n, 4800, 0.015, testcar.Jitter(rng, session), testcar.CANOne, rng)
			s.Logs = append(s.Logs, one.Logs...)
		}
		s.Inertia, _ = inertia.Measure(s.Logs, nil, nil, inertia.Options{})
		return s
	}
	f, _ := Compare(side(before), side(after), opt)
	return f
}

// Practice: with one session a side and no evidence of its own drag a change below about 15 % is inconclusive,
// and a large one is not.
func TestOneSessionShowsLargeChangesOnly(t *testing.T) {
	for number := range uint64(5) {
		if f := pair(0.22, 0.205, 1, 6, 0, number, Options{}); f.Verdict != Inconclusive || len(f.WhatToDrive) == 0 {
			t.Errorf("7 %% less: %s (%s), what to drive %q", f.Verdict, f.Reason, f.WhatToDrive)
		}
		if f := pair(0.22, 0.16, 1, 6, 0, number, Options{}); f.Verdict != Reduced {
			t.Errorf("27 %% less: %s (%s)", f.Verdict, f.Reason)
		}
		if f := pair(0.16, 0.22, 1, 6, 0, number, Options{}); f.Verdict != Increased {
			t.Errorf("37 %% more: %s (%s)", f.Verdict, f.Reason)
		}
	}
	f := pair(0.22, 0.19, 1, 6, 0, 1, Options{})
	if d := *f.SmallestDetectable; d < 12 || d > 18 {
		t.Errorf("smallest detectable change %.1f %%, want about 15", d)
	}
	if c := pair(0.22, 0.19, 1, 6, 0, 1, Options{Checklist: true}); *c.SmallestDetectable > 0.65**f.SmallestDetectable {
		t.Errorf("with the checklist %.1f %%, without %.1f %%", *c.SmallestDetectable, *f.SmallestDetectable)
	}
}

// Several sessions that agree carry a small change and, with enough of them, no change.
func TestSessionsSpeakForThemselves(t *testing.T) {
	if f := pair(0.22, 0.198, 3, 6, 0.01, 4, Options{}); f.Verdict != Reduced {
		t.Errorf("10 %% less in three sessions a side: %s (%s)", f.Verdict, f.Reason)
	}
	if f := pair(0.22, 0.22, 5, 5, 0.005, 5, Options{}); f.Verdict != NoChange || *f.ChangeBelow > 3.1 {
		t.Errorf("no change in five sessions a side: %s (%s)", f.Verdict, f.Reason)
	}
}

func TestOtherCarOrTuneIsNotCompared(t *testing.T) {
	header := func(s Side, key, value string) Side {
		l := *s.Logs[0]
		l.Header = append(l.Header, drive.Field{Key: key, Value: value})
		s.Logs = []*drive.Log{&l}
		return s
	}
	rng := seeded(1, 9)
	b, a := revs(stand(0.22), 6, 4800, 0.01, 1, testcar.CANOne, rng),
		revs(stand(0.16), 6, 4800, 0.01, 1, testcar.CANOne, rng)
	for _, c := range []struct{ key, before, after, says string }{
		{"vin", "TESTCAR0000000001", "TESTCAR0000000002", "different cars"},
		{"calibration_id", "CAL-1", "CAL-2", "calibration"},
		{"distance_since_cleared_km", "900", "12", "12 km after a reset"},
	} {
		f, w := Compare(header(b, c.key, c.before), header(a, c.key, c.after), Options{})
		if f.Verdict != Inconclusive || !strings.Contains(f.Reason.String(), c.says) {
			t.Errorf("%s: %s (%s)", c.key, f.Verdict, f.Reason)
		}
		if len(w) == 0 {
			t.Errorf("%s: no warning", c.key)
		}
	}
	// The bench evidence carries it where the free revs may not.
	f, _ := Compare(header(b, "calibration_id", "A"), header(a, "calibration_id", "B"),
		Options{Parts: []KnownPart{{Name: "flywheel", Before: 0.15, After: 0.09, ChangeSD: 0.002}}})
	if f.Change == nil || math.Abs(f.Change.Value+0.06) > 0.001 {
		t.Errorf("the known part gives no change: %+v", f.Change)
	}
	foot, off := true, false
	b.FootOnClutch, a.FootOnClutch = &foot, &off
	if f, _ := Compare(b, a, Options{}); f.Verdict != Inconclusive || !strings.Contains(f.Reason.String(), "clutch") {
		t.Errorf("foot on one side only: %s (%s)", f.Verdict, f.Reason)
	}
}

// A foot that was on the clutch on one side alone makes a change of some per cent: that is said where nobody told. It
// makes no change of a quarter.
func TestFootThatNobodyToldOf(t *testing.T) {
	off := false
	for _, c := range []struct {
		lo, hi float64
		foot   *bool
		warns  int
	}{{1.05, 1.15, nil, 1}, {0.86, 0.95, nil, 1}, {1.05, 1.15, &off, 0}, {1.2, 1.3, nil, 0}} {
		x := &comparison{before: Side{FootOnClutch: &off}, after: Side{FootOnClutch: c.foot}}
		if x.mindFoot(c.lo, c.hi); len(x.warnings) != c.warns {
			t.Errorf("a ratio of %.2f to %.2f: %v", c.lo, c.hi, x.warnings)
		}
	}
	rng := seeded(1, 9)
	f, w := Compare(revs(stand(0.22), 9, 4800, 0.002, 1, testcar.CANOne, rng), revs(stand(0.18), 9, 4800, 0.002, 1, testcar.CANOne, rng),
		Options{})
	if told := strings.Contains(fmt.Sprint(w), "foot was on the clutch"); f.Verdict != Reduced || !told {
		t.Errorf("%s (%s), told %v", f.Verdict, f.Reason, told)
	}
}

// Oil that is 20 K warmer after the job takes about 8 % off the drag, which looks like more inertia; the
// thermometer takes most of that back.
func TestTemperatureIsCorrected(t *testing.T) {
	rng := seeded(2, 9)
	link := testcar.CANMulti
	link.Poll = []string{drive.EngineSpeed, drive.EngineSpeed, drive.EngineSpeed, drive.OilTemp}
	link.Oil = 70
	b := revs(stand(0.22), 8, 5000, 0.01, 1, link, rng)
	link.Oil = 90
	a := revs(stand(0.17), 8, 5000, 0.01, 0.92, link, rng)
	f, w := Compare(b, a, Options{})
	if got := math.Log(f.Ratio.Value); math.Abs(got-math.Log(0.22/0.17)) > 0.03 {
		t.Errorf("ln ratio %.3f, want %.3f", got, math.Log(0.22/0.17))
	}
	if !strings.Contains(fmt.Sprint(w), "corrected") {
		t.Errorf("no word of the correction: %v", w)
	}
}

// Oil that differs by 6 K is told, by one it is not: no thermometer of a car tells that.
func TestTemperatureThatIsTold(t *testing.T) {
	for kelvin, told := range map[float64]bool{6: true, 1: false} {
		rng := seeded(2, 9)
		link := testcar.CANMulti
		link.Poll = []string{drive.EngineSpeed, drive.EngineSpeed, drive.EngineSpeed, drive.OilTemp}
		link.Oil = 80
		b := revs(stand(0.22), 6, 5000, 0.01, 1, link, rng)
		link.Oil = 80 + kelvin
		_, w := Compare(b, revs(stand(0.17), 6, 5000, 0.01, 1, link, rng), Options{})
		if got := strings.Contains(fmt.Sprint(w), "corrected"); got != told {
			t.Errorf("%.0f K: told %v: %v", kelvin, got, w)
		}
	}
}

// Whatever is missing, there is a reason, nothing is NaN, and the result can be written.
func TestMissingPartsNeverBreakIt(t *testing.T) {
	full := revs(stand(0.22), 6, 4800, 0.01, 1, testcar.CANOne, seeded(3, 9))
	empty := &inertia.Finding{}
	sides := []Side{{}, {Inertia: empty}, full, {Inertia: full.Inertia}, {Logs: []*drive.Log{{}}, Inertia: empty}}
	for i, b := range sides {
		for j, a := range sides {
			f, _ := Compare(b, a, Options{Claim: &promise.Promise{Kind: promise.Mass, Amount: 95, Gear: 1}})
			if _, err := json.Marshal(f); err != nil {
				t.Errorf("%d and %d: %v", i, j, err)
			}
			if f.Reason.String() == "" || f.Claim == nil || f.Claim.Verdict != "cannot_tell" {
				t.Errorf("%d and %d: %q, claim %+v", i, j, f.Reason, f.Claim)
			}
		}
	}
}

// Two sittings of a diesel differ by 3.9 % with the checklist and by 7.5 % without, those of a petrol engine by 2.8
// and 5.7 % (handbook knowledge from memory): a sitting carries that over the root of two. The comparison of the same
// logs is wider for a diesel by just that, and alike to the byte where the fuel is petrol or not told.
func TestDieselsDifferMoreFromSittingToSitting(t *testing.T) {
	for _, row := range []struct {
		checklist, diesel bool
		apart             float64
	}{{true, false, 0.0283}, {false, false, 0.0566}, {true, true, 0.039}, {false, true, 0.075}} {
		if u := SessionSpread(row.checklist, row.diesel); math.Abs(u*math.Sqrt2/row.apart-1) > 0.02 {
			t.Errorf("%+v: two sittings differ by %.4f", row, u*math.Sqrt2)
		}
	}
	width := map[string]float64{}
	told := map[string]string{}
	for _, fuel := range []string{"", "petrol", "diesel"} {
		rng := seeded(8, 3)
		var sides [2]Side
		for k := range sides {
			sides[k] = revs(stand(0.2), 8, 4800, 0.015, testcar.Jitter(rng, 0), testcar.CANOne, rng)
			sides[k].Inertia, _ = inertia.Measure(sides[k].Logs, nil, nil, inertia.Options{})
			sides[k].Vehicle = &vehicle.Vehicle{Engine: vehicle.Engine{Fuel: fuel}}
		}
		f, _ := Compare(sides[0], sides[1], Options{Checklist: true})
		width[fuel] = math.Log(f.Ratio.CI95[1] / f.Ratio.CI95[0])
		b, _ := json.Marshal(f)
		told[fuel] = string(b)
	}
	if told[""] != told["petrol"] {
		t.Error("petrol and an unknown fuel are told apart")
	}
	// The spread of the sittings is nearly all of the interval: 2.8 over 2 %, less what the runs add.
	if r := width["diesel"] / width["petrol"]; r < 1.2 || r > 1.4 {
		t.Errorf("a diesel's interval is %.2f times as wide", r)
	}
}

// As many free revs are asked for as their scatter needs: two samples that differ by ln 1.1 are told apart with a power of
// 80 % by 2 (1.96 + 0.84)^2 (scatter / ln 1.1)^2 a side, and one more. Never fewer than six: five are recommended, and
// one is lost.
func TestHowManyRevsAreAskedFor(t *testing.T) {
	const runs = 5.0
	for _, scatter := range []float64{0.002, 0.07, 0.15} {
		want := math.Max(6, 1+2*2.8*2.8*math.Pow(scatter/math.Log(1.1), 2))
		weight := runs / (scatter * scatter)
		c := &comparison{finding: &Finding{}, answer: &answer{}, ratio: &ratio{runs: make([]*inertia.Run, 2*runs), variance: 1,
			groups: &stats.Groups{Scale: 1, Weight: []float64{weight, weight}}}}
		c.adviseMore()
		got := -1.0
		if len(c.finding.WhatToDrive) == 1 {
			_, _ = fmt.Sscanf(c.finding.WhatToDrive[0].String(), "%f free revs", &got)
		}
		if math.Abs(got-want) > 1 {
			t.Errorf("a scatter of %.3f: %v, want %.1f revs", scatter, c.finding.WhatToDrive, want)
		}
	}
}
