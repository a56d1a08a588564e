package practice

import (
	"fmt"
	"strings"
)

// activityTitles are the headings of the documentation.
var activityTitles = map[Activity]string{
	Driving: "On the road", Pulling: "Full-load pulls", Coasting: "Neutral coast and off-throttle in gear", FreeRevs: "Free revs",
	OnRollers: "Rolling road", Recording: "Recording", Fitting: "Working on clutch and flywheel", Modifying: "Changed parts",
	Swinging: "Pendulum test", Reading: "Reading a result", Publishing: "Handing a report on",
}

// Title returns the heading of an activity.
func (a Activity) Title() string { return activityTitles[a] }

// Markdown returns docs/practice.md.
func Markdown() string {
	var b strings.Builder
	b.WriteString("# Practice: what the road and the workshop do to the measurement\n\n" +
		"This page is written from the table in analysis/practice (`go test ./analysis/practice -update`); refusals, report and\n" +
		"guide use the same words. Facts are common practice, no source, unless a source is named.\n\n## How verdicts are given\n\n")
	for i, p := range principles {
		fmt.Fprintf(&b, "%d. **%s.** %s\n", i+1, p.Title, p.Text)
	}
	b.WriteString("\n## What cars and roads do\n\n| what | how it shows | what it does | what the program does | what to do |\n|---|---|---|---|---|\n")
	for _, e := range table {
		fmt.Fprintf(&b, "| %s | %s | %s | %s | %s |\n", cell(e.What), cell(e.Shows), cell(e.Does), cell(e.WeDo), cell(e.Next))
	}
	runs, sets := Sayings()
	b.WriteString("\n## Why a run is not used\n\nThe word stands in `why_not_code` of the run, the sentence in `why_not`.\n\n" + sayings(runs) +
		"\n## What is said of a whole set\n\nThe word is the `code` of a warning.\n\n" + sayings(sets))
	b.WriteString("\n## Checklist of a session\n\n")
	for _, c := range Checklist() {
		b.WriteString("- " + c + "\n")
	}
	b.WriteString("\n## Cautions\n")
	for _, a := range Activities() {
		fmt.Fprintf(&b, "\n**%s.**\n\n", a.Title())
		for _, c := range cautions[a] {
			b.WriteString("- " + c + "\n")
		}
	}
	return b.String()
}

// sayings writes reasons with example values.
func sayings(list []Saying) string {
	var b strings.Builder
	b.WriteString("| word | what is said, for example | what to do | more above under |\n|---|---|---|---|\n")
	for _, s := range list {
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s |\n", s.Reason, cell(s.Reason.Fact(s.Example...)), cell(s.Reason.Next()), cell(Find(s.Entry).What))
	}
	return b.String()
}

func cell(s string) string { return strings.ReplaceAll(s, "|", "\\|") }
