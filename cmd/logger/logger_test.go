//go:build linux

package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"flywitness/drive"
)

// buffer is a bytes.Buffer that two goroutines may use.
type buffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (b *buffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.Write(p)
}

func (b *buffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.String()
}

// emulated starts fw-logger emulate and returns the path that it prints.
func emulated(t *testing.T, args ...string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "adapter")
	ctx, cancel := context.WithCancel(context.Background())
	var out, msgs buffer
	done := make(chan int)
	go func() {
		done <- logger(ctx, append([]string{"emulate", "--path", path}, args...), nil, &out, &msgs)
	}()
	t.Cleanup(func() {
		cancel()
		if status := <-done; status != 0 {
			t.Errorf("emulate ended with %d: %s", status, msgs.String())
		}
	})
	for i := 0; i < 200 && !strings.Contains(out.String(), path); i++ {
		time.Sleep(25 * time.Millisecond)
	}
	return path
}

func run(args ...string) (status int, stdout, stderr string) {
	var out, msgs buffer
	status = logger(context.Background(), args, strings.NewReader(""), &out, &msgs)
	return status, out.String(), msgs.String()
}

func TestRecordFromTheEmulatedCar(t *testing.T) {
	t.Parallel()
	path := emulated(t, "--link", "canmulti", "--drive", "idle", "--fault", "unplug@8s+1s")
	file := filepath.Join(t.TempDir(), "drive.csv")
	status, out, msgs := run("record", "--port", path, "--out", file, "--for", "9s", "--json")
	if status != 0 {
		t.Fatalf("status %d: %s", status, msgs)
	}
	var result struct {
		Files  []struct{ SHA256 string }
		Record struct {
			Rows      int                `json:"rows"`
			Rates     map[string]float64 `json:"rates_hz"`
			Gaps      int                `json:"gaps"`
			LatencyMS float64            `json:"latency_median_ms"`
		}
	}
	if err := json.Unmarshal([]byte(out), &result); err != nil {
		t.Fatalf("%v in %s", err, out)
	}
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	l, err := drive.ReadSession(f, file)
	if err != nil {
		t.Fatal(err)
	}
	rec := result.Record
	// Real time on whatever machine: that values come many times a second is all that can be asked. The rate is proved on an emulated clock.
	if l.Rows != rec.Rows || l.Skipped != 0 || rec.Gaps != 1 || rec.Rates[drive.EngineSpeed] < 4 || rec.LatencyMS <= 0 || len(result.Files) != 1 {
		t.Errorf("%d rows, %+v", l.Rows, result)
	}
	if l.HeaderValue("vin") == "" || l.HeaderValue("protocol") == "" || !strings.Contains(msgs, "passenger") {
		t.Errorf("header %v, messages %s", l.Header, msgs)
	}
	if status, _, msgs = run("record", "--port", path, "--out", file); status != 1 || !strings.Contains(msgs, "never overwritten") {
		t.Errorf("again into the same file: %d, %s", status, msgs)
	}
}

// Ctrl-C ends a guided recording in the normal way, with its summary; the answers are in the file.
func TestStop(t *testing.T) {
	t.Parallel()
	path := emulated(t, "--link", "can", "--drive", "idle")
	file := filepath.Join(t.TempDir(), "drive.csv")
	ctx, cancel := context.WithCancel(context.Background())
	var out, msgs buffer
	done := make(chan int)
	go func() {
		done <- logger(ctx, []string{"record", "--port", path, "--baud", "38400", "--out", file, "--guide", "--alarm"}, strings.NewReader("Kim\nquarry\n"), &out, &msgs)
	}()
	for i := 0; i < 400 && !strings.Contains(msgs.String(), "Stop where it is safe"); i++ {
		time.Sleep(50 * time.Millisecond)
	}
	cancel()
	if status := <-done; status != 0 || !strings.Contains(out.String(), "SHA-256") || !strings.Contains(msgs.String(), "1. Warm up") {
		t.Fatalf("%d, %s, %s", status, out.String(), msgs.String())
	}
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	l, err := drive.ReadSession(f, file)
	if err != nil || l.HeaderValue("operator") != "Kim" || l.HeaderValue("place") != "quarry" || l.Skipped != 0 || l.Rows == 0 {
		t.Errorf("%v, %v", err, l)
	}
}

// Each failure is one line that says what to do.
func TestFailures(t *testing.T) {
	t.Parallel()
	off := emulated(t, "--link", "can", "--fault", "ignition@0s+1h")
	mute := emulated(t, "--link", "can", "--fault", "mute@0s+1h")
	out := filepath.Join(t.TempDir(), "x.csv")
	for _, c := range []struct {
		args   []string
		status int
		want   string
	}{
		{[]string{"record", "--out", out}, 2, "--port is missing"},
		{[]string{"record", "--port", "/nowhere"}, 2, "--out is missing"},
		{[]string{"record", "--port", "/nowhere", "--out", out}, 1, "fw-logger ports"},
		{[]string{"record", "--port", "/dev/null", "--out", out}, 1, "no serial port"},
		{[]string{"record", "--port", off, "--out", out, "--baud", "38400"}, 1, "switch the ignition on"},
		{[]string{"record", "--port", mute, "--out", out, "--baud", "38400"}, 1, "check the plug"},
		{[]string{"record", "--port", off, "--out", out, "--vehicle", "/nowhere.toml"}, 1, "/nowhere.toml"},
		{[]string{"emulate", "--link", "smoke"}, 2, "kline can canmulti"},
		{[]string{"emulate", "--fault", "unplug"}, 2, "KIND@START"},
		{[]string{"emulate", "--fault", "fire@2s"}, 2, "unplug"},
		{[]string{"emulate", "--path", os.TempDir()}, 1, "no link"},
	} {
		status, stdout, msgs := run(c.args...)
		lines := strings.Split(strings.TrimSpace(msgs), "\n")
		last := lines[len(lines)-1]
		if c.status == 2 {
			last = lines[0]
		}
		if status != c.status || !strings.Contains(last, c.want) || stdout != "" {
			t.Errorf("%v: status %d, %q", c.args, status, last)
		}
	}
	if _, err := os.Stat(out); err == nil {
		t.Error("a recording that never began left a file")
	}
}

func TestPorts(t *testing.T) {
	status, out, _ := run("ports", "--json")
	var result struct{ Ports []map[string]string }
	if err := json.Unmarshal([]byte(out), &result); err != nil || status != 0 {
		t.Errorf("%d, %v: %s", status, err, out)
	}
	if status := logger(context.Background(), nil, nil, io.Discard, io.Discard); status != 0 {
		t.Errorf("logger alone: %d", status)
	}
}

// Every example in the help is a command line that parses.
func TestHelpExamples(t *testing.T) {
	n := 0
	for _, cmd := range newRoot().Commands() {
		for _, line := range strings.Split(cmd.Example, "\n") {
			words := strings.Fields(line)
			if len(words) < 2 || words[0] != "$" || words[1] != "fw-logger" {
				continue
			}
			n++
			found, rest, err := newRoot().Find(words[2:])
			if err != nil || found.Name() != cmd.Name() {
				t.Errorf("%s: %v", line, err)
				continue
			}
			if err := found.ParseFlags(rest); err != nil {
				t.Errorf("%s: %v", line, err)
			}
			if err := found.ValidateArgs(found.Flags().Args()); err != nil {
				t.Errorf("%s: %v", line, err)
			}
		}
	}
	if n < 4 {
		t.Errorf("%d examples", n)
	}
}
