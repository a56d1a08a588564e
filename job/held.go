package job

import (
	"regexp"
	"slices"
	"strings"

	"flywitness/vehicle/tomlfile"
)

// flowPart is a part on which the flow rests, and how it is spoken of.
type flowPart struct {
	name  string
	words *regexp.Regexp
}

// Parts on which air and fuel of a held engine rest: where the job changed one, they no longer tell the drag. The
// pattern finds it in what the job says was done.
var flowParts = []flowPart{
	{"remap", regexp.MustCompile(`(?i)\b(re-?map\w*|re-?flash\w*|engine tun\w*|map change\w*|chip tun\w*)\b`)},
	{"cam", regexp.MustCompile(`(?i)\bcam(s|shaft|shafts)?\b`)},
	{"intake", regexp.MustCompile(`(?i)\b(intake|air ?box|air filter|throttle body)\b`)},
	{"injectors", regexp.MustCompile(`(?i)\binjectors?\b`)},
	{"air meter", regexp.MustCompile(`(?i)\b(air (flow )?meter|air flow sensor|air mass meter|mass air flow)\b`)},
}

// Held is what a job says about the engine held in neutral, which tells the drag of each sitting.
type Held struct {
	SameDay  bool     // both sides were driven in one day
	IdleFlow bool     // nobody could hold the engine
	Ladder   []string // recordings of the car while it warms up, falls between holds
	Changed  []string // of the job, on which the flow rests
}

// readHeld reads it; parts are the swapped parts.
func (j *Job) readHeld(t *tomlfile.Table, f *finder) {
	j.Held.SameDay, _ = t.Flag("same_day")
	j.Held.IdleFlow, _ = t.Flag("idle_flow")
	if t.Has("ladder") {
		j.Held.Ladder = f.find(t, "ladder")
	}
	said := []string{j.Done}
	for _, p := range j.Parts {
		said = append(said, p.Name)
	}
	told := t.Texts("also_changed")
	for _, p := range flowParts {
		if slices.Contains(told, p.name) || p.words.MatchString(strings.Join(said, "; ")) {
			j.Held.Changed = append(j.Held.Changed, p.name)
		}
	}
	for _, name := range told {
		if !slices.ContainsFunc(flowParts, func(p flowPart) bool { return p.name == name }) {
			t.Refuse("also_changed", "%q is none of remap, cam, intake, injectors, air meter", name)
		}
	}
}
