package source

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"flywitness/capture/csvlog"
	"flywitness/drive"
	"flywitness/finding"
)

func write(t *testing.T, dir, name, text string) string {
	t.Helper()
	path := filepath.Join(dir, name)
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// column is a table of one channel: n values from a time on, ten a second, stamped by stamp.
func column(heading, unit string, from float64, n int, stamp string) string {
	var b strings.Builder
	b.WriteString("Time," + heading + "\n")
	for i := range n {
		fmt.Fprintf(&b, stamp+",%d %s\n", from+float64(i)/10, 900+i, unit)
	}
	return b.String()
}

func all(t *testing.T, opt csvlog.Options, names ...string) ([][]*drive.Log, error) {
	t.Helper()
	sets, err := OpenAll(context.Background(), names, Options{Options: opt}, func() {})
	if err != nil {
		return nil, err
	}
	return sets, Idle(slices.Concat(sets...), Options{Options: opt})
}

// Files of one folder with a channel each are one drive, each value at its own time.
func TestFilesOfOneChannelEach(t *testing.T) {
	for name, c := range map[string]struct {
		stamp string
		dated bool
	}{"a clock of the logger's own": {"%.2f", false}, "dated": {"2026-05-01T10:00:%05.2fZ", true}} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			rpm := write(t, dir, "rpm.csv", column("Engine RPM", "rpm", 5, 50, c.stamp))
			speed := write(t, dir, "speed.csv", strings.ReplaceAll(column("Vehicle speed", "km/h", 5.25, 40, c.stamp), ",9", ","))
			sets, err := all(t, csvlog.Options{}, rpm, speed)
			if err != nil || len(sets[0]) != 1 || len(sets[1]) != 0 {
				t.Fatalf("%v, %v", sets, err)
			}
			l := sets[0][0]
			n, v := l.Channel(drive.EngineSpeed), l.Channel(drive.VehicleSpeed)
			if n.Len() != 50 || v.Len() != 40 || n.T[0] != 0 || v.T[0] != 0.25 || l.Created.IsZero() == c.dated {
				t.Errorf("%d values from %v s, %d from %v s, %v", n.Len(), n.T[0], v.Len(), v.T[0], l.Created)
			}
			if !slices.ContainsFunc(l.Warnings, func(w drive.Warning) bool { return w.Code == finding.JoinedFiles }) || len(l.SHA256) != 64 {
				t.Errorf("it says %v, SHA-256 %q", l.Warnings, l.SHA256)
			}
		})
	}
}

// What does not make one drive keeps its error.
func TestFilesThatDoNotJoin(t *testing.T) {
	dir := t.TempDir()
	rpm := write(t, dir, "rpm.csv", column("Engine RPM", "rpm", 5, 50, "%.2f"))
	again := write(t, dir, "again.csv", column("Engine RPM", "rpm", 5, 50, "%.2f"))
	dated := write(t, dir, "dated.csv", column("Vehicle speed", "km/h", 5, 50, "2026-05-01T10:00:%05.2fZ"))
	speed := write(t, t.TempDir(), "speed.csv", column("Vehicle speed", "km/h", 5, 50, "%.2f"))
	for _, names := range [][]string{{rpm}, {rpm, again}, {rpm, dated}, {rpm, speed}} {
		if _, err := all(t, csvlog.Options{}, names...); err == nil || !strings.Contains(err.Error(), "no column for") {
			t.Errorf("%v: %v", names, err)
		}
	}
}

// A --map that changes nothing in any log is an error; where it changes one log, nothing is said of the others.
func TestOptionThatChangesNothing(t *testing.T) {
	dir := t.TempDir()
	rows := ",1000,30\n"
	plain := write(t, dir, "plain.csv", "Time (s),RPM,Speed (km/h)\n0"+rows+"1"+rows)
	two := write(t, dir, "two.csv", "Time (s),RPM,Engine speed,Speed (km/h)\n0,900"+rows+"1,901"+rows)
	opt := csvlog.Options{Map: []string{"engine_speed_rpm=RPM"}}
	if _, err := all(t, opt, plain); err == nil || !strings.Contains(err.Error(), `--map "engine_speed_rpm=RPM" changes nothing`) {
		t.Errorf("one log: %v", err)
	}
	sets, err := all(t, opt, plain, two)
	if err != nil {
		t.Fatal(err)
	}
	for _, set := range sets {
		for _, w := range set[0].Warnings {
			if w.Code == finding.IdleOption {
				t.Errorf("it says %s", w)
			}
		}
	}
}
