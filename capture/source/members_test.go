package source

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"flywitness/capture/csvlog"
	"flywitness/drive"
	"flywitness/finding"
)

// archive writes a zip archive of files, name and text in turn.
func archive(t *testing.T, files ...string) string {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := 0; i < len(files); i += 2 {
		w, err := z.Create(files[i])
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprint(w, files[i+1])
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return write(t, t.TempDir(), "day.zip", b.String())
}

// An archive of several drives is several logs; files of one folder in it with a channel each are one.
func TestArchives(t *testing.T) {
	rpm := column("Engine RPM", "rpm", 5, 50, "%.2f")
	speed := strings.ReplaceAll(column("Vehicle speed", "km/h", 5.25, 40, "%.2f"), ",9", ",")
	whole := "Time (s),Engine RPM (rpm),Speed (km/h)\n0,800,0\n0.1,810,1\n0.2,820,2\n"
	for name, c := range map[string]struct {
		files    []string
		channels []int // of each log
	}{
		"two drives":            {[]string{"a/one.csv", whole, "a/two.csv", whole, "a/readme.txt", "Two drives.\n"}, []int{2, 2}},
		"notes beside a drive":  {[]string{"a/one.csv", whole, "a/notes.txt", "Rain, two up.\n", "a/index.csv", "Drives\n1\n"}, []int{2}},
		"another table beside":  {[]string{"a/one.csv", whole, "a/parts.csv", "Part,Mass (kg)\n1,2\n3,4\n5,6\n"}, []int{2}},
		"a channel each":        {[]string{"a/rpm.csv", rpm, "a/speed.csv", speed}, []int{2}},
		"a channel each, twice": {[]string{"a/rpm.csv", rpm, "a/speed.csv", speed, "b/rpm.csv", rpm, "b/speed.csv", speed}, []int{2, 2}},
	} {
		t.Run(name, func(t *testing.T) {
			path := archive(t, c.files...)
			logs, err := Open(context.Background(), path, Options{})
			if err != nil || len(logs) != len(c.channels) {
				t.Fatalf("%d logs, %v", len(logs), err)
			}
			for i, l := range logs {
				if len(l.Channels) != c.channels[i] || !strings.HasPrefix(l.Path, path) || l.SHA256 == "" {
					t.Errorf("%s: %d channels, SHA-256 %q", l.Path, len(l.Channels), l.SHA256)
				}
			}
			if all, err := Explain(path, Options{}); err != nil || len(all) < len(logs) || all[0].How.Problem != nil {
				t.Errorf("%d logs are explained, %v", len(all), err)
			}
		})
	}
	if _, err := Open(context.Background(), archive(t, "a/rpm.csv", rpm, "b/speed.csv", speed), Options{}); err == nil || !strings.Contains(err.Error(), "no column for") {
		t.Errorf("channels of two folders: %v", err)
	}
}

// sessionOf is a session file of so many rows.
func sessionOf(t *testing.T, rows int) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "s.csv")
	w, err := drive.CreateSession(path, []drive.Field{{Key: "created", Value: "2026-05-09T10:15:00Z"}}, []string{drive.EngineSpeed, drive.VehicleSpeed})
	if err != nil {
		t.Fatal(err)
	}
	for i := range rows {
		if err := w.WriteRow(float64(i)/20, []drive.Cell{{Channel: 0, Value: 900 + float64(i*7919%5000)}, {Channel: 1, Value: float64(i * 104729 % 90)}}); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// A packed session that was not copied in full gives the rows that are there, and says so.
func TestPackedSessionThatBrokeOff(t *testing.T) {
	const rows = 20_000
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	fmt.Fprint(z, sessionOf(t, rows))
	z.Close()
	l, err := Read(bytes.NewReader(packed.Bytes()[:packed.Len()/2]), "s.csv.gz", csvlog.Options{})
	if err != nil {
		t.Fatal(err)
	}
	said := slices.ContainsFunc(l.Warnings, func(w drive.Warning) bool { return w.Code == finding.BrokenOff })
	if l.Rows < rows/3 || l.Rows > rows*2/3 || l.Skipped > 1 || l.Skipped != l.Torn || !said {
		t.Errorf("%d of %d rows, %d skipped, %d torn; it says %v", l.Rows, rows, l.Skipped, l.Torn, l.Warnings)
	}
}

// A file that a recorder goes on writing while it is read gives the rows that were whole; at most its last line is torn.
func TestFileThatGrows(t *testing.T) {
	table := "Time (s),Engine RPM (rpm),Speed (km/h)\n"
	for i := range 2000 {
		table += fmt.Sprintf("%.2f,%d,%d\n", float64(i)/20, 900+i*7919%5000, i*104729%90)
	}
	for name, text := range map[string]string{"a table": table, "a session": sessionOf(t, 2000)} {
		t.Run(name, func(t *testing.T) {
			half := len(text) / 2
			path := write(t, t.TempDir(), "growing.csv", text[:half])
			out, err := os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0)
			if err != nil {
				t.Fatal(err)
			}
			defer out.Close()
			stop, stopped := make(chan bool), make(chan bool)
			go func() {
				defer close(stopped)
				for rest := text[half:]; len(rest) > 0; rest = rest[min(37, len(rest)):] {
					fmt.Fprint(out, rest[:min(37, len(rest))])
					select {
					case <-stop:
						return
					case <-time.After(50 * time.Microsecond):
					}
				}
			}()
			least := 0
			for range 20 {
				logs, err := Open(context.Background(), path, Options{})
				if err != nil {
					t.Fatal(err)
				}
				l := logs[0]
				if l.Rows < max(990, least) || l.Skipped > 1 || l.Skipped != l.Torn {
					t.Errorf("%d rows after %d, %d skipped, %d torn", l.Rows, least, l.Skipped, l.Torn)
				}
				least = l.Rows
			}
			close(stop)
			<-stopped
		})
	}
}
