//go:build linux

package main

import (
	"context"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"flywitness/vehicle"

	"github.com/creack/pty"
)

// On a terminal it asks; a wrong answer is told and asked for again, Enter leaves open, and what the log taught is not asked.
func TestNewJobAsks(t *testing.T) {
	master, tty, err := pty.Open()
	if err != nil {
		t.Skipf("no terminal can be opened here: %v", err)
	}
	defer master.Close()
	shown := make(chan string, 1)
	go func() {
		var b strings.Builder
		buf := make([]byte, 4096)
		for {
			n, err := master.Read(buf)
			b.Write(buf[:n])
			if err != nil {
				shown <- b.String()
				return
			}
		}
	}()
	dir := filepath.Join(t.TempDir(), "mule")
	answers := []string{"Bench mule", "", "M. Sample", "a clutch", "1,310", "1310", "stick", "manual", "petrol", "", "340", "\x04"}
	go func() { _, _ = master.WriteString(strings.Join(answers, "\n")) }()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	status := analyze(ctx, []string{"job", "--new", dir, "--log", demo + "/before/monday.csv"}, tty, tty, tty)
	tty.Close()
	text := <-shown
	if status != 0 {
		t.Fatalf("%d\n%s", status, text)
	}
	v, _, err := vehicle.Load(filepath.Join(dir, "car.toml"))
	if err != nil || v.Name != "Bench mule" || v.Mass != 1310 || v.Gearbox.Type != vehicle.Manual || v.Engine.LimitRPM != 0 || len(v.Gearbox.Learnt) != 5 {
		t.Errorf("%v %+v\n%s", err, v, text)
	}
	for _, want := range []string{"The logs taught 5 gears", "Enter alone leaves a question open", "1,310 can mean two numbers", "one of manual, automatic"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	if strings.Contains(text, "Size of the driven tyres") {
		t.Error("it asks for what the log taught")
	}
}
