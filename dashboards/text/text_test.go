package text

import (
	"strings"
	"testing"

	"flywitness/analysis"
	"flywitness/analysis/compare"
	"flywitness/analysis/detect"
	"flywitness/analysis/inertia"
	"flywitness/analysis/slip"
	"flywitness/analysis/stats"
	"flywitness/dashboards/internal/sample"
	"flywitness/figure"
	"flywitness/finding"
)

func num(v float64) *float64 { return &v }

// told is a text that no code stands behind.
func told(s string) finding.Text { return finding.Say(finding.Told("", s)) }

func answer(t *testing.T, r *analysis.Result, u figure.Units, question string) Answer {
	t.Helper()
	for _, a := range Of(r, u).Answers {
		if strings.Contains(a.Question, question) {
			return a
		}
	}
	t.Fatalf("nothing answers %q", question)
	return Answer{}
}

func TestEveryVerdictHasItsSentence(t *testing.T) {
	for _, c := range []struct {
		name     string
		change   func(*analysis.Result)
		question string
		tone     Tone
		headline string
		says     []string
	}{
		{"holds", func(*analysis.Result) {}, "hold after", Good, "The clutch holds.", []string{"No slip in 4 pulls", "214 N m"}},
		{"holds without a reason", func(r *analysis.Result) { r.Compare.SlipAfter.Reason = nil }, "hold after", Good, "The clutch holds.", []string{"Carried at least 196 N m without slip (best estimate 214 N m) in 4 pulls", "anything above 1.3 % would have shown"}},
		{"one pull", func(r *analysis.Result) {
			r.Compare.SlipAfter.Reason, r.Compare.SlipAfter.Pulls = nil, r.Compare.SlipAfter.Pulls[:1]
		}, "hold after", Good, "The clutch holds.", []string{"in one single pull"}},
		{"slipped", func(*analysis.Result) {}, "hold before", Fact, "It slipped.", []string{"4 of 4 pulls", "began at 176 N m"}},
		{"slips", func(r *analysis.Result) { r.Compare.SlipAfter = sample.Slip(true) }, "hold after", Act, "The clutch slips.", []string{"4 of 4 pulls", "begins at 176 N m"}},
		{"cannot tell", func(r *analysis.Result) {
			*r.Compare.SlipAfter = slip.Finding{Verdict: slip.Inconclusive, Reason: told("no full-load pull in the log")}
		}, "hold after", Open, "Cannot tell whether the clutch slips.", []string{"No full-load pull in the log."}},
		{"reduced", func(*analysis.Result) {}, "rotating inertia", Good, "The rotating inertia fell by 23 %.", []string{"fall 30 % faster", "less than once in 1000"}},
		{"increased", func(r *analysis.Result) {
			r.Compare.Verdict, r.Compare.Ratio, r.Compare.Reason = compare.Increased, stats.Normal(0.8, 0.02), nil
		}, "rotating inertia", Act, "The rotating inertia rose by 25 %.", []string{"by 19 % to 31 %"}},
		{"no change", func(r *analysis.Result) {
			r.Compare.Verdict, r.Compare.Reason, r.Compare.ChangeBelow = compare.NoChange, nil, num(2.8)
		}, "rotating inertia", Fact, "The rotating inertia did not change.", []string{"Any change is smaller than 2.8 %."}},
		{"change not told", func(r *analysis.Result) {
			r.Compare.Verdict, r.Compare.Reason, r.Compare.ChangeBelow = compare.Inconclusive, told("one session a side"), num(14)
		}, "rotating inertia", Open, "Cannot tell whether the rotating inertia changed.", []string{"One session a side.", "smaller than 14 %"}},
		{"bound said once", func(r *analysis.Result) {
			r.Compare.Verdict, r.Compare.Reason, r.Compare.ChangeBelow = compare.Inconclusive,
				finding.Say(finding.New(finding.ChangeOpen, finding.Pct("less", 0), finding.Pct("more", 12), finding.Pct("below", 12))), num(12)
		}, "rotating inertia", Open, "Cannot tell whether the rotating inertia changed.", []string{"smaller than 12 %."}},
	} {
		r := sample.Job()
		c.change(r)
		a := answer(t, r, figure.Metric, c.question)
		if a.Tone != c.tone || a.Headline != c.headline {
			t.Errorf("%s: %s %q", c.name, a.Tone, a.Headline)
		}
		for _, s := range c.says {
			if !strings.Contains(a.Sentence, s) {
				t.Errorf("%s: %q does not say %q", c.name, a.Sentence, s)
			}
		}
	}
}

// A side alone is answered for itself, and says that a change is not, or no longer, known.
func TestOneSideAlone(t *testing.T) {
	r := sample.Job()
	r.Compare.Before, r.Compare.SlipBefore, r.Compare.Verdict, r.Compare.Ratio, r.Compare.Claim, r.Compare.Reason = nil, nil, compare.Inconclusive, nil, nil, nil
	if a := answer(t, r, figure.Metric, "change the rotating"); a.Headline != "A drive can no longer show that." || a.Tone != Open {
		t.Errorf("after only: %+v", a)
	}
	r = sample.Job()
	r.Compare.After, r.Compare.SlipAfter, r.Compare.Verdict, r.Compare.Claim = nil, nil, compare.Inconclusive, nil
	if a := answer(t, r, figure.Metric, "Does the clutch hold?"); a.Headline != "The clutch slips." {
		t.Errorf("before only: %+v", a)
	}
}

func TestUSUnits(t *testing.T) {
	// 1 N m = 1/1.3558179483 lbf ft, 1 kg = 1/0.45359237 lb: NIST SP 811, from memory. 214 N m = 158 lbf ft, 138 kg = 304 lb.
	r := sample.Job()
	var all strings.Builder
	for _, a := range Of(r, figure.US).Answers {
		all.WriteString(a.Headline + a.Sentence)
		for _, n := range a.Numbers {
			all.WriteString(n.Name + n.Value + "\n")
		}
	}
	for _, want := range []string{"158 ± 7 lbf ft", "lighter by 305 ± ", "lb ft²"} {
		if !strings.Contains(all.String(), want) {
			t.Errorf("no %q in %s", want, all.String())
		}
	}
	for _, bad := range []string{"N m", "km/h", " kg"} {
		if strings.Contains(all.String(), bad) {
			t.Errorf("%q in US units: %s", bad, all.String())
		}
	}
}

func hidden(pct float64) finding.Text {
	return finding.Say(finding.New(finding.SlipHidden, finding.Pct("slip", pct)))
}

func TestWhatWasNotUsedIsGrouped(t *testing.T) {
	r := &analysis.Result{Command: "slip", Slip: &slip.Finding{Pulls: []slip.Pull{
		{Verdict: slip.Inconclusive, Reason: hidden(3.1)}, {Verdict: slip.Inconclusive, Reason: hidden(4.5)},
		{Verdict: slip.Inconclusive, Reason: told("too short")}, {Verdict: slip.Holds}},
		Events: []slip.Event{{Kind: "wheelspin"}, {Kind: "slip"}}},
		Inertia:  &inertia.Finding{Runs: []inertia.Run{{Kind: inertia.RevDown, Used: true}, {Kind: inertia.RevDown, WhyNot: told("you lifted, the car kept the throttle open")}}},
		Warnings: []finding.Finding{finding.Told("", "a.csv:7: cut short")}}
	got := strings.Join(Of(r, figure.Metric).NotUsed, "\n")
	want := "2 × pull: slip below 3.1–4.5 % would not have shown\n" +
		"1 × rev-down: you lifted, the car kept the throttle open\n1 × pull: too short\n1 × moment that looks like slip: wheelspin\na.csv:7: cut short"
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

func TestCautionBesideTheVerdict(t *testing.T) {
	if c := Of(sample.SlipResult(true), figure.Metric).Caution; len(c) != 2 || !strings.Contains(c[1], "lift at once") {
		t.Errorf("a slipping clutch: %q", c)
	}
	if c := Of(sample.SlipResult(false), figure.Metric).Caution; len(c) != 1 {
		t.Errorf("a clutch that holds: %q", c)
	}
}

func TestNothingIsMadeUpOfNothing(t *testing.T) {
	for _, r := range []*analysis.Result{{}, {Command: "learn"}, {Command: "slip", Slip: &slip.Finding{}}, {Command: "compare", Compare: &compare.Finding{}},
		{Command: "inertia", Inertia: &inertia.Finding{}}, {Command: "job", Job: &analysis.JobInfo{}, Compare: &compare.Finding{Before: &inertia.Finding{}, After: &inertia.Finding{}}}} {
		for _, a := range Of(r, figure.Metric).Answers {
			if a.Tone == Good || a.Tone == Act || a.Headline == "" {
				t.Errorf("%s: %+v", r.Command, a)
			}
		}
	}
}

// The vocabulary: "pedal" alone would be the accelerator, "clutch pedal up" is "foot off the clutch".
func TestVocabulary(t *testing.T) {
	r := sample.Job()
	s := Of(r, figure.Metric)
	text := strings.Join(append(s.NotUsed, s.Cautions...), " ")
	for _, a := range s.Answers {
		text += a.Question + a.Headline + a.Sentence
	}
	for _, k := range []detect.Kind{"wheelspin", "engagement", "shift", "pedal", "short", "other_gear", "slip", "new_kind"} {
		text += EventKind(k)
	}
	for _, bad := range []string{"pedal", "clutch pedal", "_", "locked", "ladder"} {
		if strings.Contains(text, bad) {
			t.Errorf("the text says %q", bad)
		}
	}
}

// How hard the pulls were stands before what they showed; pulls that were all of one kind need one count.
func TestPullsAreCountedByTheirLoad(t *testing.T) {
	pulls := func(full, light int, v slip.Verdict) (out []slip.Pull) {
		for i := range full + light {
			out = append(out, slip.Pull{FullLoad: i < full, Verdict: v})
		}
		return out
	}
	for want, list := range map[string][]slip.Pull{
		"10 at full load, 26 lighter: 36 without slip":           pulls(10, 26, slip.Holds),
		"3 at full load: 3 with slip":                            pulls(3, 0, slip.Slips),
		"2 lighter: 2 cannot tell":                               pulls(0, 2, slip.Inconclusive),
		"2 at full load, 1 lighter: 1 with slip, 2 without slip": append(pulls(1, 1, slip.Holds), pulls(1, 0, slip.Slips)...),
	} {
		if got := pullCount(list); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// 90 kJ in 10 kg of iron of 0.45 kJ/(kg K) are 20 K, by hand; 36 degrees Fahrenheit. Only the worst slip counts, and what only looks like one does not.
func TestHeatIsToldByWhatItDoes(t *testing.T) {
	f := &slip.Finding{Events: []slip.Event{{Kind: "slip", Energy: num(90000)}, {Kind: "slip", Energy: num(40000)}, {Kind: "slip"}, {Kind: "wheelspin", Energy: num(500000)}}}
	for u, want := range map[figure.Units]string{
		figure.Metric: "90 kJ, enough to make 10 kg of iron, a flywheel and a pressure plate, hotter by 20 °C",
		figure.US:     "85 Btu, enough to make 22 lb of iron, a flywheel and a pressure plate, hotter by 36 °F",
	} {
		if got := (writer{u: u}).heat(f); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	if got := (writer{}).heat(&slip.Finding{Events: f.Events[2:]}); got != "" {
		t.Errorf("of no heat: %q", got)
	}
}

// What is still worth driving is asked for by whether the question is open.
func TestAskingForMore(t *testing.T) {
	if open, settled := (Answer{Tone: Open}).Ask(), (Answer{Tone: Good}).Ask(); open != "To settle it:" || settled != "To be surer:" {
		t.Errorf("%q, %q", open, settled)
	}
}
