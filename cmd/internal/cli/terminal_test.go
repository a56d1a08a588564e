//go:build linux

package cli

import (
	"bytes"
	"context"
	"io"
	"os"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/creack/pty"
	"github.com/spf13/cobra"
)

// onTerminal runs a command whose output and errors go to a terminal of so many columns, and returns what the terminal got.
func onTerminal(t *testing.T, columns uint16, run func(*cobra.Command, []string) error) string {
	t.Helper()
	master, tty, err := pty.Open()
	if err != nil {
		t.Skipf("no terminal can be opened here: %v", err)
	}
	defer master.Close()
	if err := pty.Setsize(tty, &pty.Winsize{Rows: 24, Cols: columns}); err != nil {
		t.Fatal(err)
	}
	shown := make(chan string)
	go func() {
		var b bytes.Buffer
		_, _ = io.Copy(&b, master) // ends with the terminal
		shown <- b.String()
	}()
	status := Run(context.Background(), testRoot(run), []string{"slip", "a.csv"}, strings.NewReader(""), tty, tty)
	tty.Close()
	if text := <-shown; status == StatusDone {
		return text
	}
	t.Fatal("the command failed")
	return ""
}

func sayAnswer(cmd *cobra.Command, _ []string) error {
	var x Text
	x.Answer(Good, "The clutch holds.")
	x.Line("%s", strings.Repeat("word ", 60))
	x.Pairs([][2]string{{"largest torque that was carried", strings.Repeat("value ", 20)}})
	_, err := x.WriteTo(cmd.OutOrStdout())
	return err
}

func TestTextFitsTheTerminal(t *testing.T) {
	t.Setenv("NO_COLOR", "1")
	for _, columns := range []uint16{50, 72, 100, 200} {
		got := onTerminal(t, columns, sayAnswer)
		widest := 0
		for line := range strings.Lines(got) {
			widest = max(widest, utf8.RuneCountInString(strings.TrimRight(line, "\r\n")))
		}
		if want := min(int(columns), width); widest > want || widest < want-10 {
			t.Errorf("%d columns: the widest line has %d", columns, widest)
		}
	}
}

// Colour is for a terminal, and not where NO_COLOR is set; no-color.org (from memory).
func TestColourOnlyOnATerminal(t *testing.T) {
	t.Setenv("TERM", "xterm")
	t.Setenv("NO_COLOR", "")
	if got := onTerminal(t, 80, sayAnswer); !strings.Contains(got, "\x1b[1;32mThe clutch holds.\x1b[0m") {
		t.Errorf("no colour on a terminal: %q", got)
	}
	t.Setenv("NO_COLOR", "1")
	if got := onTerminal(t, 80, sayAnswer); strings.Contains(got, "\x1b") {
		t.Errorf("colour although NO_COLOR is set: %q", got)
	}
	t.Setenv("NO_COLOR", "")
	t.Setenv("TERM", "dumb")
	if got := onTerminal(t, 80, sayAnswer); strings.Contains(got, "\x1b") {
		t.Errorf("colour on a dumb terminal: %q", got)
	}
	t.Setenv("TERM", "xterm")
	file, err := os.CreateTemp(t.TempDir(), "out")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	if Run(context.Background(), testRoot(sayAnswer), []string{"slip", "a.csv"}, strings.NewReader(""), file, file) != StatusDone {
		t.Fatal("the command failed")
	}
	if data, err := os.ReadFile(file.Name()); err != nil || bytes.Contains(data, []byte("\x1b")) || len(data) == 0 {
		t.Errorf("colour in a file: %q %v", data, err)
	}
}

// Work that takes longer than a second is told on a terminal, and the line is gone when it is done.
func TestProgressOfLongWork(t *testing.T) {
	long := func(cmd *cobra.Command, _ []string) error {
		done := Working(cmd.Context(), func() string { return "read 1 of 3 logs" })
		time.Sleep(silentFor + 2*toldEvery)
		done()
		_, err := io.WriteString(cmd.OutOrStdout(), "answer\n")
		return err
	}
	got := onTerminal(t, 80, long)
	if !strings.Contains(got, "read 1 of 3 logs, 1 s") || !strings.HasSuffix(got, "\r\x1b[Kanswer\r\n") {
		t.Errorf("%q", got)
	}
	short := onTerminal(t, 80, func(cmd *cobra.Command, _ []string) error {
		Working(cmd.Context(), func() string { return "read 1 of 3 logs" })()
		return nil
	})
	if short != "" {
		t.Errorf("short work is told: %q", short)
	}
	var out, errs bytes.Buffer
	if Run(context.Background(), testRoot(long), []string{"slip", "a.csv"}, strings.NewReader(""), &out, &errs) != StatusDone || errs.Len() > 0 {
		t.Errorf("progress where nobody looks: %q", errs.String())
	}
}
