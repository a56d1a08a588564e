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
		if utf8.RuneCountInString(line) > width+1 {
			t.Errorf("line too wide: %q", line)
		}
	}
}

// A number and its unit stay on one line, whatever the width.
func TestNumbersKeepTheirUnits(t *testing.T) {
	text := "carried at least 249 N m without slip, 82 % of 340 N m, from 47 km/h to 100 km/h (2244 rpm), 0.138 kg m^2 and 1.5 s"
	for width := 20; width < 100; width++ {
		got := Wrap(text, width, "")
		if strings.Join(strings.Fields(got), " ") != text {
			t.Fatalf("%d: other words: %q", width, got)
		}
		for _, torn := range []string{"249\n", "N\nm", "82\n", "340\n", "47\n", "100\n", "2244\n", "kg\nm", "0.138\n", "1.5\n"} {
			if strings.Contains(got, torn) {
				t.Errorf("%d columns: %q", width, got)
			}
		}
	}
}
