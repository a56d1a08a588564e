package practice

import (
	"strings"
	"testing"

	"flywitness/internal/golden"
)

func TestDocumentIsTheTable(t *testing.T) {
	golden.Same(t, "../../docs/practice.md", []byte(markdown()))
}

func TestEntriesAreWholeAndUnique(t *testing.T) {
	seen := map[Key]bool{}
	for _, e := range Entries() {
		if seen[e.Key] || e.Key == "" {
			t.Errorf("key %q twice or empty", e.Key)
		}
		seen[e.Key] = true
		for _, text := range []string{e.What, e.Shows, e.Does, e.WeDo, e.Next} {
			if strings.TrimSpace(text) == "" || strings.ContainsAny(text, "\n") || strings.HasSuffix(text, ".") {
				t.Errorf("%s: %q is empty, of two lines, or ends a sentence that goes on", e.Key, text)
			}
		}
		if Find(e.Key) != e {
			t.Errorf("%s is not found", e.Key)
		}
	}
	if Find("nope") != (Entry{}) {
		t.Error("an unknown key has an entry")
	}
	entries := Entries()
	entries[0].What = "changed"
	if table[0].What == "changed" {
		t.Error("a caller can change the table")
	}
}

// What can hurt someone has a caution that names it.
func TestCautionsNameTheDanger(t *testing.T) {
	for activity, words := range map[Activity][]string{
		Driving:   {"law", "passenger", "never the screen"},
		Pulling:   {"lift at once", "bedded in"},
		Coasting:  {"unlawful"},
		FreeRevs:  {"neutral", "chocked", "bellhousing", "exhaust extraction", "bursts"},
		Fitting:   {"asbestos", "licensed", "stands"},
		Modifying: {"burst", "approval"},
		Swinging:  {"weight"},
		Reading:   {"not an approval"},
	} {
		text := strings.ToLower(strings.Join(Cautions(activity), " "))
		for _, w := range words {
			if !strings.Contains(text, w) {
				t.Errorf("%s does not speak of %q", activity, w)
			}
		}
	}
	if n := len(Cautions(Driving, Driving)); n != len(cautions[Driving]) {
		t.Errorf("cautions repeat: %d", n)
	}
	if Cautions("nope") != nil {
		t.Error("an unknown activity has cautions")
	}
	if len(activities()) != len(cautions) {
		t.Error("an activity is missing from the documentation")
	}
	for _, a := range activities() {
		if activityTitles[a] == "" || len(cautions[a]) == 0 {
			t.Errorf("%s has no title or no cautions", a)
		}
	}
}
