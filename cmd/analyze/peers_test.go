//go:build peers

package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"flywitness/capture/source"
)

// peerRounds is how often each program has its turn; the quickest of its turns counts.
const peerRounds = 5

// peer is one way to load the day. command gives the program; it prints the seconds of the load itself, or nothing.
type peer struct {
	name    string
	command func(file string) (*exec.Cmd, error)

	wall, cpu float64 // s, the least
	peak      float64 // MB, the most
	absent    error
}

// TestPeers lets general-purpose libraries load one day of driving in turn with this program, and prints how many times DuckDB's time each
// takes. Wall time is what the load itself took, without starting an interpreter; processor time and peak memory are those of the process.
func TestPeers(t *testing.T) {
	day := filepath.Join(t.TempDir(), "day.csv")
	writeDay(t, day, 24)
	analyze := filepath.Join(t.TempDir(), "analyze")
	if out, err := exec.Command("go", "build", "-o", analyze, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	peers := []*peer{
		{name: "DuckDB read_csv", command: duckDB},
		{name: "pandas read_csv", command: pandas},
		{name: "encoding/csv + ParseFloat", command: self("encoding/csv")},
		{name: "read", command: self("read")},
		{name: "analyze learn", command: program(analyze, "learn")},
		{name: "analyze slip", command: program(analyze, "slip", "--gearbox", "manual")},
		{name: "analyze slip --json", command: program(analyze, "slip", "--gearbox", "manual", "--json")},
	}
	for range peerRounds {
		for _, p := range peers {
			p.turn(t, day)
		}
	}
	base := peers[0]
	fmt.Printf("%-28s %8s %8s %8s %12s\n", "a day: 24 h, 20 Hz, 9 columns", "wall", "cpu", "peak", "wall/DuckDB")
	for _, p := range peers {
		if p.absent != nil {
			fmt.Printf("%-28s absent: %v\n", p.name, p.absent)
			continue
		}
		ratio := "-"
		if base.absent == nil {
			ratio = fmt.Sprintf("%.2f", p.wall/base.wall)
		}
		fmt.Printf("%-28s %6.2f s %6.2f s %5.0f MB %12s\n", p.name, p.wall, p.cpu, p.peak, ratio)
	}
	numbers := 9 * 8 * 24 * 3600 * 20 / 1e6
	fmt.Printf("the parsed numbers are %.0f MB\n", numbers)
}

// turn runs p once.
func (p *peer) turn(t *testing.T, day string) {
	if p.absent != nil {
		return
	}
	cmd, err := p.command(day)
	if err != nil {
		p.absent = err
		return
	}
	began := time.Now()
	out, err := cmd.Output()
	wall := time.Since(began).Seconds()
	if err != nil {
		var exit *exec.ExitError
		if p.absent = err; errors.As(err, &exit) {
			p.absent = fmt.Errorf("%s", lastLine(exit.Stderr))
		}
		return
	}
	if own, err := strconv.ParseFloat(strings.TrimSpace(string(out)), 64); err == nil {
		wall = own
	}
	if p.wall == 0 || wall < p.wall {
		p.wall = wall
	}
	if cpu := (cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()).Seconds(); p.cpu == 0 || cpu < p.cpu {
		p.cpu = cpu
	}
	if use, ok := cmd.ProcessState.SysUsage().(*syscall.Rusage); ok {
		p.peak = math.Max(p.peak, float64(use.Maxrss)/1e3)
	}
}

func lastLine(b []byte) string {
	lines := strings.Split(strings.TrimSpace(string(b)), "\n")
	return lines[len(lines)-1]
}

// duckDB needs node and the npm package @duckdb/node-api in the folder FLYWITNESS_PEERS.
func duckDB(file string) (*exec.Cmd, error) {
	script, err := filepath.Abs("testdata/peers/duckdb.mjs")
	if err != nil {
		return nil, err
	}
	folder := os.Getenv("FLYWITNESS_PEERS")
	if _, err := os.Stat(filepath.Join(folder, "node_modules", "@duckdb", "node-api")); err != nil {
		return nil, fmt.Errorf("no @duckdb/node-api in %q", folder)
	}
	cmd := exec.Command("node", script, file)
	cmd.Dir = folder
	return cmd, nil
}

// pandas is looked for in the python3 of the path, then in Debian's.
func pandas(file string) (*exec.Cmd, error) {
	for _, python := range []string{"python3", "/usr/bin/python3"} {
		if exec.Command(python, "-c", "import pandas").Run() == nil {
			return exec.Command(python, "testdata/peers/pandas_load.py", file), nil
		}
	}
	return nil, errors.New("no python3 with pandas (Debian: python3-pandas)")
}

func program(path string, flags ...string) func(string) (*exec.Cmd, error) {
	return func(file string) (*exec.Cmd, error) {
		return exec.Command("sh", append([]string{"-c", `exec "$0" "$@" > /dev/null`, path}, append(flags, file)...)...), nil
	}
}

// self is this test binary, running TestPeerLoad alone.
func self(how string) func(string) (*exec.Cmd, error) {
	return func(file string) (*exec.Cmd, error) {
		cmd := exec.Command("sh", "-c", `"$0" -test.run '^TestPeerLoad$' | head -1`, os.Args[0])
		cmd.Env = append(os.Environ(), "FLYWITNESS_PEER="+how, "FLYWITNESS_PEER_FILE="+file)
		return cmd, nil
	}
}

// TestPeerLoad is one load in a process of its own.
func TestPeerLoad(t *testing.T) {
	file := os.Getenv("FLYWITNESS_PEER_FILE")
	began := time.Now()
	switch os.Getenv("FLYWITNESS_PEER") {
	case "read":
		if _, err := source.Open(context.Background(), file, source.Options{}); err != nil {
			t.Fatal(err)
		}
	case "encoding/csv":
		if err := loadByHand(file); err != nil {
			t.Fatal(err)
		}
	default:
		return
	}
	fmt.Println(time.Since(began).Seconds())
}
