package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"flywitness/analysis"
	"flywitness/analysis/air"
	"flywitness/internal/numbers"
)

// inAir writes the logs of a side of the demo with the air of a day beside them.
func inAir(t *testing.T, side string, kPa, tempC, until float64) string {
	t.Helper()
	dir := t.TempDir()
	logs, err := filepath.Glob(filepath.Join(demo, side, "*.csv"))
	if err != nil || len(logs) == 0 {
		t.Fatal(err)
	}
	for _, path := range logs {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		var b strings.Builder
		row := 0
		for line := range strings.Lines(string(data)) {
			if strings.HasPrefix(line, "#") {
				continue
			}
			if at, err := strconv.ParseFloat(line[:strings.IndexByte(line, ',')], 64); err == nil && at > until {
				break
			}
			line = line[:strings.LastIndexByte(line, ',')] // without its check
			switch {
			case row == 0:
				line += ",barometric_pressure_kpa,ambient_temp_c"
			case row%100 == 1:
				line += fmt.Sprintf(",%g,%g", kPa, tempC)
			default:
				line += ",,"
			}
			row++
			b.WriteString(line + "\n")
		}
		if err := os.WriteFile(filepath.Join(dir, filepath.Base(path)), []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// Pulls of two days stand in standard air beside what was measured, when it is asked for and the engine is not charged; else not.
func TestStandardAir(t *testing.T) {
	numbers.Only(t)
	before, after := inAir(t, "before", 101, 8, math.Inf(1)), inAir(t, "after", 97, 28, math.Inf(1))
	natural := vehicleWith(t, `fuel = "petrol"`, "fuel = \"petrol\"\naspiration = \"natural\"")
	args := []string{"compare", "--before", before, "--after", after}
	status, out, errs := run(append(args, "--vehicle", natural, "--standard-air", "j1349", "--json")...)
	if status != 0 {
		t.Fatal(errs)
	}
	var r analysis.Result
	if err := json.Unmarshal([]byte(out), &r); err != nil || r.StandardAir == nil {
		t.Fatal(err, r.StandardAir)
	}
	sides := map[string]int{}
	for _, p := range r.StandardAir.Pulls {
		if p.Standard == nil {
			t.Fatalf("%+v", p)
		}
		sides[p.Side]++
		// The clutch of before carries 250 N m and slips above. What passes through a clutch that slips is no torque of the
		// engine; in second gear it held, since the engine takes more of its torque to turn itself faster.
		if p.Side == "before" && p.Torque.Value > 250 {
			t.Errorf("a pull of %.1f N m counts before the job", p.Torque.Value)
		}
		if p.Factor.Value > 1 != (p.Side == "after") || math.Abs(p.Standard.Value/p.Torque.Value-p.Factor.Value) > 1e-9 {
			t.Errorf("%s: factor %.3f, %.1f N m measured, %.1f in standard air", p.Side, p.Factor.Value, p.Torque.Value, p.Standard.Value)
		}
	}
	if sides["before"] != 2 || sides["after"] < 5 || r.StandardAir.Method != air.J1349 {
		t.Errorf("pulls %v, without %v", sides, r.StandardAir.Without)
	}
	report := filepath.Join(t.TempDir(), "page.html")
	args = []string{"compare", "--before", inAir(t, "before", 101, 8, 300), "--after", after} // before its first pull
	_, out, _ = run(append(args, "--vehicle", natural, "--standard-air", "iso1585", "--report", report)...)
	page, err := os.ReadFile(report)
	for _, text := range []string{out, strings.ReplaceAll(string(page), "\u00a0", " ")} {
		if err != nil || !strings.Contains(text, "Pulls in standard air (ISO 1585)") || !strings.Contains(text, "97.0 kPa, 28 C") ||
			!strings.Contains(text, "No pull before the job") {
			t.Errorf("%v: neither text nor page may leave it out: %.200s", err, text)
		}
	}
	_, out, _ = run(append(args, "--vehicle", filepath.Join(demo, "mule.toml"), "--standard-air", "j1349")...)
	if !strings.Contains(strings.Join(strings.Fields(out), " "), "Nothing was brought to standard air: the vehicle file does not say how the engine breathes") {
		t.Errorf("an engine that may be charged:\n%s", out)
	}
	if _, out, _ = run(append(args, "--vehicle", natural)...); strings.Contains(out, "standard air") {
		t.Error("it is corrected without being asked for")
	}
	if status, _, errs := run(append(args, "--standard-air", "sae")...); status != 2 || !strings.Contains(errs, "j1349 or iso1585") {
		t.Errorf("%d %s", status, errs)
	}
}
