package source

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"
	"testing"

	"flywitness/capture/csvlog"
	"flywitness/capture/influx"
	"flywitness/drive"
)

func TestOpen(t *testing.T) {
	table := "Time (s),Engine RPM (rpm),Speed (km/h)\n0,800,0\n0.1,810,1\n0.2,820,2\n"
	logs, err := Open(context.Background(), "-", Options{Stdin: strings.NewReader(table)})
	if err != nil || len(logs) != 1 || logs[0].Rows != 3 {
		t.Errorf("%v, %v", logs, err)
	}
	for name, want := range map[string]string{
		"influx:vehicle=Mule": "no database here",
		"influx:mule":         "influx:vehicle=NAME",
		"/nowhere.csv":        "no such file",
	} {
		_, err := Open(context.Background(), name, Options{Database: func() (*influx.Server, error) { return nil, errors.New("no database here") }})
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := Open(context.Background(), "influx:vehicle=Mule", Options{}); err == nil {
		t.Error("a log of a database is opened without one")
	}
}

// A checksum that nobody asks for is not made, and nothing else of a log changes: of a file, of a packed one, of parts that are
// joined.
func TestChecksumsThatNobodyAsksFor(t *testing.T) {
	dir := t.TempDir()
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	if _, err := z.Write([]byte(session)); err != nil || z.Close() != nil {
		t.Fatal(err)
	}
	speed := strings.ReplaceAll(column("Vehicle speed", "km/h", 5, 50, "%.2f"), ",9", ",")
	names := []string{write(t, dir, "session.csv", session), write(t, dir, "packed.csv.gz", packed.String()),
		write(t, dir, "rpm.csv", column("Engine RPM", "rpm", 5, 50, "%.2f")), write(t, dir, "speed.csv", speed)}
	open := func(opt Options) []*drive.Log {
		sets, err := OpenAll(context.Background(), names, opt, func() {})
		if err != nil {
			t.Fatal(err)
		}
		return slices.Concat(sets...)
	}
	summed, unsummed := open(Options{}), open(Options{Unsummed: true})
	if len(summed) != 3 || len(unsummed) != 3 {
		t.Fatalf("%d logs with checksums, %d without", len(summed), len(unsummed))
	}
	for i, l := range unsummed {
		if l.SHA256 != "" || len(summed[i].SHA256) != 64 {
			t.Errorf("%s: SHA-256 %q, where it is asked for %q", l.Path, l.SHA256, summed[i].SHA256)
		}
		if l.SHA256 = summed[i].SHA256; !reflect.DeepEqual(l, summed[i]) {
			t.Errorf("%s: %+v, with a checksum %+v", l.Path, l, summed[i])
		}
	}
}

// session is a session file of two rows.
const session = "# format: session 1\n# created: 2026-05-09T10:15:00Z\n" +
	"time_s,engine_speed_rpm,vehicle_speed_kmh,oil_temp_c\n0.0,2450,50,\n0.1,2451,50,\n"

// A session file is told from a table by what stands in it, compressed or not.
func TestReadTellsSessionsFromTables(t *testing.T) {
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	if _, err := z.Write([]byte(session)); err != nil || z.Close() != nil {
		t.Fatal(err)
	}
	saved := strings.ReplaceAll(session, ",", ";") // by a spreadsheet
	for name, text := range map[string]string{"plain": session, "gzip": packed.String(), "saved again": saved} {
		l, err := Read(strings.NewReader(text), name, csvlog.Options{})
		if err != nil || l.Rows != 2 || l.Channel(drive.EngineSpeed).V[1] != 2451 || l.SHA256 != fmt.Sprintf("%x", sha256.Sum256([]byte(text))) {
			t.Errorf("%s: %+v, %v", name, l, err)
			continue
		}
		if isSession := !l.Created.IsZero(); isSession != (name != "saved again") {
			t.Errorf("%s is read as a session: %v", name, isSession)
		}
		if l.Channel(drive.OilTemp) != nil {
			t.Errorf("%s: a channel that gave nothing is there", name)
		}
	}
}

func TestReadOfASession(t *testing.T) {
	l, err := Read(strings.NewReader(session), "a.csv", csvlog.Options{Map: []string{"engine_speed_rpm=x"}})
	if err != nil || l.Warnings[len(l.Warnings)-1].Code != "session_needs_no_map" {
		t.Errorf("%v, %v", l, err)
	}
	still := strings.ReplaceAll(strings.ReplaceAll(session, "50", ""), "vehicle_speed_kmh", "intake_temp_c")
	if _, err := Read(strings.NewReader(still), "a.csv", csvlog.Options{}); err == nil || !strings.Contains(err.Error(), "no road speed") {
		t.Errorf("a session without road speed: %v", err)
	}
}

// Whoever stops the program does not wait for a pipe to end.
func TestStoppedWhileAPipeIsOpen(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	in, out := io.Pipe()
	defer out.Close()
	go func() {
		fmt.Fprint(out, "Time (s),RPM,Speed (km/h)\n0,900,0\n")
		stop()
	}()
	if _, err := Open(ctx, "-", Options{Stdin: in}); err == nil || !strings.Contains(err.Error(), "stopped") {
		t.Errorf("%v", err)
	}
}
