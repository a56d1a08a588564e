package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"flywitness/analysis"
	"flywitness/analysis/fleet"
	"flywitness/analysis/stats"
	"flywitness/capture/influx"
	"flywitness/cmd/internal/cli"
)

// toDatabase says an entry in the names of the database, which are those of the JSON.
func toDatabase(e fleet.Entry) influx.Finding {
	return influx.Finding{Vehicle: e.Vehicle, Job: e.Job, Side: e.Side, Time: e.Time,
		Texts: map[string]string{"done": e.Done, "slip_verdict": e.Slip, "slip_reason": e.SlipReason,
			"compare_verdict": e.Compare},
		Flags:   map[string]bool{"bedding_in": e.BeddingIn},
		Numbers: map[string]*float64{"torque_rating_nm": e.Rating, "most_slip_pct": e.MostSlip, "smallest_detectable_pct": e.Smallest},
		Estimates: map[string]*influx.Estimate{"highest_torque_held_nm": toEstimate(e.Held),
			"onset_torque_nm": toEstimate(e.Onset), "inertia_kgm2": toEstimate(e.Inertia)},
	}
}

func fromDatabase(f influx.Finding) fleet.Entry {
	return fleet.Entry{Vehicle: f.Vehicle, Job: f.Job, Side: f.Side, Time: f.Time,
		Done: f.Texts["done"], BeddingIn: f.Flags["bedding_in"],
		Slip: f.Texts["slip_verdict"], SlipReason: f.Texts["slip_reason"], Compare: f.Texts["compare_verdict"],
		Rating: f.Numbers["torque_rating_nm"], MostSlip: f.Numbers["most_slip_pct"], Smallest: f.Numbers["smallest_detectable_pct"], Held: fromEstimate(f.Estimates["highest_torque_held_nm"]),
		Onset: fromEstimate(f.Estimates["onset_torque_nm"]), Inertia: fromEstimate(f.Estimates["inertia_kgm2"])}
}

func toEstimate(e *stats.Estimate) *influx.Estimate {
	if e == nil {
		return nil
	}
	return &influx.Estimate{Value: e.Value, SD: e.SD, Low: e.CI95[0], High: e.CI95[1]}
}

func fromEstimate(e *influx.Estimate) *stats.Estimate {
	if e == nil {
		return nil
	}
	return &stats.Estimate{Value: e.Value, SD: e.SD, CI95: [2]float64{e.Low, e.High}}
}

// entriesInDatabase reads what was written by fw-analyze job --influx.
func entriesInDatabase(ctx context.Context, db *influx.Server, since time.Time) ([]fleet.Entry, error) {
	findings, err := db.Findings(ctx, since)
	if err != nil {
		return nil, err
	}
	var out []fleet.Entry
	for _, f := range findings {
		out = append(out, fromDatabase(f))
	}
	return out, nil
}

// mostResult is the largest result.json that is read.
const mostResult = 64 << 20

// entriesInFolder reads every result.json below a folder. One that cannot be used is told and passed over.
func entriesInFolder(dir string, since time.Time, stderr io.Writer) ([]fleet.Entry, error) {
	var out []fleet.Entry
	found := 0
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil && path == dir:
			return fmt.Errorf("cannot read the folder of results: %w", err)
		case err != nil || d.IsDir() || d.Name() != "result.json" || !d.Type().IsRegular():
			return nil
		}
		found++
		list, err := entriesInFile(path)
		if err != nil {
			fmt.Fprintln(stderr, cli.OneLine(fmt.Sprintf("%s is passed over: %v", path, err)))
		}
		for _, e := range list {
			if !e.Time.Before(since) {
				out = append(out, e)
			}
		}
		return nil
	})
	if err == nil && len(out) == 0 {
		err = fmt.Errorf("%s: none of the %d files named result.json below it can be used; fw-analyze job --out writes them",
			dir, found)
	}
	return out, err
}

func entriesInFile(path string) ([]fleet.Entry, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	var r analysis.Result
	if err := json.NewDecoder(io.LimitReader(f, mostResult)).Decode(&r); err != nil {
		return nil, fmt.Errorf("it is no result of analyze: %s", strings.TrimPrefix(err.Error(), "json: "))
	}
	return analysis.FleetEntries(&r, "")
}
