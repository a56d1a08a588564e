package text

import (
	"regexp"
	"strings"
	"testing"

	"flywitness/analysis"
	"flywitness/analysis/promise"
	"flywitness/analysis/stats"
	"flywitness/dashboards/internal/sample"
	"flywitness/figure"
	"flywitness/finding"
)

// kinds is every promise on a change that a person makes, with the quantity's unit in both systems and the factor from metric (NIST SP 811, from memory:
// 1 lb = 0.45359237 kg, 1 hp = 745.69987 W, 1 lb ft^2 = 0.0421401 kg m^2).
var kinds = []struct {
	promise    promise.Promise
	metric, us string
	about      string // in the sentence
}{
	{promise.Promise{Kind: promise.Mass, Amount: 110, Gear: 1}, "kg", "lb", "(as if the car were lighter) in first gear"},
	{promise.Promise{Kind: promise.Acceleration, Amount: 6, Gear: 1}, "%", "%", "more acceleration in first gear"},
	{promise.Promise{Kind: promise.Power, Amount: 8, Gear: 2, AtRPM: 5000}, "kW", "hp", "more while accelerating in second gear at 5000 rpm"},
	{promise.Promise{Kind: promise.Seconds, Amount: 0.12, Gear: 1, FromKmh: 20, ToKmh: 50}, "s", "s", "sooner in first gear from "},
	{promise.Promise{Kind: promise.Inertia, Amount: -0.05}, "kg m²", "lb ft²", "less rotating inertia"},
	{promise.Promise{Kind: promise.InertiaPct, Amount: 25}, "%", "%", "less rotating inertia"},
}

// cases is each way that a promise comes out: what was measured over what was promised, and its standard deviation over the promise.
var cases = []struct {
	value, sd float64
	outcome   promise.Outcome
	tone      Tone
	headline  string
	says      string
}{
	{0.99, 0.12, promise.Kept, Good, "The promise was kept.", "at least half of it is sure"},
	{1.5, 0.2, promise.More, Good, "The promise was more than kept.", "more than was promised"},
	{0.9, 0.4, promise.NotShown, Open, "The promise may have been kept, but that is not shown.", "it is not shown"},
	{0.7, 0.1, promise.NotKept, Act, "The promise was not kept.", "less than was promised"},
	{0.2, 0.1, promise.NotKept, Act, "The promise was not kept.", "More than half of the promise is ruled out."},
	{-1, 0.12, promise.NotKept, Act, "The promise was not kept.", "It went the other way."},
	{0.5, 0.4, promise.Undecided, Open, "Cannot tell whether the promise was kept.", "No change at all fits as well."},
}

var keyName = regexp.MustCompile(`[a-z]+_[a-z]+`)

// Every case of every promise in both systems of units: the headline, both numbers with their unit, no name of a key, no unit of the other system.
func TestEveryPromiseComesOutInAPlainSentence(t *testing.T) {
	for _, k := range kinds {
		for _, c := range cases {
			for _, u := range []figure.Units{figure.Metric, figure.US} {
				amount := k.promise.Amount
				m := stats.Normal(c.value*amount, c.sd*abs(amount))
				r := sample.Job()
				r.Compare.Claim = sample.Claim(k.promise, m)
				name := string(k.promise.Kind) + " " + string(c.outcome) + " " + string(u)
				if r.Compare.Claim.Outcome != c.outcome {
					t.Errorf("%s: %s", name, r.Compare.Claim.Outcome)
				}
				a := answer(t, r, u, "Was the promise kept?")
				unit, other := k.metric, k.us
				if u == figure.US {
					unit, other = other, unit
				}
				w := writer{u: u}
				metric := k.promise.Unit()
				for _, want := range []string{"Promised " + w.write(abs(amount), 0, metric) + " ", "Measured " + w.write(abs(m.Value), m.SD, metric), "surely between ", " " + unit, k.about, c.says} {
					if !strings.Contains(a.Sentence, want) {
						t.Errorf("%s: %q does not say %q", name, a.Sentence, want)
					}
				}
				if a.Tone != c.tone || a.Headline != c.headline {
					t.Errorf("%s: %s %q", name, a.Tone, a.Headline)
				}
				if found := keyName.FindString(a.Headline + a.Sentence); found != "" {
					t.Errorf("%s: the name of a key, %q, in %q", name, found, a.Sentence)
				}
				if other != unit && regexp.MustCompile(`\d `+regexp.QuoteMeta(other)+`\b`).MatchString(a.Sentence) {
					t.Errorf("%s: %q is not in the reader's units", name, a.Sentence)
				}
			}
		}
	}
}

func abs(x float64) float64 {
	if x < 0 {
		return -x
	}
	return x
}

// The example that a customer reads, and the other direction of it.
func TestPromisedAndMeasuredStandTogether(t *testing.T) {
	r := sample.Job()
	r.Compare.Claim = sample.Claim(promise.Promise{Kind: promise.Mass, Amount: 110, Gear: 1}, stats.Normal(109, 12.75))
	if s := answer(t, r, figure.Metric, "promise kept").Sentence; s != "Promised 110 kg (as if the car were lighter) in first gear. Measured 109 kg, surely between 84 and 134 kg. "+
		"The promise lies within that, and at least half of it is sure." {
		t.Errorf("%q", s)
	}
	r.Compare.Claim = sample.Claim(promise.Promise{Kind: promise.Mass, Amount: 110, Gear: 1}, stats.Normal(-109, 12.75))
	if s := answer(t, r, figure.Metric, "promise kept").Sentence; !strings.Contains(s, "Measured 109 kg heavier, surely between 84 kg heavier and 134 kg heavier. It went the other way.") {
		t.Errorf("%q", s)
	}
}

func TestWhatWasNotMeasuredIsSaid(t *testing.T) {
	r := sample.Job()
	r.Compare.Claim = sample.Claim(promise.Promise{Kind: promise.PartMass, Amount: 5.5}, nil)
	r.Compare.Claim.Reason = append(r.Compare.Claim.Reason, finding.Told("", "A drive cannot weigh a part."))
	a := answer(t, r, figure.US, "promise kept")
	if a.Tone != Open || a.Sentence != "Promised 12.1 lb off the parts. A drive cannot weigh a part." {
		t.Errorf("%+v", a)
	}
}

// What a clutch was promised to hold, as a torque and as a power at an engine speed.
func TestEveryPromiseOnAClutch(t *testing.T) {
	torque := promise.Promise{Kind: promise.Torque, Amount: 280}
	power := promise.Promise{Kind: promise.ClutchPower, Amount: 150, AtRPM: 5500} // 260.4 N m by T = P / w
	held := func(x float64) promise.Clutch { return promise.Clutch{Torque: stats.Normal(x, 10)} }
	slips := func(x float64) promise.Clutch { return promise.Clutch{Slips: true, Torque: stats.Normal(x, 10)} }
	for _, c := range []struct {
		promise  promise.Promise
		seen     promise.Clutch
		units    figure.Units
		tone     Tone
		headline string
		says     string
	}{
		{torque, held(302), figure.Metric, Good, "Yes: the promised 280 N m were carried without slip.", "It carried 302 N m, surely between 282 and 322 N m, without slip."},
		{torque, held(350), figure.Metric, Good, "Yes, and more than the promised 280 N m.", "more than was promised"},
		{torque, held(280), figure.Metric, Open, "It may hold the promised 280 N m, but that is not shown.", "it is not shown"},
		{torque, held(200), figure.Metric, Open, "Cannot tell whether the clutch holds the promised 280 N m.", "more was never asked of it"},
		{torque, slips(230), figure.Metric, Act, "No: the clutch slips below the promised 280 N m.", "It slips from 230 N m, surely between 210 and 250 N m: less than was promised."},
		{torque, slips(275), figure.Metric, Open, "Cannot tell whether the clutch holds the promised 280 N m.", "cannot be told apart"},
		{torque, promise.Clutch{}, figure.Metric, Open, "Cannot tell whether the clutch holds the promised 280 N m.", "without the mass of the car"},
		{torque, promise.Clutch{Why: finding.Say(finding.Told("", "Not yet."))}, figure.Metric, Open, "Cannot tell whether the clutch holds the promised 280 N m.", "Promised that the clutch holds 280 N m. Not yet."},
		{power, held(290), figure.Metric, Good, "Yes: the promised 150 kW at 5500 rpm were carried without slip.", "holds 150 kW at 5500 rpm, that is 260.4 N m"},
		// 150 kW = 201 hp, 260.4 N m = 192 lbf ft, 290 N m = 214 lbf ft (NIST SP 811, from memory).
		{power, held(290), figure.US, Good, "Yes: the promised 201 hp at 5500 rpm were carried without slip.", "holds 201 hp at 5500 rpm, that is 192 lbf ft. It carried 214 lbf ft"},
		{power, slips(200), figure.US, Act, "No: the clutch slips below the promised 201 hp at 5500 rpm.", "lbf ft: less than was promised"},
	} {
		o := c.promise.JudgeClutch(c.seen)
		r := sample.Job()
		r.Job.ClutchClaim = &analysis.ClutchClaim{StatedTorque: c.promise.ClutchTorque(), Measured: c.seen.Torque, Outcome: o, Verdict: o.Verdict(), Promise: c.promise, Seen: c.seen,
			Reason: c.promise.ClutchSentence(c.seen, o)}
		a := answer(t, r, c.units, "hold what was promised")
		if a.Tone != c.tone || a.Headline != c.headline || !strings.Contains(a.Sentence, c.says) {
			t.Errorf("%+v: %s %q %q", c.seen, a.Tone, a.Headline, a.Sentence)
		}
		if found := keyName.FindString(a.Headline + a.Sentence); found != "" {
			t.Errorf("the name of a key, %q, in %q", found, a.Sentence)
		}
	}
}

// One line on top sums the job up; what the old clutch did stands last and in the past.
func TestOneLineSumsTheJobUp(t *testing.T) {
	r := sample.Job()
	r.Compare.Claim = sample.Claim(promise.Promise{Kind: promise.Mass, Amount: 95, Gear: 1}, stats.Normal(100, 10))
	if got, want := Of(r, figure.Metric).Line, "The clutch holds now; the rotating inertia fell by 23 %; the promise was kept; before the job the clutch slipped."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	r.Compare.SlipAfter = sample.Slip(true)
	if got := Of(r, figure.Metric).Line; !strings.HasPrefix(got, "The clutch still slips; ") {
		t.Errorf("%q", got)
	}
	r.Compare.SlipBefore, r.Compare.Before = nil, nil
	if got := Of(r, figure.Metric).Line; got != "The clutch slips; the promise was kept." {
		t.Errorf("%q", got)
	}
	if got := Of(sample.SlipResult(true), figure.Metric).Line; got != "" {
		t.Errorf("one question has a line: %q", got)
	}
	for _, a := range Of(sample.Job(), figure.Metric).Answers {
		if a.Tone == Act {
			t.Errorf("a finished job frightens: %q", a.Headline)
		}
	}
}

// "Lighter by -109 kg" is "heavier by 109 kg", and doubts are said first.
func TestAChangeTheOtherWayIsSaidAsSuch(t *testing.T) {
	r := sample.Job()
	for i := range r.Compare.ByGear {
		r.Compare.ByGear[i].EquivalentMass = r.Compare.ByGear[i].EquivalentMass.Scale(-1)
	}
	r.Compare.ByGear[0].EquivalentPower = r.Compare.ByGear[0].EquivalentPower.Scale(-1)
	for i := range r.Compare.SpanTimes {
		r.Compare.SpanTimes[i].Saved = r.Compare.SpanTimes[i].Saved.Scale(-1)
	}
	r.Compare.SidesDoubt = finding.Say(finding.Told("", "The sides may be swapped."))
	text := ""
	for _, n := range answer(t, r, figure.Metric, "rotating inertia").Numbers {
		text += n.Name + ": " + n.Value + "\n"
	}
	if strings.Contains(text, "by -") || !strings.Contains(text, "as if the car were heavier by 138 ± ") || !strings.Contains(text, "loses ") || !strings.Contains(text, "s later") || strings.Contains(text, "sooner") {
		t.Error(text)
	}
	if s := Of(r, figure.Metric); len(s.Doubts) != 1 || s.Doubts[0] != "The sides may be swapped." {
		t.Errorf("%q", s.Doubts)
	}
}
