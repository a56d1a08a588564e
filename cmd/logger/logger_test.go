//go:build linux

package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"flywitness/capture/adapter"
	"flywitness/capture/emulator"
	"flywitness/cmd/internal/cli"
	"flywitness/drive"
	"flywitness/sim/engine"
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
	t.Cleanup(plug(t, path, args...))
	return path
}

// plug starts fw-logger emulate at a path; what it returns pulls the plug.
func plug(t *testing.T, path string, args ...string) (pull func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	var out, msgs buffer
	done := make(chan int)
	go func() {
		done <- logger(ctx, append([]string{"emulate", "--path", path}, args...), nil, &out, &msgs)
	}()
	for i := 0; i < 2000 && !strings.Contains(out.String(), path); i++ {
		time.Sleep(5 * time.Millisecond)
	}
	return func() {
		cancel()
		if status := <-done; status != 0 {
			t.Errorf("emulate ended with %d: %s", status, msgs.String())
		}
	}
}

// bench is a world with an emulated car on a clock that does not wait.
func bench(t *testing.T, link string, faults ...string) surroundings {
	t.Helper()
	f := emulateFlags{link: link, drive: "idle", faults: faults, number: 1}
	device, err := f.device()
	if err != nil {
		t.Fatal(err)
	}
	b := emulator.NewBench(device, time.Date(2026, 5, 9, 10, 15, 0, 0, time.UTC), rand.New(rand.NewPCG(1, 3)))
	return surroundings{clock: b, open: func(_ string, baud int) (adapter.Port, error) { return b.Open(baud) }, grace: outside().grace}
}

// runIn is run in other surroundings.
func runIn(in surroundings, args ...string) (status int, stdout, stderr string) {
	var out, msgs buffer
	status = cli.Run(context.Background(), rootIn(in), args, strings.NewReader(""), &out, &msgs)
	return status, out.String(), msgs.String()
}

func run(args ...string) (status int, stdout, stderr string) {
	var out, msgs buffer
	status = logger(context.Background(), args, strings.NewReader(""), &out, &msgs)
	return status, out.String(), msgs.String()
}

// recorded is what record --json prints.
type recorded struct {
	Files  []struct{ SHA256 string }
	Record struct {
		Rows      int                `json:"rows"`
		Rates     map[string]float64 `json:"rates_hz"`
		Gaps      int                `json:"gaps"`
		LatencyMS float64            `json:"latency_median_ms"`
	}
}

// readBack returns what record printed, and the session that it wrote.
func readBack(t *testing.T, out, file string) (recorded, *drive.Log) {
	t.Helper()
	var result recorded
	if err := json.Unmarshal([]byte(out), &result); err != nil {
		t.Fatalf("%v in %s", err, out)
	}
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	l, err := drive.ReadSession(bytes.NewReader(data), file)
	if err != nil {
		t.Fatal(err)
	}
	return result, l
}

// A recording from the car of fw-logger emulate, through a pseudo-terminal, in real time. On whatever machine: that
// values come many times a second is all that can be asked.
func TestRecordFromTheEmulatedCar(t *testing.T) {
	t.Parallel()
	path := emulated(t, "--link", "canmulti", "--drive", "idle")
	file := filepath.Join(t.TempDir(), "drive.csv")
	status, out, msgs := run("record", "--port", path, "--out", file, "--for", "2s", "--json")
	if status != 0 {
		t.Fatalf("status %d: %s", status, msgs)
	}
	result, l := readBack(t, out, file)
	if rec := result.Record; l.Rows != rec.Rows || l.Skipped != 0 || rec.Rates[drive.EngineSpeed] < 4 || rec.LatencyMS <= 0 {
		t.Errorf("%d rows, %+v", l.Rows, result)
	}
}

// The same with a plug that comes loose, on a clock that does not wait: rate and gap are then exact.
func TestRecordWithALoosePlug(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "drive.csv")
	status, out, msgs := runIn(bench(t, "canmulti", "unplug@18s+1s"), "record", "--port", "emulated", "--out", file, "--for", "30s", "--json")
	if status != 0 {
		t.Fatalf("status %d: %s", status, msgs)
	}
	result, l := readBack(t, out, file)
	rec := result.Record
	if l.Rows != rec.Rows || l.Skipped != 0 || rec.Gaps != 1 || rec.Rates[drive.EngineSpeed] < 30 || rec.LatencyMS <= 0 || len(result.Files) != 1 {
		t.Errorf("%d rows, %+v", l.Rows, result)
	}
	if l.HeaderValue("vin") == "" || l.HeaderValue("protocol") == "" || !strings.Contains(msgs, "passenger") {
		t.Errorf("header %v, messages %s", l.Header, msgs)
	}
	if status, _, msgs = run("record", "--port", "/nowhere", "--out", file); status != 1 || !strings.Contains(msgs, "never overwritten") {
		t.Errorf("again into the same file: %d, %s", status, msgs)
	}
}

// Ctrl-C ends a guided recording in the normal way, with its summary; the answers are in the file.
func TestStop(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "drive.csv")
	ctx, cancel := context.WithCancel(context.Background())
	var out, msgs buffer
	done := make(chan int)
	go func() {
		done <- cli.Run(ctx, rootIn(bench(t, "can")), []string{"record", "--port", "emulated", "--out", file, "--guide", "--alarm"},
			strings.NewReader("Kim\nquarry\n"), &out, &msgs)
	}()
	for i := 0; i < 4000 && !strings.Contains(msgs.String(), "1. Warm up"); i++ {
		time.Sleep(5 * time.Millisecond)
	}
	cancel()
	if status := <-done; status != 0 || !strings.Contains(out.String(), "SHA-256") || !strings.Contains(msgs.String(), "1. Warm up") {
		t.Fatalf("%d, %s, %s", status, out.String(), msgs.String())
	}
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	l, err := drive.ReadSession(bytes.NewReader(data), file)
	if err != nil || l.HeaderValue("operator") != "Kim" || l.HeaderValue("place") != "quarry" || l.Skipped != 0 || l.Rows == 0 {
		t.Errorf("%v, %v", err, l)
	}
}

// The engine is held where an earlier recording of the car held it. The guide takes the speeds over, and a recording
// that tells none leaves them to the vehicle file.
func TestHoldsAreThoseOfAnEarlierRecording(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(11, 1))
	tr := engine.Sit(engine.Random(rng), engine.Usual(), engine.Protocol(2200, 3100, 15, 5400, 4, rng), rng)
	path := func(name string, l *drive.Log) string {
		file := filepath.Join(t.TempDir(), name)
		if _, err := importLogs([]*drive.Log{l}, file, time.Now()); err != nil {
			t.Fatal(err)
		}
		return file
	}
	held := path("held.csv", engine.CAN.Record(tr, engine.Everything(), rng))
	still := path("still.csv", &drive.Log{Channels: []*drive.Channel{{Name: drive.EngineSpeed, T: []float64{0, 1, 2}, V: []float64{800, 800, 800}},
		{Name: drive.VehicleSpeed, T: []float64{0.5, 1.5}, V: []float64{0, 0}}}})
	for file, want := range map[string][2]float64{held: {2200, 3100}, still: {}} {
		r := recording{flags: &recordFlags{earlier: []string{file}}, line: newStatusLine(io.Discard), stderr: io.Discard}
		if err := r.readEarlier(context.Background()); err != nil {
			t.Fatal(err)
		}
		if math.Abs(r.held[0]-want[0]) > 50 || math.Abs(r.held[1]-want[1]) > 50 {
			t.Errorf("%s: held at %v, want %v", filepath.Base(file), r.held, want)
		}
	}
}

// Each failure is one line that says what to do.
func TestFailures(t *testing.T) {
	t.Parallel()
	out := filepath.Join(t.TempDir(), "x.csv")
	fails := func(in surroundings, args []string, want int, part string) {
		t.Helper()
		status, stdout, msgs := runIn(in, args...)
		lines := strings.Split(strings.TrimSpace(msgs), "\n")
		last := lines[len(lines)-1]
		if want == 2 {
			last = lines[0]
		}
		if status != want || !strings.Contains(last, part) || stdout != "" {
			t.Errorf("%v: status %d, %q", args, status, last)
		}
	}
	record := []string{"record", "--port", "emulated", "--out", out, "--baud", "38400"}
	fails(bench(t, "can", "ignition@0s+1h"), record, 1, "switch the ignition on")
	fails(bench(t, "can", "mute@0s+1h"), record, 1, "check the plug")
	for _, c := range []struct {
		args   []string
		status int
		want   string
	}{
		{[]string{"record", "--out", out}, 2, "--port is missing"},
		{[]string{"record", "--port", "/nowhere"}, 2, "--out is missing"},
		{[]string{"record", "--port", "/nowhere", "--out", out}, 1, "fw-logger ports"},
		{[]string{"record", "--port", "/dev/null", "--out", out}, 1, "no serial port"},
		{[]string{"record", "--port", "/nowhere", "--out", out, "--vehicle", "/nowhere.toml"}, 1, "/nowhere.toml"},
		{[]string{"emulate", "--link", "smoke"}, 2, "kline can canmulti"},
		{[]string{"emulate", "--fault", "unplug"}, 2, "KIND@START"},
		{[]string{"emulate", "--fault", "fire@2s"}, 2, "unplug"},
		{[]string{"emulate", "--path", os.TempDir()}, 1, "no link"},
	} {
		fails(outside(), c.args, c.status, c.want)
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
