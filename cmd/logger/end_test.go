//go:build linux

package main

import (
	"bytes"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"flywitness/capture"
	"flywitness/drive"

	"github.com/creack/pty"
)

// The terminal is closed under a recording: the file is whole, and the summary with its hash lies beside it.
func TestTerminalIsClosed(t *testing.T) {
	t.Parallel()
	port := emulated(t, "--link", "canmulti", "--drive", "idle")
	file := filepath.Join(t.TempDir(), "drive.csv")
	cmd := exec.Command(os.Args[0], "record", "--port", port, "--baud", "115200", "--out", file)
	cmd.Env = append(os.Environ(), asLogger+"=1")
	terminal, err := pty.Start(cmd)
	if err != nil {
		t.Fatal(err)
	}
	go func() { _, _ = io.Copy(io.Discard, terminal) }() // ends with the terminal
	for range 600 {
		if info, err := os.Stat(file); err == nil && info.Size() > 3000 {
			break
		}
		time.Sleep(25 * time.Millisecond)
	}
	terminal.Close()
	if err := cmd.Wait(); err != nil {
		t.Fatalf("it ended with %v", err)
	}
	text, err := os.ReadFile(file + ".summary.txt")
	if err != nil {
		t.Fatal(err)
	}
	hash, err := capture.SHA256(file)
	if err != nil || !strings.Contains(string(text), hash) || !strings.Contains(string(text), "recorded ") {
		t.Errorf("%v; the summary:\n%s", err, text)
	}
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if l, err := drive.ReadSession(bytes.NewReader(data), file); err != nil || l.Skipped > 0 || l.Rows == 0 {
		t.Errorf("%v, %d rows", err, l.Rows)
	}
}

// A port of --serve that is taken, and a folder that is not there, are told before anything is opened or written.
func TestNothingHalfMade(t *testing.T) {
	t.Parallel()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	dir := t.TempDir()
	out := filepath.Join(dir, "drive.csv")
	for want, args := range map[string][]string{
		"name another port":       {"--port", "/nowhere", "--out", out, "--serve", l.Addr().String()},
		"no folder":               {"--port", "/nowhere", "--out", filepath.Join(dir, "no", "drive.csv")},
		"tcp://host:port":         {"--port", "tcp://nowhere", "--out", out},
		"goes with --serve":       {"--port", "/nowhere", "--out", out, "--host", "car.local"},
		"check its power":         {"--port", "tcp://" + l.Addr().String() + "0", "--out", out},
		"no diagnostic adapter":   {"--port", "tcp://" + l.Addr().String(), "--out", out},
		"no other program holds ": {"--port", "tcp://127.0.0.1:1", "--out", out},
	} {
		status, stdout, msgs := run(append([]string{"record"}, args...)...)
		if status == 0 || stdout != "" || !strings.Contains(msgs, want) {
			t.Errorf("%v: status %d, %s", args, status, msgs)
		}
	}
	if list, _ := os.ReadDir(dir); len(list) > 0 {
		t.Errorf("left behind: %v", list)
	}
}

// A file that cannot be read back at the end does not take the summary with it.
func TestSummaryWithoutAFile(t *testing.T) {
	var out bytes.Buffer
	r := recording{stdout: &out, flags: &recordFlags{}}
	err := r.report(capture.Summary{Duration: time.Minute, Rows: 7}, []string{filepath.Join(t.TempDir(), "gone.csv")})
	if err == nil || !strings.Contains(out.String(), "7 replies") || !strings.Contains(out.String(), "cannot be read back") {
		t.Errorf("%v\n%s", err, out.String())
	}
}

// What can be typed into a phone is told: never 0.0.0.0.
func TestAddressesForAPhone(t *testing.T) {
	machine := func() ([]net.Addr, error) {
		var list []net.Addr
		for _, s := range []string{"127.0.0.1/8", "::1/128", "fe80::1/64", "169.254.3.4/16", "192.168.43.7/24"} {
			ip, n, err := net.ParseCIDR(s)
			if err != nil {
				t.Fatal(err)
			}
			list = append(list, &net.IPNet{IP: ip, Mask: n.Mask})
		}
		return list, nil
	}
	for _, c := range []struct {
		ip     string
		want   string
		others bool
	}{
		{"0.0.0.0", "[http://192.168.43.7:8321/]", true}, {"::", "[http://192.168.43.7:8321/]", true},
		{"127.0.0.1", "[http://127.0.0.1:8321/]", false}, {"192.168.43.7", "[http://192.168.43.7:8321/]", true},
	} {
		urls, others := addresses(&net.TCPAddr{IP: net.ParseIP(c.ip), Port: 8321}, machine)
		if fmt.Sprint(urls) != c.want || others != c.others {
			t.Errorf("%s: %v, %v", c.ip, urls, others)
		}
	}
	// A version 2 symbol holds such an address: 25 modules and a quiet zone of 4 on each side (ISO/IEC 18004, from memory).
	s, err := square("http://192.168.43.7:8321/")
	if lines := strings.Split(strings.TrimSpace(s), "\n"); err != nil || len(lines) != 17 {
		t.Errorf("%d lines, %v", len(lines), err)
	}
}
