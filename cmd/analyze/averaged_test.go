package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/analysis"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/numbers"
)

// A logger that averages engine speed must not be believed more than one that writes what it read. The drive is that of
// the demo at twenty values a second, with a jitter (4 rpm) of its own.
func TestAveragesClaimNoMoreThanTheValues(t *testing.T) {
	numbers.Only(t)
	for _, name := range []string{"before/tuesday.csv", "after/friday.csv"} {
		_, rows := tables(readDemo(t, name), 0)
		raw := quickAverage(t, rows, 1)
		for _, m := range []int{6, 12, 20} {
			r := quickAverage(t, rows, m)
			if !finding.Text(r.Warnings).Has(finding.AveragedValues) {
				t.Errorf("%s, %d values: nothing is said of the average: %v", name, m, r.Warnings)
			}
			for _, p := range r.Slip.Pulls {
				for _, q := range raw.Slip.Pulls {
					if q.Gear == p.Gear && math.Abs(q.Start-p.Start) < 1 && better(p.SmallestDetectable, q.SmallestDetectable) &&
						!better(q.SmallestSeconds, p.SmallestSeconds) {
						t.Errorf("%s, %d values: at %.0f s slip of %.2f %% in %.1f s is said to show, without an average %.2f %% in %.1f s",
							name, m, p.Start, *p.SmallestDetectable, *p.SmallestSeconds, *q.SmallestDetectable, *q.SmallestSeconds)
					}
				}
			}
			if r.Slip.Verdict != raw.Slip.Verdict && r.Slip.Verdict != "inconclusive" {
				t.Errorf("%s, %d values: %s, without an average %s", name, m, r.Slip.Verdict, raw.Slip.Verdict)
			}
		}
		if finding.Text(raw.Warnings).Has(finding.AveragedValues) {
			t.Errorf("%s: values that were not averaged are said to be", name)
		}
	}
}

func better(a, b *float64) bool { return a != nil && b != nil && *a < *b }

// quickAverage judges rows of time, engine speed, road speed (whole km/h again) and load, engine speed averaged over the
// last m.
func quickAverage(t *testing.T, rows [][]string, m int) *analysis.Result {
	rng := rand.New(rand.NewPCG(7, 7))
	var raw []float64
	out := make([][]string, len(rows))
	sum := 0.0
	for i, row := range rows {
		var rpm, kmh float64
		if _, err := fmt.Sscan(row[1]+" "+row[2], &rpm, &kmh); err != nil {
			t.Fatal(drive.EngineSpeed, err)
		}
		raw = append(raw, math.Round(4*(rpm+4*rng.NormFloat64()))/4)
		sum += raw[i]
		if i >= m {
			sum -= raw[i-m]
		}
		out[i] = []string{row[0], fmt.Sprintf("%.2f", sum/float64(min(i+1, m))), fmt.Sprint(math.Floor(kmh + 0.5)), row[3]}
	}
	return slipOf(t, out)
}
