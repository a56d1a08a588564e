package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"flywitness/cmd/internal/cli"
	"flywitness/dashboards/paper"
	"flywitness/internal/numbers"
)

// A report whose name ends in .pdf is printed by the browser that is there: on A4, in US units on Letter, else as asked for. A whole job
// prints beside its page.
func TestReportsArePrinted(t *testing.T) {
	numbers.Only(t)
	if _, err := paper.Find(); err != nil {
		t.Skip(err)
	}
	dir := t.TempDir()
	car := []string{demo + "/after/thursday.csv", "--vehicle", filepath.Join(demo, "mule.toml")}
	for name, args := range map[string][]string{
		"a4.pdf":           append([]string{"slip", "--report", filepath.Join(dir, "a4.pdf")}, car...),
		"letter.pdf":       append([]string{"inertia", "--units", "us", "--report", filepath.Join(dir, "letter.pdf")}, car...),
		"letter-sheet.PDF": {"plan", "--paper", "letter", "--report", filepath.Join(dir, "letter-sheet.PDF")},
		"out/report.pdf":   {"job", demo + "/job.toml", "--pdf", "--paper", "letter", "--out", filepath.Join(dir, "out")},
	} {
		status, _, errs := run(args...)
		pdf, err := os.ReadFile(filepath.Join(dir, name))
		if status != 0 || err != nil || !bytes.HasPrefix(pdf, []byte("%PDF-")) {
			t.Errorf("%s: %d %s %v", name, status, errs, err)
			continue
		}
		info, err := exec.Command("pdfinfo", filepath.Join(dir, name)).Output()
		if err != nil {
			continue // no such tool here: paper's own test says so
		}
		size := "594.96 x 841.92" // ISO 216 A4 in points, from memory
		if strings.Contains(name, "letter") || strings.Contains(name, "out") {
			size = "612 x 792" // ANSI/ASME Y14.1 size A, from memory
		}
		if !strings.Contains(string(info), size) {
			t.Errorf("%s is not %s:\n%s", name, size, info)
		}
	}
}

// Without a browser it says so in one line, before any work is done, and writes nothing.
func TestNoBrowserToPrintWith(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	t.Setenv(paper.Variable, "")
	if path, err := paper.Find(); err == nil {
		t.Skipf("%s lies outside the path", path)
	}
	dir := t.TempDir()
	for _, args := range [][]string{{"slip", demo + "/after", "--report", filepath.Join(dir, "a.pdf")}, {"plan", "--report", filepath.Join(dir, "a.pdf")},
		{"job", demo + "/job.toml", "--pdf", "--out", filepath.Join(dir, "out")}, {"job", "--new", filepath.Join(dir, "new"), "--pdf"}} {
		status, out, errs := run(args...)
		if left, _ := os.ReadDir(dir); status != cli.StatusInput || out != "" || strings.Count(errs, "\n") != 1 || !strings.Contains(errs, "install chromium") || len(left) > 0 {
			t.Errorf("%q: %d %q, left %v", args, status, errs, left)
		}
	}
}
