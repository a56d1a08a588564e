package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"

	"flywitness/capture"
	"flywitness/drive"

	"golang.org/x/term"
)

// statusLine is the one quiet line about a running recording. On a terminal it is rewritten each second; elsewhere it is a
// line a minute.
type statusLine struct {
	mu       sync.Mutex // a line is told from several goroutines
	w        io.Writer
	terminal bool
	shown    bool
	next     time.Duration
	extra    func() string // what is seen live: gear, clutch, runs; may be nil
	sent     func() string // how the sending to a database stands; may be nil
}

func newStatusLine(w io.Writer) *statusLine {
	f, ok := w.(*os.File)
	return &statusLine{w: w, terminal: ok && term.IsTerminal(int(f.Fd())), next: time.Minute}
}

// tick shows a status.
func (l *statusLine) tick(s capture.Status) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if !l.terminal && s.Elapsed < l.next {
		return
	}
	text := statusText(s)
	if l.sent != nil { // before what may be cut off at the end of the line
		text += l.sent()
	}
	if l.extra != nil && s.Gap == "" {
		if e := l.extra(); e != "" {
			text += "  " + e
		}
	}
	if l.terminal {
		fmt.Fprintf(l.w, "\r\x1b[K%.110s", text)
		l.shown = true
		return
	}
	l.next = s.Elapsed.Truncate(time.Minute) + time.Minute
	fmt.Fprintln(l.w, text)
}

func statusText(s capture.Status) string {
	text := fmt.Sprintf("%s  ", s.Elapsed.Truncate(time.Second))
	if s.Gap != "" {
		return text + "nothing from the car, trying again: " + s.Gap
	}
	return text + fmt.Sprintf("engine speed %.1f/s, road speed %.1f/s%s, latency %d ms",
		s.Rates[drive.EngineSpeed], s.Rates[drive.VehicleSpeed], gpsText(s, ", "), s.Latency.Milliseconds())
}

// gpsText tells how often the GPS receiver gives a speed, or why it gives none; "" when there is no receiver.
func gpsText(s capture.Status, before string) string {
	hz, there := s.Rates[drive.GPSSpeed]
	switch {
	case !there:
		return ""
	case s.GPS != "":
		why, _, _ := strings.Cut(s.GPS, ";")
		return before + "GPS: " + why
	}
	return before + fmt.Sprintf("GPS %.1f/s", hz)
}

// show shows a text where it can be rewritten: on a terminal.
func (l *statusLine) show(text string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.terminal {
		fmt.Fprintf(l.w, "\r\x1b[K%.110s", text)
		l.shown = true
	}
}

// say prints a line of its own.
func (l *statusLine) say(text string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.clear()
	fmt.Fprintln(l.w, text)
}

// end takes the line off the terminal for good.
func (l *statusLine) end() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.clear()
}

func (l *statusLine) clear() {
	if l.shown {
		fmt.Fprint(l.w, "\r\x1b[K")
		l.shown = false
	}
}
