package main

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"flywitness/capture/source"
	"flywitness/drive"
)

func TestImportKeepsEveryValueAtItsTime(t *testing.T) {
	dir := t.TempDir()
	in, out := filepath.Join(dir, "old.csv"), filepath.Join(dir, "session.csv")
	var b strings.Builder
	b.WriteString("Zeit [ms];Drehzahl [1/min];Geschwindigkeit [km/h];Drosselklappe [%]\n")
	for i := range 200 {
		fmt.Fprintf(&b, "%d;%d,5;%d;%d\n", 100*i+7, 1500+3*i, 40+i/20, i%50)
	}
	if err := os.WriteFile(in, []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	var stdout, stderr bytes.Buffer
	if status := logger(context.Background(), []string{"import", in, "--out", out}, nil, &stdout, &stderr); status != 0 {
		t.Fatalf("exit %d: %s", status, stderr.String())
	}
	before, err := opened(in)
	if err != nil {
		t.Fatal(err)
	}
	after, err := opened(out)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{drive.EngineSpeed, drive.VehicleSpeed, drive.Throttle} {
		x, y := before.Channel(name), after.Channel(name)
		if y == nil || y.Len() != x.Len() || x.Len() == 0 {
			t.Fatalf("%s: not all values arrived", name)
		}
		for i := range x.T {
			if x.V[i] != y.V[i] || math.Abs((x.T[i]-x.T[0])-(y.T[i]-y.T[0])) > 1e-6 {
				t.Fatalf("%s, value %d: %v at %v became %v at %v", name, i, x.V[i], x.T[i], y.V[i], y.T[i])
			}
		}
	}
	if after.HeaderValue("imported_sha256_1") != before.SHA256 {
		t.Error("the session does not say which file it came from")
	}
	if status := logger(context.Background(), []string{"import", in, "--out", out}, nil, &stdout, &stderr); status != 1 || !strings.Contains(stderr.String(), "never overwritten") {
		t.Errorf("a second import: exit %d, %s", status, stderr.String())
	}
}

// Whole-second stamps stay what they were: their times are no better for standing in a session file.
// Two files with a part of the channels each are explained, as they are imported together.
func TestPartsAreExplained(t *testing.T) {
	forms := filepath.Join("..", "..", "capture", "csvlog", "testdata", "forms")
	parts := []string{filepath.Join(forms, "part_rpm.csv"), filepath.Join(forms, "part_speed.csv")}
	var stdout, stderr bytes.Buffer
	if status := logger(context.Background(), append([]string{"import", "--explain"}, parts...), nil, &stdout, &stderr); status != 0 {
		t.Errorf("exit %d: %s", status, stderr.String())
	}
	for _, channel := range []string{drive.EngineSpeed, drive.VehicleSpeed} {
		if !strings.Contains(stdout.String(), channel) {
			t.Errorf("%s is not explained: %s", channel, stdout.String())
		}
	}
}

func TestImportKeepsTheStepOfTheStamps(t *testing.T) {
	dir := t.TempDir()
	in, out := filepath.Join(dir, "old.csv"), filepath.Join(dir, "session.csv")
	var b strings.Builder
	b.WriteString("Time (s),RPM,GPS speed (km/h)\n")
	for i := range 200 {
		fmt.Fprintf(&b, "%d,%d,%d\n", i/5, 1500+3*i, 40+i/20)
	}
	if err := os.WriteFile(in, []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	var stdout, stderr bytes.Buffer
	if status := logger(context.Background(), []string{"import", in, "--out", out}, nil, &stdout, &stderr); status != 0 {
		t.Fatalf("exit %d: %s", status, stderr.String())
	}
	l, err := opened(out)
	if err != nil {
		t.Fatal(err)
	}
	if l.StampStep != 1 {
		t.Errorf("stamp step %g s, want 1", l.StampStep)
	}
	if l.Channel(drive.VehicleSpeed) != nil || l.Channel(drive.GPSSpeed) == nil {
		t.Error("a speed that was never logged came out of the import")
	}
}

// Channels that several clocks stamped are still known to be such in a session file.
func TestImportKeepsTheNumberOfClocks(t *testing.T) {
	dir := t.TempDir()
	in, out := filepath.Join(dir, "pairs.csv"), filepath.Join(dir, "session.csv")
	if err := os.WriteFile(in, []byte("Time (s),RPM,Time (s),Speed (km/h)\n0.1,1000,0.12,30\n0.2,1010,0.22,30\n0.3,1020,0.32,31\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	var stdout, stderr bytes.Buffer
	if status := logger(context.Background(), []string{"import", in, "--out", out}, nil, &stdout, &stderr); status != 0 {
		t.Fatalf("exit %d: %s", status, stderr.String())
	}
	l, err := opened(out)
	if err != nil || l.Clocks != 2 {
		t.Errorf("%d clocks, want 2; %v", l.Clocks, err)
	}
}

func TestImportRefusals(t *testing.T) {
	dir := t.TempDir()
	a := filepath.Join(dir, "a.csv")
	if err := os.WriteFile(a, []byte("Time (s),RPM,Speed (km/h)\n0,1000,30\n1,1010,30\n2,1020,31\n3,1030,31\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	if err := os.CopyFS(folder, os.DirFS(filepath.Dir(a))); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args   []string
		status int
		says   string
	}{
		{[]string{"import", a}, 2, "--out"},
		{[]string{"import", "--out", filepath.Join(dir, "x.csv")}, 2, "LOG... is missing"},
		{[]string{"import", filepath.Join(dir, "none.csv"), "--out", filepath.Join(dir, "x.csv")}, 1, "none.csv"},
		{[]string{"import", folder, "--out", filepath.Join(dir, "from-folder.csv")}, 0, ""},
		{[]string{"import", filepath.Join(dir, "nothing-*.csv"), "--out", filepath.Join(dir, "x.csv")}, 1, "no file is called"},
		{[]string{"import", t.TempDir(), "--out", filepath.Join(dir, "x.csv")}, 1, "holds no log"},
		{[]string{"import", a, a, "--out", filepath.Join(dir, "x.csv")}, 1, "one by one"},
	} {
		var stdout, stderr bytes.Buffer
		if status := logger(context.Background(), c.args, nil, &stdout, &stderr); status != c.status || !strings.Contains(stderr.String(), c.says) {
			t.Errorf("%v: exit %d, %q; want %d with %q", c.args, status, stderr.String(), c.status, c.says)
		}
	}
}

// opened is one log in a file.
func opened(path string) (*drive.Log, error) {
	logs, err := source.Open(context.Background(), path, source.Options{})
	if err != nil {
		return nil, err
	}
	return logs[0], nil
}

// Two values of one channel at one time, and values that stand in another order than their times: each becomes a row of its own, in order.
func TestImportPutsValuesInOrder(t *testing.T) {
	l := &drive.Log{Path: "made", Channels: []*drive.Channel{
		{Name: drive.EngineSpeed, T: []float64{3, 1, 2, 2}, V: []float64{3000, 1000, 2000, 2001}},
		{Name: drive.VehicleSpeed, T: []float64{2, 4}, V: []float64{20, 40}},
	}}
	out := filepath.Join(t.TempDir(), "session.csv")
	rows, err := importLogs([]*drive.Log{l}, out, time.Date(2026, 5, 9, 10, 0, 0, 0, time.UTC))
	if err != nil || rows != 5 {
		t.Fatalf("%d rows: %v", rows, err)
	}
	after, err := opened(out)
	if err != nil {
		t.Fatal(err)
	}
	if got := after.Channel(drive.EngineSpeed).V; !slices.Equal(got, []float64{1000, 2000, 2001, 3000}) {
		t.Errorf("engine speeds %v", got)
	}
	if got := after.Channel(drive.VehicleSpeed).V; !slices.Equal(got, []float64{20, 40}) {
		t.Errorf("road speeds %v", got)
	}
}
