package job

import (
	"slices"
	"strings"
	"testing"
)

// What the job says was done, and what it lists, tells on what the flow of a held engine no longer rests.
func TestWhatTheFlowRestsOn(t *testing.T) {
	for text, want := range map[string][]string{
		`done = "240 mm disc, single-mass flywheel"`:                                                   nil,
		`done = "flywheel, and a remap"`:                                                               {"remap"},
		`done = "Camshaft and injectors beside it"`:                                                    {"cam", "injectors"},
		`done = "camera in the cabin; came with a lighter flywheel"`:                                   nil,
		`also_changed = ["intake", "air meter"]`:                                                       {"intake", "air meter"},
		"[[part]]\nname = \"air filter\"\ninertia_change_kgm2 = 0.001\ninertia_change_sd_kgm2 = 0.001": {"intake"},
	} {
		j, _, err := Load(folder(t, "before = [\"before/*.csv\"]\n"+text, drives...))
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		if !slices.Equal(j.Held.Changed, want) {
			t.Errorf("%s: %v, want %v", text, j.Held.Changed, want)
		}
	}
	_, _, err := Load(folder(t, "before = [\"before/*.csv\"]\nalso_changed = [\"gearknob\"]", drives...))
	if err == nil || !strings.Contains(err.Error(), "gearknob") {
		t.Errorf("a part that nobody knows: %v", err)
	}
	_, _, err = Load(folder(t, "before = [\"before/*.csv\"]\nladder = [\"ladder/none.csv\"]", drives...))
	if err == nil || !strings.Contains(err.Error(), "ladder/none.csv") {
		t.Errorf("a ladder that is not there: %v", err)
	}
	j, _, err := Load(folder(t, "before = [\"before/b1.csv\"]\nladder = [\"before/b2.csv\"]\nsame_day = true\nidle_flow = true", drives...))
	if err != nil || !j.Held.SameDay || !j.Held.IdleFlow || len(j.Held.Ladder) != 1 {
		t.Errorf("%+v, %v", j, err)
	}
}
