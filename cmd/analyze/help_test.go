package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/spf13/cobra"
)

// Help fits the narrowest terminal that people use, and an example that is broken over lines is still one command.
func TestHelpFitsEightyColumns(t *testing.T) {
	eachCommand(newRoot(), func(cmd *cobra.Command) {
		args := append(strings.Fields(cmd.CommandPath())[1:], "--help")
		status, out, errs := run(args...)
		if status != 0 || errs != "" {
			t.Fatalf("%v: %d %s", args, status, errs)
		}
		for line := range strings.Lines(out) {
			if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > 80 {
				t.Errorf("%v: %d columns: %s", args, n, line)
			}
		}
		whole := strings.ReplaceAll(out, " \\\n      ", " ")
		for line := range strings.Lines(cmd.Example) {
			if example := strings.TrimSpace(line); example != "" && !strings.Contains(whole, example+"\n") {
				t.Errorf("%v: the example %q is not in its help", args, example)
			}
		}
	})
}

// What make install puts beside the program: a man page of each command and the completions of three shells.
func TestManPagesAndCompletions(t *testing.T) {
	dir := t.TempDir()
	if status, _, errs := run("manual", dir); status != 0 {
		t.Fatal(errs)
	}
	for _, c := range [][2]string{{"man/man1/fw-analyze.1", "fw-analyze-slip(1)"}, {"man/man1/fw-analyze-compare.1", "--before"},
		{"man/man1/fw-analyze-part-pendulum.1", "--times"}, {"bash-completion/completions/fw-analyze", "complete"},
		{"zsh/site-functions/_fw-analyze", "#compdef fw-analyze"}, {"fish/vendor_completions.d/fw-analyze.fish", "complete -c fw-analyze"}} {
		data, err := os.ReadFile(filepath.Join(dir, c[0]))
		if text := strings.ReplaceAll(string(data), `\-`, "-"); err != nil || !strings.Contains(text, c[1]) {
			t.Errorf("%s: %v, no %q", c[0], err, c[1])
		}
	}
	if status, _, errs := run("manual", filepath.Join(dir, "man/man1/fw-analyze.1")); status != 1 || strings.Count(errs, "\n") != 1 {
		t.Errorf("into a file: %d %q", status, errs)
	}
}
