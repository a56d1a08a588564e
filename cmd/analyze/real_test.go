//go:build real

package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"flywitness/analysis"
	"flywitness/analysis/calibrate"
	"flywitness/analysis/slip"
)

// peaks of the histogram of engine speed over road speed (rpm per km/h) of the real car, as the note beside its logs names them.
var peaks = []float64{28.7, 35.1, 47.3, 71}

// TestRealLogs runs learn and slip over a folder of logs of one real, healthy car as a person would, and prints a table. Slip is
// a wrong answer on each of them.
func TestRealLogs(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(os.Getenv("FLYWITNESS_REAL"), "*.csv"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no CSV logs in %q", os.Getenv("FLYWITNESS_REAL"))
	}
	for _, f := range files {
		learnt := runJSON(t, "learn", f)
		judged := runJSON(t, "slip", f)
		var ladder []string
		for _, g := range learnt.Calibration.Gears {
			ladder = append(ladder, fmt.Sprintf("%d: %.1f", g.Gear, g.RPMPerKmh.Value))
			if !onPeak(g) {
				t.Errorf("%s: a gear at %.2f rpm per km/h, seen for %.0f s, lies on no peak", f, g.RPMPerKmh.Value, g.Seconds)
			}
		}
		fmt.Printf("%-14s %-13s %-40s %s\n", filepath.Base(f), judged.Slip.Verdict, strings.Join(ladder, "  "), judged.Slip.Reason)
		if judged.Slip.Verdict == slip.Slips {
			t.Errorf("%s: slips, on a healthy clutch", f)
		}
		if judged.Slip.Reason.String() == "" {
			t.Errorf("%s: a verdict without a reason", f)
		}
	}
}

// onPeak tells whether a gear lies within 2 % of a peak; one that was driven for less than half a minute may do so within its own 95 % interval.
func onPeak(g calibrate.Gear) bool {
	for _, p := range peaks {
		e := g.RPMPerKmh
		if math.Abs(e.Value/p-1) <= 0.02 || g.Seconds < 30 && e.CI95[0] <= 1.02*p && e.CI95[1] >= 0.98*p {
			return true
		}
	}
	return g.Gear == 1 // the weak first gear has no peak of its own
}

func runJSON(t *testing.T, args ...string) *analysis.Result {
	t.Helper()
	var out, errs bytes.Buffer
	if status := analyze(context.Background(), append(args, "--json"), nil, &out, &errs); status != 0 {
		t.Fatalf("analyze %s: exit %d: %s", strings.Join(args, " "), status, errs.String())
	}
	var r analysis.Result
	if err := json.Unmarshal(out.Bytes(), &r); err != nil {
		t.Fatal(err)
	}
	return &r
}
