package main

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"flywitness/cmd/internal/cli"
	"flywitness/internal/numbers"
	"flywitness/job"
	"flywitness/vehicle"
)

// The files of a new job are read by the program as they were meant, with what the log taught in them.
func TestNewJobIsReadAsItWasMeant(t *testing.T) {
	numbers.Only(t)
	dir := filepath.Join(t.TempDir(), "mule")
	status, out, errs := run("job", "--new", dir, "--log", demo+"/before/monday.csv", "--name", `Bench "mule"`, "--registration", "FW 26 MULE", "--customer", "M. Sample",
		"--done", "lighter flywheel", "--mass", "2888lb", "--weighed", "--gearbox", "manual", "--fuel", "petrol", "--limit-rpm", "6800", "--rating", "250 lb-ft", "--speed-limit", "60mph")
	if status != 0 {
		t.Fatal(errs)
	}
	v, warnings, err := vehicle.Load(filepath.Join(dir, "car.toml"))
	if err != nil || len(warnings) > 0 {
		t.Fatalf("%v %v", err, warnings)
	}
	if v.Name != `Bench "mule"` || math.Abs(v.Mass-1310) > 0.1 || !v.Weighed || v.Gearbox.Type != vehicle.Manual || v.Engine.Fuel != "petrol" || v.Engine.LimitRPM != 6800 {
		t.Errorf("read %+v", v)
	}
	// The demo's gears in rpm per km/h from its ratios, final drive and tyre; its dial shows a little more than the truth.
	for i, ratio := range []float64{3.42, 1.95, 1.36, 1.03, 0.83} {
		if want := ratio * 4.06 / (1.93 * 0.06); len(v.Gearbox.Learnt) != 5 || math.Abs(v.Gearbox.Learnt[i]/want-1) > 0.04 {
			t.Fatalf("gearing %v, gear %d should be near %.1f", v.Gearbox.Learnt, i+1, want)
		}
	}
	if v.Clutch != nil {
		t.Error("the rating of a clutch that is not fitted yet is held against the old one")
	}
	car, err := os.ReadFile(filepath.Join(dir, "car.toml"))
	if err != nil || !strings.Contains(string(car), "# torque_rating_nm = 339\n") {
		t.Errorf("%v: no rating to uncomment in\n%s", err, car)
	}
	sheet, err := os.ReadFile(filepath.Join(dir, "drive-sheet.html"))
	for _, want := range []string{"FW 26 MULE", "M. Sample", "SHA-256", "lighter flywheel", "97 km/h"} {
		if err != nil || !strings.Contains(string(sheet), want) {
			t.Errorf("%v: no %q on the drive sheet", err, want)
		}
	}
	if !strings.Contains(out, "fw-analyze job "+dir+"\n") {
		t.Errorf("no next step in\n%s", out)
	}
	// A side that is not driven yet is left out; a job without any drive says where it looked.
	if status, _, errs := run("job", dir, "--out", filepath.Join(dir, "report")); status != cli.StatusInput || !strings.Contains(errs, `"before" holds no recording`) {
		t.Errorf("%d %s", status, errs)
	}
	copyLogs(t, demo+"/before", filepath.Join(dir, "before"))
	if status, _, errs := run("job", dir); status != 0 || !strings.Contains(errs, `"after" holds no recording`) {
		t.Errorf("%d %s", status, errs)
	}
	if !exists(filepath.Join(dir, "job-report", "report.html")) {
		t.Error("no report in the folder of the job")
	}
	j, _, err := job.Load(filepath.Join(dir, "job.toml"))
	if err != nil || j.Title != `Clutch and flywheel, Bench "mule"` || j.Done != "lighter flywheel" || len(j.Before) != 2 {
		t.Errorf("%+v %v", j, err)
	}
}

// From two logs to the report in two commands.
func TestNewJobFromTwoLogs(t *testing.T) {
	numbers.Only(t)
	dir := filepath.Join(t.TempDir(), "two logs")
	status, out, errs := run("job", "--new", dir, "--log", demo+"/before", "--before", demo+"/before/monday.csv", "--after", demo+"/after", "--mass", "1310", "--rating", "340", "--gearbox", "manual", "--json")
	if status != 0 {
		t.Fatal(errs)
	}
	var made struct {
		New madeJob
	}
	if err := json.Unmarshal([]byte(out), &made); err != nil || made.New.Logs != 3 || made.New.Gears != 5 || len(made.New.Open) != 2 {
		t.Errorf("%v %+v", err, made)
	}
	v, _, err := vehicle.Load(filepath.Join(dir, "car.toml"))
	if err != nil || v.Clutch == nil || v.Clutch.TorqueRating != 340 {
		t.Errorf("%v %+v", err, v)
	}
	status, out, errs = run("job", dir, "--out", filepath.Join(dir, "report"))
	if status != 0 || !strings.Contains(out, "The clutch holds") || !strings.Contains(out, "rotating inertia fell") {
		t.Errorf("%d %s\n%s", status, errs, out)
	}
}

// Nothing is overwritten, and what cannot be meant writes nothing at all.
func TestNewJobNeverOverwrites(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"car.toml", "job.toml", "drive-sheet.html", "drive-sheet.pdf"} {
		at := filepath.Join(dir, name[:4])
		if err := os.Mkdir(at, 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(at, name), []byte("mine"), 0o644); err != nil {
			t.Fatal(err)
		}
		status, _, errs := run("job", "--new", at)
		if list, _ := os.ReadDir(at); status != cli.StatusInput || !strings.Contains(errs, name+" exists and is not overwritten") || len(list) != 1 {
			t.Errorf("%s: %d %s, %d files", name, status, errs, len(list))
		}
		os.RemoveAll(at)
	}
	twice := filepath.Join(dir, "twice")
	if err := os.MkdirAll(filepath.Join(twice, "before"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(twice, "before", "monday.csv"), []byte("mine"), 0o644); err != nil {
		t.Fatal(err)
	}
	for name, args := range map[string][]string{
		"would both be":             {"--new", twice, "--before", demo + "/before/monday.csv"},
		"goes with --new":           {"--mass", "1310", "job.toml", "--out", dir},
		"runs a job":                {"--new", twice, "--out", dir},
		"stands beside --new":       {"--new", twice, "job.toml"},
		"is a file":                 {"--new", filepath.Join(twice, "before", "monday.csv")},
		"1,310 can mean two":        {"--new", twice, "--mass", "1,310"},
		"a number, in kg or lb":     {"--new", twice, "--mass", "1310mm"},
		"tyre size such as":         {"--new", twice, "--tyre", "round"},
		"one of manual, automatic":  {"--new", twice, "--gearbox", "stick"},
		"petrol, diesel":            {"--new", twice, "--fuel", "coal"},
		"must lie between 0 and":    {"--new", twice, "--mass", "1e9"},
		"must fall from gear":       {"--new", twice, "--ratios", "1 2 3 / 4"},
		"no speed that is driven":   {"--new", twice, "--speed-limit", "9000"},
		"no clutch of a car":        {"--new", twice, "--rating", "1e9"},
		"number above zero":         {"--new", twice, "--limit-rpm", "-5"},
		"cannot read the log":       {"--new", twice, "--log", "nowhere.csv"},
		"is no recording by its na": {"--new", twice, "--before", demo + "/truth.json"},
	} {
		status, out, errs := run(append([]string{"job"}, args...)...)
		if status == 0 || out != "" || !strings.Contains(errs, name) || exists(filepath.Join(twice, "car.toml")) {
			t.Errorf("%v: %d %q, want %q", args, status, errs, name)
		}
	}
}
