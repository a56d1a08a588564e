package finding

import (
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"flywitness/figure"
	"flywitness/internal/golden"
)

// sorted lists every code by name.
func sorted() []Code {
	out := Codes()
	slices.Sort(out)
	return out
}

// Every code is a word in snake_case of its own, and its sentence can be made of its example in both unit systems.
func TestEveryCodeHasItsSentence(t *testing.T) {
	word := regexp.MustCompile(`^[a-z][a-z0-9]*(_[a-z0-9]+)*$`)
	all := sorted()
	if len(all) < 150 {
		t.Fatalf("only %d codes", len(all))
	}
	for i, c := range all {
		if i > 0 && all[i-1] == c {
			t.Errorf("%s has two sentences", c)
		}
		if !word.MatchString(string(c)) {
			t.Errorf("%q is not in snake_case", c)
		}
		for _, u := range []figure.Units{figure.Metric, figure.US} {
			for _, s := range []string{Example(c).In(u), Example(c).Fact().In(u), Example(c).Next().In(u)} {
				if strings.Contains(s, "<no value>") || strings.Contains(s, "%!") || strings.Contains(s, "{{") || strings.TrimSpace(s) != s {
					t.Errorf("%s, %s: %q", c, u, s)
				}
			}
			if s := Example(c).Fact().In(u); s == "" || s == strings.ReplaceAll(string(c), "_", " ") && !slices.Contains(plainCodes, c) {
				t.Errorf("%s, %s: no sentence: %q", c, u, s)
			}
		}
	}
}

// plainCodes say no more than their code does.
var plainCodes = []Code{Everywhere, MoreFreeRevs}

// A sentence names no metric unit in US units, whatever value is filled in; and no US unit in metric ones.
func TestUnitsHoldInEverySentence(t *testing.T) {
	metric := regexp.MustCompile(`\d\s?(km/h|kg|N m|m/s²|m/s\^2|°C|K|kW|kJ|km|m|mm|kPa|kg m²)($|[ .,;:)])`)
	us := regexp.MustCompile(`\d\s?(mph|lb|lbf ft|ft/s²|°F|hp|Btu|miles|ft|in|psi|lb ft²)($|[.,;:)])`)
	for _, c := range sorted() {
		if s := Example(c).In(figure.US); metric.MatchString(s) && !slices.Contains(fixedUnits, c) {
			t.Errorf("%s in US units: %q", c, s)
		}
		if s := Example(c).In(figure.Metric); us.MatchString(s) {
			t.Errorf("%s in metric units: %q", c, s)
		}
	}
}

// fixedUnits say what stands in a file, in the unit that the file has it in.
var fixedUnits = []Code{JobFile}

// Every quantity of every unit is converted: 100 of each against factors of NIST SP 811 (from memory).
func TestQuantitiesConvert(t *testing.T) {
	for _, c := range []struct {
		v          Value
		metric, us string
	}{
		{Torque("x", 282), "282 N m", "208 lbf ft"}, {Speed("x", 110), "110 km/h", "68.4 mph"}, {Mass("x", 86.5), "86 kg", "190 lb"},
		{Acceleration("x", 1.9), "1.9 m/s²", "6.2 ft/s²"}, {Temperature("x", 90), "90 °C", "190 °F"}, {Quantity("x", Kelvin, 8), "8 °C", "14 °F"},
		{Inertia("x", 0.055), "0.0550 kg m²", "1.31 lb ft²"}, {Distance("x", 500), "500 km", "311 miles"}, {Quantity("x", Kilowatts, 4.5), "4 kW", "6.0 hp"},
		{EngineSpeed("x", 2600), "2600 rpm", "2600 rpm"}, {Duration("x", 1.25), "1.2 s", "1.2 s"}, {Pct("x", 3.14), "3.1 %", "3.1 %"},
	} {
		if got := fmt.Sprint(c.v.in(figure.Metric)); got != c.metric {
			t.Errorf("%q, want %q", got, c.metric)
		}
		if got := fmt.Sprint(c.v.in(figure.US)); got != c.us {
			t.Errorf("%q, want %q", got, c.us)
		}
	}
}

// The table of all sentences, by which a change of any shows.
func TestTableOfSentences(t *testing.T) {
	const path = "testdata/sentences.txt"
	var b strings.Builder
	for _, c := range sorted() {
		metric, us := Example(c).In(figure.Metric), Example(c).In(figure.US)
		fmt.Fprintf(&b, "%s\n  %s\n", c, metric)
		if us != metric {
			fmt.Fprintf(&b, "  %s\n", us)
		}
	}
	golden.Same(t, path, []byte(b.String()))
}

// JSON carries code, sentence and quantities, with the unit in their names; what is read back says the same.
func TestJSON(t *testing.T) {
	f := New(SlipsBelowRating, Torque("onset", 235.4), Torque("rating", 340))
	f.Side = "before"
	got, err := json.Marshal(f)
	want := `{"code":"slips_below_rating","message":"before: the clutch slips from about 235 N m, below its rating of 340 N m","side":"before",` +
		`"quantities":{"onset_nm":235.4,"rating_nm":340}}`
	if err != nil || string(got) != want {
		t.Errorf("%s %v", got, err)
	}
	var back Finding
	if err := json.Unmarshal(got, &back); err != nil || !back.Equal(f) || back.Side != "before" {
		t.Errorf("%+v %v", back, err)
	}
	if err := json.Unmarshal([]byte(`{"code":"x","message":": begins with a colon"}`), &back); err != nil || back.String() != ": begins with a colon" {
		t.Errorf("%+v %v", back, err)
	}
	text := struct {
		Reason Text `json:"reason"`
	}{Say(New(ClutchSlipped, Count("events", 2), Pct("most", 12)), New(RollersLookAlike))}
	if got, err = json.Marshal(text); err != nil || !strings.HasPrefix(string(got), `{"reason":"The clutch slipped twice under load, by up to 12 %. On a rolling road`) {
		t.Errorf("%s %v", got, err)
	}
	old := text
	if err := json.Unmarshal(got, &old); err != nil || old.Reason.String() != text.Reason.String() {
		t.Errorf("%v %v", old, err)
	}
	if err := json.Unmarshal([]byte(`{"code":7}`), &back); err == nil {
		t.Error("a number is a code")
	}
}

// What is found in a result is listed with its place, each once.
func TestCollect(t *testing.T) {
	type run struct {
		Why Text `json:"why_not"`
	}
	type side struct {
		Runs   []run  `json:"runs"`
		Advice []Text `json:"what_to_drive"`
		Hidden Text   `json:"-"`
	}
	shared := &side{Runs: []run{{}, {Say(New(Braked, Acceleration("slowing", 1.9)))}}, Advice: []Text{Say(New(ThreePulls)), Say(Told("", "read back"))}, Hidden: Say(New(TwoCars))}
	got := Collect(struct {
		Before *side `json:"before"`
		After  *side `json:"after"`
		Gone   *side `json:"gone"`
	}{shared, shared, nil})
	var places []string
	for _, a := range got {
		places = append(places, a.At+" "+string(a.Code))
	}
	if !slices.Equal(places, []string{"before.runs[1].why_not braked", "before.what_to_drive[0] three_pulls"}) {
		t.Errorf("%q", places)
	}
	raw, err := json.Marshal(got[0])
	if err != nil || !strings.HasPrefix(string(raw), `{"at":"before.runs[1].why_not","code":"braked","message":"slowed by 1.9 m/s², more than`) {
		t.Errorf("%s %v", raw, err)
	}
}

// A sentence that was made when a result was collected is that of the finding as it was: in other units, of a part of it, with
// another value or of two findings it is made anew.
func TestSentenceAfterCollecting(t *testing.T) {
	slowed := func(x float64) Text {
		text := Say(New(Braked, Acceleration("slowing", x)))
		Collect(struct {
			Why Text `json:"why"`
		}{text})
		return text
	}
	text, fresh := slowed(1.9), New(Braked, Acceleration("slowing", 1.9))
	both, ok := text.Together(slowed(2.8))
	want, _ := Say(fresh).Together(Say(New(Braked, Acceleration("slowing", 2.8))))
	for _, c := range [][2]string{{text.String(), fresh.String()}, {text.In(figure.US), fresh.In(figure.US)},
		{text[0].Fact().String(), fresh.Fact().String()}, {text[0].Next().String(), fresh.Next().String()},
		{text.With(Gear(3)).String(), fresh.String()}, {both.String(), want.String()}} {
		if c[0] != c[1] || !ok {
			t.Errorf("%q, want %q", c[0], c[1])
		}
	}
}

// Findings that differ in their numbers go together, those that differ in anything else do not.
func TestTogether(t *testing.T) {
	slip := func(x float64) Text { return Say(New(SlipHidden, Pct("slip", x))) }
	both, ok := slip(4.5).Together(slip(3.1))
	if !ok || both.String() != "slip below 3.1–4.5 % would not have shown" {
		t.Errorf("%v %q", ok, both)
	}
	if both, ok = both.Together(slip(6)); !ok || both.String() != "slip below 3.1–6.0 % would not have shown" {
		t.Errorf("%v %q", ok, both)
	}
	if both, ok = slip(3.11).Together(slip(3.12)); !ok || both.String() != "slip below 3.1 % would not have shown" {
		t.Errorf("%v %q", ok, both)
	}
	slowed := Say(New(Braked, Acceleration("slowing", 1.2)))
	if both, ok = slowed.Together(Say(New(Braked, Acceleration("slowing", 2.8)))); !ok || both.In(figure.US) != "slowed by 3.9–9.2 ft/s², more than rolling does: keep off the brake from start to end" {
		t.Errorf("%v %q", ok, both.In(figure.US))
	}
	span := func(from, to float64) Text {
		return Say(New(SpanTooSmall, EngineSpeed("from", from), EngineSpeed("to", to)))
	}
	if both, ok = span(2100, 1500).Together(span(2200, 1400)); !ok || both[0].Fact().String() != "too little of "+
		"the fall is left (2100–2200 to 1400–1500 rpm)" {
		t.Errorf("%v %q", ok, both)
	}
	foot := func(on bool) Text { return Say(New(FootMixed, Flag("on", on))) }
	for i, c := range [][2]Text{{foot(true), foot(false)}, {slip(3), slowed}, {slip(3), nil}} {
		if _, ok := c[0].Together(c[1]); ok {
			t.Errorf("pair %d: %q and %q go together", i, c[0], c[1])
		}
	}
	if _, ok := foot(true).Together(foot(true)); !ok {
		t.Error("two of a kind do not go together")
	}
}

// A code without a sentence, or a value that is not what its sentence takes, is no reason to fall over.
func TestWhatCannotBeSaid(t *testing.T) {
	if s := New("no_such_code").String(); s != "no such code" {
		t.Errorf("%q", s)
	}
	if s := New(SlipHidden, Name("slip", "x")).String(); s == "" {
		t.Error("nothing said")
	}
}
