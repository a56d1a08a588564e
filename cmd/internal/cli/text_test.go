package cli

import (
	"strings"
	"testing"
	"unicode/utf8"
)

func TestTextLayout(t *testing.T) {
	var x Text
	x.Line("The clutch holds.")
	x.Heading("Numbers")
	x.Pairs([][2]string{{"inertia", "0.166 ± 0.006 kg m^2"}, {"change", strings.Repeat("word ", 30)}})
	x.Table([]string{"gear", "rpm per km/h"}, [][]string{{"1", "118.2"}, {"2"}})
	x.Item("one %s", strings.Repeat("more ", 30))
	x.Numbered(1, "drive")
	got := x.String()
	for _, want := range []string{
		"The clutch holds.\n\nNumbers\n",
		"  inertia  0.166 ± 0.006 kg m^2\n",
		"  gear  rpm per km/h\n  1            118.2\n  2\n",
		"  - one more", "\n    more", "  1. drive\n",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("missing %q in\n%s", want, got)
		}
	}
	for line := range strings.Lines(got) {
		if utf8.RuneCountInString(line) > Width+1 {
			t.Errorf("line too wide: %q", line)
		}
	}
}
