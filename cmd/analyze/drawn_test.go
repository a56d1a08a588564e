package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"flywitness/analysis"
	"flywitness/capture/csvlog"
	"flywitness/capture/source"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/numbers"
)

// A logger that draws lines between slow replies must not be believed more than one that writes the replies alone. The
// drives are those of the demo with every reply but one in so many left out.
func TestDrawnLinesClaimNoMoreThanTheReplies(t *testing.T) {
	numbers.Only(t)
	for _, name := range []string{"before/monday.csv", "after/friday.csv"} {
		for _, every := range []float64{0.5, 1} {
			l := readDemo(t, name)
			alone, lines := tables(l, every)
			a, b := slipOf(t, alone), slipOf(t, lines)
			if !finding.Text(b.Warnings).Has(finding.DrawnLines) {
				t.Errorf("%s, %g s: nothing is said of the lines: %v", name, every, b.Warnings)
			}
			if b.Calibration.Period < 0.9*every {
				t.Errorf("%s: values every %g s pass for one every %g s", name, every, b.Calibration.Period)
			}
			if b.Slip.SmallestSeconds != nil && a.Slip.SmallestSeconds != nil &&
				*b.Slip.SmallestSeconds < math.Min(4, *a.Slip.SmallestSeconds)-0.2 {
				t.Errorf("%s, %g s: a slip of %.1f s is said to show, and of %.1f s with the replies alone", name, every,
					*b.Slip.SmallestSeconds, *a.Slip.SmallestSeconds)
			}
			if strings.HasPrefix(name, "after") && b.Slip.Verdict == "slips" {
				t.Errorf("%s, %g s: a clutch that holds is said to slip", name, every)
			}
			t.Logf("%s, %g s: %s", name, every, b.Slip.Verdict)
		}
	}
}

func readDemo(t *testing.T, name string) *drive.Log {
	t.Helper()
	f, err := os.Open(filepath.Join(demo, name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	l, err := source.Read(f, name, csvlog.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return l
}

var tableChannels = []string{drive.EngineSpeed, drive.VehicleSpeed, drive.EngineLoad}

// tables returns the rows of the replies that are left, and those of lines between them, twenty a second.
func tables(l *drive.Log, every float64) (alone, lines [][]string) {
	var kept []*drive.Channel
	_, last := l.Span()
	for i, name := range tableChannels {
		c := &drive.Channel{Name: name}
		from := l.Channel(name)
		for k, next := 0, 0.0; k < from.Len(); k++ {
			if from.T[k] < next {
				continue
			}
			next = from.T[k] + every
			c.T, c.V = append(c.T, from.T[k]), append(c.V, from.V[k])
			row := []string{fmt.Sprintf("%.3f", from.T[k]), "", "", ""}
			row[i+1] = fmt.Sprint(from.V[k])
			alone = append(alone, row)
		}
		kept = append(kept, c)
		last = math.Min(last, c.T[c.Len()-1])
	}
	place := make([]int, len(kept))
	for i := 20; float64(i)*0.05 < last; i++ {
		at := float64(i) * 0.05
		row := []string{fmt.Sprintf("%.2f", at)}
		for k, c := range kept {
			for c.T[place[k]+1] < at {
				place[k]++
			}
			p := place[k]
			row = append(row, fmt.Sprintf("%.2f", c.V[p]+(c.V[p+1]-c.V[p])*(at-c.T[p])/(c.T[p+1]-c.T[p])))
		}
		lines = append(lines, row)
	}
	return alone, lines
}

func slipOf(t *testing.T, rows [][]string) *analysis.Result {
	t.Helper()
	var b strings.Builder
	b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h),Engine load (%)\n")
	for _, r := range rows {
		b.WriteString(strings.Join(r, ",") + "\n")
	}
	path := filepath.Join(t.TempDir(), "log.csv")
	if err := os.WriteFile(path, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	status, out, errs := run("slip", "--json", "--vehicle", filepath.Join(demo, "mule.toml"), path)
	var r analysis.Result
	if err := json.Unmarshal([]byte(out), &r); status != 0 || err != nil {
		t.Fatalf("status %d, %v: %s", status, err, errs)
	}
	return &r
}
