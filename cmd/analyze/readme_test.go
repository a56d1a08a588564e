package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"flywitness/internal/golden"
	"flywitness/internal/numbers"
)

// elided stands for the rest of what a command prints.
const elided = "..."

// shownLines is how many lines of a command that had none yet are shown.
const shownLines = 12

// Every block of README.md that begins with "$ fw-analyze" shows a command and what it prints, as it stands, on both streams. It runs in a
// folder that has testdata beside it. When a sentence of the program changes: go test ./cmd/analyze -run Readme -update
func TestCommandsOfTheReadme(t *testing.T) {
	numbers.Only(t)
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(root, "README.md")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	if err := os.Symlink(filepath.Join(root, "testdata"), "testdata"); err != nil {
		t.Fatal(err)
	}
	var out []string
	lines := strings.Split(string(text), "\n")
	ran := 0
	for i := 0; i < len(lines); i++ {
		out = append(out, lines[i])
		indent, command, ok := strings.Cut(lines[i], "$ fw-analyze ")
		if !ok || strings.TrimSpace(indent) != "" {
			continue
		}
		ran++
		var want []string
		for i+1 < len(lines) && strings.TrimSpace(lines[i+1]) != "```" {
			i++
			want = append(want, strings.TrimPrefix(lines[i], indent))
		}
		got := printed(t, command)
		shown := cut(got, want)
		if strings.Join(shown, "\n") != strings.Join(want, "\n") && !*golden.Update {
			t.Errorf("%s prints\n%s\nand README.md shows\n%s\n(go test ./cmd/analyze -run Readme -update writes it)", command, strings.Join(shown, "\n"), strings.Join(want, "\n"))
		}
		for _, line := range shown {
			out = append(out, strings.TrimRight(indent+line, " "))
		}
	}
	if ran < 6 {
		t.Errorf("only %d commands found in README.md", ran)
	}
	if *golden.Update {
		if err := os.WriteFile(path, []byte(strings.Join(out, "\n")), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// printed runs a command line and returns the lines that a terminal would show.
func printed(t *testing.T, command string) []string {
	t.Helper()
	var b bytes.Buffer
	if status := analyze(context.Background(), split(strings.ReplaceAll(command, `"`, "'")), strings.NewReader(""), &b, &b); status != 0 || b.Len() == 0 {
		t.Errorf("%s: exit %d, %s", command, status, b.String())
	}
	return strings.Split(strings.TrimRight(b.String(), "\n"), "\n")
}

// cut shortens what was printed to as many lines as are shown now; a rest is told by the sign for it.
func cut(got, now []string) []string {
	n := len(now)
	switch {
	case n == 0:
		n = shownLines
	case now[n-1] == elided:
		n--
	case n == len(got):
		return got
	}
	if n >= len(got) {
		return got
	}
	return append(append([]string{}, got[:n]...), elided)
}
