//go:build linux

package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"
)

// Help fits the narrowest terminal that people use, and each command has its man page.
func TestHelpAndManPages(t *testing.T) {
	dir := t.TempDir()
	if status, _, msgs := run("manual", dir); status != 0 {
		t.Fatal(msgs)
	}
	for _, cmd := range newRoot().Commands() {
		status, out, msgs := run(cmd.Name(), "--help")
		if status != 0 || msgs != "" {
			t.Fatalf("%s: %d %s", cmd.Name(), status, msgs)
		}
		for line := range strings.Lines(out) {
			if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > 80 {
				t.Errorf("%s: %d columns: %s", cmd.Name(), n, line)
			}
		}
		if page, err := os.ReadFile(filepath.Join(dir, "man/man1/fw-logger-"+cmd.Name()+".1")); err != nil || !strings.Contains(string(page), cmd.Short) {
			t.Errorf("no man page of %s: %v", cmd.Name(), err)
		}
	}
}

// The mistakes of the first hour are answered with what was meant.
func TestMistakes(t *testing.T) {
	for line, want := range map[string]string{
		"rekord":                               `did you mean "record"?`,
		"record --prot /dev/ttyUSB0":           "did you mean --port?",
		"record -port /dev/ttyUSB0":            "a flag has two dashes: --port",
		"record --for 10 --port x --out y.csv": "a length of time such as 90s or 10m",
		"record before.csv":                    "one word too many",
		"import":                               "LOG... is missing",
		"record --vehicle":                     "--vehicle needs a value",
	} {
		status, out, msgs := run(strings.Fields(line)...)
		if status != 2 || out != "" || !strings.Contains(msgs, want) || strings.Count(msgs, "\n") != 2 {
			t.Errorf("%s: %d %q", line, status, msgs)
		}
	}
}
