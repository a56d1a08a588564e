//go:build real

package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"flywitness/analysis"
	"flywitness/analysis/calibrate"
	"flywitness/analysis/slip"
)

// realCars are the folders below FLYWITNESS_REAL, each of one real, healthy car, with the peaks of the histogram of engine speed
// over road speed (rpm per km/h) as the note beside the logs names them.
var realCars = []struct {
	folder string
	peaks  []float64
}{
	{"", []float64{28.7, 35.1, 47.3, 71}},
	{"diesel", []float64{16.9, 20.2, 25.7, 37.3, 58.5, 114}},
}

// TestRealLogs runs learn and slip over folders of logs of real, healthy cars as a person would, and prints a table. Slip is
// a wrong answer on each of them.
func TestRealLogs(t *testing.T) {
	logs := 0
	for _, car := range realCars {
		files, err := filepath.Glob(filepath.Join(os.Getenv("FLYWITNESS_REAL"), car.folder, "*.csv*"))
		if err != nil {
			t.Fatal(err)
		}
		logs += len(files)
		for _, f := range files {
			realLog(t, f, car.peaks)
		}
	}
	if logs == 0 {
		t.Fatalf("no CSV logs in %q", os.Getenv("FLYWITNESS_REAL"))
	}
}

// realLog learns and judges one log of a healthy car.
func realLog(t *testing.T, f string, peaks []float64) {
	learnt := runJSON(t, "learn", f)
	judged := runJSON(t, "slip", f)
	var ladder []string
	for _, g := range learnt.Calibration.Gears {
		ladder = append(ladder, fmt.Sprintf("%d: %.1f", g.Gear, g.RPMPerKmh.Value))
		if !onPeak(g, peaks) {
			t.Errorf("%s: a gear at %.2f rpm per km/h, seen for %.0f s, lies on no peak", f, g.RPMPerKmh.Value, g.Seconds)
		}
	}
	fmt.Printf("%-14s %-13s %-54s %s\n", filepath.Base(f), judged.Slip.Verdict, strings.Join(ladder, "  "), judged.Slip.Reason)
	if judged.Slip.Verdict == slip.Slips {
		t.Errorf("%s: slips, on a healthy clutch", f)
	}
	if judged.Slip.Reason.String() == "" {
		t.Errorf("%s: a verdict without a reason", f)
	}
}

// drivenAt is about the engine speed (rpm) of these drives, and cutOff what a speed in whole km/h that is cut off lacks on the mean.
const drivenAt, cutOff = 1500.0, 0.5

// onPeak tells whether a gear lies within 2 % of a peak, or of what the peak would be had the speed not been cut off to whole km/h;
// one that was driven for less than half a minute may do so within its own 95 % interval.
func onPeak(g calibrate.Gear, peaks []float64) bool {
	for _, p := range peaks {
		e, low := g.RPMPerKmh, 0.98*p/(1+cutOff*p/drivenAt)
		if e.Value >= low && e.Value <= 1.02*p || g.Seconds < 30 && e.CI95[0] <= 1.02*p && e.CI95[1] >= low {
			return true
		}
	}
	return g.Gear == 1 // a weak first gear has no peak of its own
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
