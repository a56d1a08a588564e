package practice

import (
	"fmt"
	"strings"

	"flywitness/finding"
)

// activityTitles are the headings of the documentation.
var activityTitles = map[Activity]string{
	Driving: "On the road", Pulling: "Full-load pulls", Coasting: "Neutral coast and off-throttle in gear",
	FreeRevs:  "Free revs",
	OnRollers: "Rolling road", Recording: "Recording", Fitting: "Working on clutch and flywheel",
	Modifying: "Changed parts",
	Swinging:  "Pendulum test", Reading: "Reading a result", Publishing: "Handing a report on",
}

// markdown returns docs/practice.md.
func markdown() string {
	var b strings.Builder
	b.WriteString("# Practice: what the road and the workshop do to the measurement\n\n" +
		"This page is written from the table in analysis/practice (`go test ./analysis/practice -update`); refusals, " +
		"report and\n" +
		"guide use the same words. Facts are common practice, no source, unless a source is named.\n\n## How verdicts " +
		"are given\n\n")
	for i, p := range principles {
		fmt.Fprintf(&b, "%d. **%s.** %s\n", i+1, p.title, p.text)
	}
	b.WriteString("\n## What cars and roads do\n\n| what | how it shows | what it does | what the program does | " +
		"what to do |\n|---|---|---|---|---|\n")
	for _, e := range table {
		fmt.Fprintf(&b, "| %s | %s | %s | %s | %s |\n", cell(e.What), cell(e.Shows), cell(e.Does), cell(e.WeDo),
			cell(e.Next))
	}
	runs, sets := Sayings()
	b.WriteString("\n## Why a run is not used\n\nThe word stands in `why_not_code` of the run, the sentence in " +
		"`why_not`.\n\n" + sayings(runs) +
		"\n## What is said of a whole set\n\nThe word is the `code` of a warning.\n\n" + sayings(sets))
	b.WriteString("\n## Checklist of a session\n\n")
	for _, c := range Checklist() {
		b.WriteString("- " + c + "\n")
	}
	b.WriteString("\n## Cautions\n")
	for _, a := range activities() {
		fmt.Fprintf(&b, "\n**%s.**\n\n", activityTitles[a])
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
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s |\n", s.Code, cell(finding.Example(s.Code).Fact().String()),
			cell(finding.Example(s.Code).Next().String()), cell(Find(s.Entry).What))
	}
	return b.String()
}

func cell(s string) string { return strings.ReplaceAll(s, "|", "\\|") }

// activities returns every activity in the order of the documentation.
func activities() []Activity {
	return []Activity{Driving, Pulling, Coasting, FreeRevs, OnRollers, Recording, Fitting, Modifying, Swinging, Reading,
		Publishing}
}

// principles are the rules by which verdicts are given, for the documentation.
var principles = []struct{ title, text string }{
	{"The session is the error budget",
		"Gearbox oil changed or cold, a battery recharging, a radiator fan, lights or air conditioning each move the " +
			"drag by several per cent. A session's drag is given a standard deviation of 4 %, 2 % when the checklist is " +
			"recorded, and less only where the session measures its own drag or several sessions a side say so. With one " +
			"session a side and no such evidence a change below about 15 % is inconclusive. Drift over the runs of a " +
			"session is tested and shown."},
	{"Bedding-in is a gate",
		"A new clutch must not see full load for some hundreds of kilometres; its maker's figure stands. Slip before " +
			"that proves nothing. Free revs can be driven the same day, so the after side may have two sittings."},
	{"Testing must not ruin the clutch",
		"At the first sure slip the guide says lift. One short confirmation after cooling; the total heat is capped, " +
			"then no more pulls are offered."},
	{"What \"holds\" means",
		"No slip was seen up to the stated torque in the stated number of pulls, and anything above the stated slip " +
			"would have shown. Each torque is stated with the slip that could be seen over the same stretch. A single good " +
			"pull is reported as what it is; three through the torque peak, the last one hot, are asked for."},
	{"One side is the usual case",
		"Before alone is a diagnosis, after alone tells whether it holds; that a change can no longer be shown is said " +
			"plainly."},
	{"The best evidence of inertia is on the bench",
		"Old and new parts swung on a pendulum while the car is on the lift give the change to 2 or 3 %, and the " +
			"equivalent mass follows from the gearing. Everything that was swapped is listed for each side: flywheel, " +
			"cover, disc, bolts. Weight alone is never turned into inertia."},
	{"Same car, same tune",
		"VIN, calibration identification and verification number, fault lamp and codes, warm-ups and distance since " +
			"codes were cleared are compared. Another VIN is an error; another calibration, or less than about 50 km since " +
			"a reset, makes the ratio of free revs inconclusive."},
	{"A protocol that stands",
		"Number of runs, margin, window and exclusions are fixed in the job file before the after drive; two sessions a " +
			"side on different starts; every session is listed, used or not; the SHA-256 of each recording is there to be " +
			"signed by both sides before the work starts. That is \"unchanged since signed\", not tamper-proof."},
}
