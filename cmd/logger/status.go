package main

import (
	"fmt"
	"io"
	"strings"
	"sync"
	"time"

	"flywitness/capture"
	"flywitness/cmd/internal/cli"
	"flywitness/drive"
)

// statusLine is the one quiet line about a running recording. On a terminal it is rewritten each second; elsewhere it is a
// line a minute.
type statusLine struct {
	*cli.Status
	w     io.Writer
	mu    sync.Mutex // of next
	next  time.Duration
	extra func() string // what is seen live: gear, clutch, runs; may be nil
	sent  func() string // how the sending to a database stands; may be nil
}

func newStatusLine(w io.Writer) *statusLine {
	return &statusLine{Status: cli.NewStatus(w), w: w, next: time.Minute}
}

// tick shows a status.
func (l *statusLine) tick(s capture.Status) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if !l.Terminal() && s.Elapsed < l.next {
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
	if l.Terminal() {
		l.Show(text)
		return
	}
	l.next = s.Elapsed.Truncate(time.Minute) + time.Minute
	l.Say(text)
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
