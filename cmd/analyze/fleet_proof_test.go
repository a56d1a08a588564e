//go:build proof && linux

package main

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"flywitness/analysis/fleet"
	"flywitness/analysis/stats"
	"flywitness/capture/clock"
	"flywitness/capture/influx"
	"flywitness/drive"
	"flywitness/internal/influxd"
)

const (
	proofVehicles = 100
	proofJobs     = 10
)

// TestProofFleet loads 1,000 drives of 100 vehicles and the findings of as many jobs, and has the page of the fleet
// drawn.
func TestProofFleet(t *testing.T) {
	db := influxd.Start(t)
	s, err := influx.New(influx.Options{URL: db.URL, Bucket: db.Bucket, Token: influxd.Token})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	rnd := rand.New(rand.NewPCG(1, 1))
	start := time.Date(2024, 1, 8, 9, 0, 0, 0, time.UTC)
	began, rows := time.Now(), 0
	var findings []influx.Finding
	for v := range proofVehicles {
		name, rating := fmt.Sprintf("Delivery van %d", v+1), 240+20*float64(rnd.IntN(6))
		for k := range proofJobs {
			at := start.AddDate(0, 0, 70*k+rnd.IntN(30)).Add(time.Duration(v) * time.Minute)
			rows += minute(t, s, name, at)
			for n, side := range []string{fleet.Before, fleet.After} {
				findings = append(findings, toDatabase(fleet.Entry{Vehicle: name, Job: fmt.Sprintf("Check %d", k+1), Side: side, Time: at.AddDate(0, 0, n), Done: "oil",
					Slip: "holds", SlipReason: "No slip seen.", Rating: &rating, Held: stats.Normal(rating*(0.7+0.2*rnd.Float64()), 9),
					Inertia: stats.LogNormal(math.Log(0.15)+0.03*rnd.NormFloat64(), 0.03)}))
			}
		}
	}
	drives := time.Since(began)
	began = time.Now()
	if err := s.WriteFindings(context.Background(), findings); err != nil {
		t.Fatal(err)
	}
	written := time.Since(began)
	page := filepath.Join(t.TempDir(), "fleet.html")
	began = time.Now()
	status, out, errs := run("fleet", "--influx", db.URL, "--bucket", db.Bucket, "--token-file", log(t, "token", influxd.Token), "--report", page)
	drawn := time.Since(began)
	st, err := os.Stat(page)
	if status != 0 || err != nil {
		t.Fatalf("%d, %v, %s", status, err, errs)
	}
	t.Logf("%d drives (%d rows) loaded in %.1f s, %d findings in %.2f s; the page of %d vehicles read and drawn in %.2f s, %.1f MB",
		proofVehicles*proofJobs, rows, drives.Seconds(), len(findings), written.Seconds(), proofVehicles, drawn.Seconds(), float64(st.Size())/(1<<20))
	if drawn > 2*time.Second || out == "" {
		t.Errorf("drawn in %v, at most 2 s", drawn)
	}
}

// TestProofLargeFleet writes the findings of 10,000 vehicles with five jobs each and asks for the fleet: what a
// server and the command need for a chain.
func TestProofLargeFleet(t *testing.T) {
	const vehicles, jobs = 10000, 5
	db := influxd.Start(t)
	s, err := influx.New(influx.Options{URL: db.URL, Bucket: db.Bucket, Token: influxd.Token})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	empty := memory(t, db.PID())
	rnd := rand.New(rand.NewPCG(2, 1))
	start, began := time.Date(2025, 1, 8, 9, 0, 0, 0, time.UTC), time.Now()
	for v := range vehicles {
		var findings []influx.Finding
		name, rating := fmt.Sprintf("Vehicle %d", v+1), 240.0
		for k := range jobs {
			for n, side := range []string{fleet.Before, fleet.After} {
				findings = append(findings, toDatabase(fleet.Entry{Vehicle: name, Job: fmt.Sprintf("Check %d", k+1), Side: side, Time: start.AddDate(0, 0, 90*k+n).Add(time.Duration(v) * time.Second),
					Done: "oil", Slip: "holds", SlipReason: "No slip seen.", Rating: &rating, Held: stats.Normal(200, 9), Inertia: stats.LogNormal(math.Log(0.15)+0.03*rnd.NormFloat64(), 0.03)}))
			}
		}
		if err := s.WriteFindings(context.Background(), findings); err != nil {
			t.Fatal(err)
		}
	}
	written := time.Since(began)
	began = time.Now()
	status, out, errs := run("fleet", "--influx", db.URL, "--bucket", db.Bucket, "--token-file", log(t, "token", influxd.Token))
	if status != 0 || !strings.HasPrefix(out, "10000 vehicles, 50000 jobs.") {
		t.Fatalf("%d, %.200s, %s", status, out, errs)
	}
	t.Logf("%d findings of %d vehicles written in %.0f s; the fleet as text in %.1f s; server's memory %d MB, %d MB before, %d MB on disk", 2*jobs*vehicles, vehicles, written.Seconds(),
		time.Since(began).Seconds(), memory(t, db.PID())>>20, empty>>20, db.Size()>>20)
}

// memory is what a process holds of the machine's, from /proc.
func memory(t *testing.T, pid int) (bytes int64) {
	t.Helper()
	data, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(data)) {
		if n, _ := fmt.Sscanf(line, "VmRSS: %d kB", &bytes); n == 1 {
			return bytes << 10
		}
	}
	t.Fatal("no VmRSS")
	return 0
}

// minute sends a drive of a minute and returns its rows.
func minute(t *testing.T, s *influx.Server, vehicle string, at time.Time) int {
	t.Helper()
	path := filepath.Join(t.TempDir(), "drive.csv")
	w, err := drive.CreateSession(path, []drive.Field{{Key: "created", Value: at.Format(time.RFC3339)}, {Key: "vehicle", Value: vehicle}}, []string{drive.EngineSpeed, drive.VehicleSpeed})
	if err != nil {
		t.Fatal(err)
	}
	const rows = 1200
	for i := range rows {
		if err := w.WriteRow(float64(i)/20, []drive.Cell{{Channel: i % 2, Value: float64(i)}, {Channel: 2, Value: 20}}); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := (&influx.Sender{Server: s, Clock: clock.System{}}).Send(context.Background(), path); err != nil {
		t.Fatal(err)
	}
	return rows
}
