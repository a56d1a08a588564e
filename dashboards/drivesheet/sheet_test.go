package drivesheet

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"flywitness/analysis/plan"
	"flywitness/dashboards/paper"
	"flywitness/figure"
	"flywitness/vehicle"
)

func car(t *testing.T) *vehicle.Vehicle {
	t.Helper()
	v, _, err := vehicle.Load("../../testdata/demo/mule.toml")
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// Each run of the plan has a box, each session a line for its recording with room for the digits of its hash.
func TestABoxForEachRun(t *testing.T) {
	f := plan.Make(car(t), plan.Question{Change: 0.1, Checklist: true, Road: plan.Road{SpeedLimit: 100 / 3.6}})
	boxes := 0
	for _, s := range Steps(f, figure.Metric) {
		boxes += s.Boxes
	}
	s := plan.Usual()
	if want := f.RunsPerSession + s.InGear + s.Coasts + s.FirstGearPulls; boxes != want {
		t.Errorf("%d boxes for %d runs", boxes, want)
	}
	var b bytes.Buffer
	if err := Write(&b, Sheet{Plan: f, Title: `<script>alert(1)</script>`, Car: "Bench & mule"}); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	if n := strings.Count(text, `class="ticks"`); n != 2*3 {
		t.Errorf("%d rows of boxes", n)
	}
	if n := strings.Count(text, `class="digits"`); n != 2**f.Sessions || strings.Count(text, "<span></span>") != hashDigits*n {
		t.Errorf("%d places for a hash, %d sessions a side", n, *f.Sessions)
	}
	for _, want := range []string{"before the work", "after the work", "battery charged", "SHA-256", "Bench &amp; mule", "&lt;script&gt;", "never the screen"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q", want)
		}
	}
	if strings.Contains(text, "<script>") {
		t.Error("a title is taken as part of the page")
	}
}

// A car that is not described, a plan that no number of sessions fulfils: the sheet still says what to drive.
func TestLittleIsKnown(t *testing.T) {
	for _, change := range []float64{0.002, 0.01, 1} {
		f := plan.Make(nil, plan.Question{Change: change})
		var b bytes.Buffer
		if err := Write(&b, Sheet{Plan: f, Units: figure.US}); err != nil {
			t.Fatal(err)
		}
		if n := strings.Count(b.String(), `class="digits"`); n < 2 || n > 2*mostRecordings {
			t.Errorf("change %g: %d places for a hash", change, n)
		}
		if !strings.Contains(b.String(), "Full-load pulls: "+f.WhyNoPull.String()) {
			t.Errorf("change %g: it does not say why there is no pull", change)
		}
	}
}

// A sheet of paper for each side, on either paper.
func TestTwoSheetsOfPaper(t *testing.T) {
	if _, err := paper.Find(); err != nil {
		t.Skip(err)
	}
	if _, err := exec.LookPath("pdfinfo"); err != nil {
		t.Skip("no pdfinfo on this machine: install poppler-utils")
	}
	f := plan.Make(car(t), plan.Question{Change: 0.03, Road: plan.Road{SpeedLimit: 100 / 3.6}})
	for _, size := range []paper.Size{paper.A4, paper.Letter} {
		var b bytes.Buffer
		s := Sheet{Plan: f, Paper: size, Title: strings.Repeat("Clutch and flywheel ", 3), Car: "Bench mule", Done: strings.Repeat("a lighter flywheel ", 4)}
		if err := Write(&b, s); err != nil {
			t.Fatal(err)
		}
		pdf, err := paper.Print(t.Context(), b.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), "sheet.pdf")
		if dir := os.Getenv("PAGE_PICTURES"); dir != "" {
			path = filepath.Join(dir, fmt.Sprintf("drive-sheet-%s.pdf", size))
		}
		if err := os.WriteFile(path, pdf, 0o644); err != nil {
			t.Fatal(err)
		}
		info, err := exec.Command("pdfinfo", path).Output()
		if err != nil || !strings.Contains(string(info), "Pages:           2\n") {
			t.Errorf("%s: %v\n%s", size, err, info)
		}
	}
}
