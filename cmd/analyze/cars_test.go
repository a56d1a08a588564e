package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A log of another car on the other side is an error, not a finding.
func TestTwoCarsAreNotCompared(t *testing.T) {
	dir := t.TempDir()
	write := func(name, vin string) string {
		path := filepath.Join(dir, name)
		text := "# format: session 1\n# created: 2026-05-01T10:00:00Z\n# vin: " + vin + "\ntime_s,engine_speed_rpm,vehicle_speed_kmh,latency_ms\n" +
			"0,850,0,20\n0.1,851,0,20\n0.2,849,0,20\n0.3,852,0,20\n"
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	a, b := write("a.csv", "FLYWTNSS000MULE01"), write("b.csv", "FLYWTNSS000MULE02")
	var out, errs bytes.Buffer
	status := analyze(context.Background(), []string{"compare", "--before", a, "--after", b}, nil, &out, &errs)
	if status != 1 || !strings.Contains(errs.String(), "two cars") || !strings.Contains(errs.String(), "MULE02") {
		t.Errorf("exit %d, %q", status, errs.String())
	}
}
