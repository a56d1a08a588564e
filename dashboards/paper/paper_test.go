package paper

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// The sizes of the sheets in points of 1/72 inch: ISO 216 A4 is 210 x 297 mm; ANSI/ASME Y14.1 size A (letter) is 8.5 x 11 in.
// From memory.
func TestPrintsOnBothPapers(t *testing.T) {
	if _, err := Find(); err != nil {
		t.Skip(err)
	}
	if _, err := exec.LookPath("pdfinfo"); err != nil {
		t.Skip("no pdfinfo on this machine: install poppler-utils")
	}
	for size, want := range map[Size]string{A4: "594.96 x 841.92", Letter: "612 x 792"} {
		pdf, err := Print(t.Context(), []byte("<!DOCTYPE html><style>"+size.CSS()+"</style><p>one sheet"))
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), "a.pdf")
		if err := os.WriteFile(path, pdf, 0o600); err != nil {
			t.Fatal(err)
		}
		info, err := exec.Command("pdfinfo", path).Output()
		if err != nil || !strings.Contains(string(info), want) || !strings.Contains(string(info), "Pages:           1\n") {
			t.Errorf("%s: %v\n%s", size, err, info)
		}
	}
}

func TestNoBrowser(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	t.Setenv(Variable, "")
	if path, err := Find(); err == nil {
		t.Skipf("%s lies outside the path", path)
	}
	if _, err := Print(t.Context(), nil); !errors.Is(err, errNoBrowser) || strings.Contains(err.Error(), "\n") {
		t.Errorf("%v", err)
	}
	t.Setenv(Variable, "nowhere")
	if _, err := Find(); err == nil || !strings.Contains(err.Error(), "nowhere") {
		t.Errorf("%v", err)
	}
}

// A program that is no browser gives one clear line, not an empty PDF.
func TestABrowserThatPrintsNothing(t *testing.T) {
	fake := filepath.Join(t.TempDir(), "browser")
	if err := os.WriteFile(fake, []byte("#!/bin/sh\necho first >&2\necho it broke >&2\nexit 3\n"), 0o700); err != nil {
		t.Fatal(err)
	}
	t.Setenv(Variable, fake)
	if _, err := Print(t.Context(), nil); err == nil || !strings.Contains(err.Error(), "it broke") || strings.Contains(err.Error(), "\n") {
		t.Errorf("%v", err)
	}
}

func TestSizeIsAFlag(t *testing.T) {
	var s Size
	if err := s.Set("A4"); err != nil || s != A4 || s.CSS() == "" {
		t.Errorf("%v %q", err, s)
	}
	if err := s.Set("foolscap"); err == nil || Size("").CSS() != "" {
		t.Errorf("%v", err)
	}
}
