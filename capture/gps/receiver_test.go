package gps

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"flywitness/capture/adapter"
	"flywitness/drive"
)

// stage is a clock with a line on which bytes arrive at given times; reading the last one ends the test's context.
type stage struct {
	now    time.Time
	start  time.Time
	pieces []piece
	end    func()
	step   func(after time.Duration) // told of every read
	until  time.Duration
	due    time.Time
}

type piece struct {
	at   time.Duration
	text string // "!" is a line that goes
}

func newStage(until time.Duration, pieces ...piece) *stage {
	start := time.Date(2026, 5, 9, 10, 0, 0, 0, time.UTC)
	return &stage{now: start, start: start, pieces: pieces, until: until}
}

func (s *stage) Now() time.Time { return s.now }

func (s *stage) Sleep(ctx context.Context, d time.Duration) error {
	if s.step != nil {
		s.step(s.now.Sub(s.start))
	}
	s.now = s.now.Add(d)
	return ctx.Err()
}

func (s *stage) Write(b []byte) (int, error)       { return len(b), nil }
func (s *stage) Close() error                      { return nil }
func (s *stage) SetReadDeadline(t time.Time) error { s.due = t; return nil }

func (s *stage) Read(b []byte) (int, error) {
	defer func() {
		if s.step != nil {
			s.step(s.now.Sub(s.start))
		}
		if s.now.Sub(s.start) > s.until {
			s.end()
		}
	}()
	if len(s.pieces) == 0 || s.start.Add(s.pieces[0].at).After(s.due) {
		s.now = s.due
		return 0, adapter.ErrTimeout
	}
	p := s.pieces[0]
	s.pieces = s.pieces[1:]
	if at := s.start.Add(p.at); at.After(s.now) {
		s.now = at
	}
	if p.text == "!" {
		return 0, adapter.ErrHangup
	}
	return copy(b, p.text), nil
}

// run lets a receiver read the stage to its end and returns it, with each trouble and when it was told first.
func (s *stage) run(t *testing.T) (r *Receiver, told []string) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	s.end = cancel
	r = New(func() (adapter.Port, error) { return s, nil }, s)
	last := ""
	s.step = func(after time.Duration) {
		if x := r.Trouble(); x != last {
			last = x
			told = append(told, fmt.Sprintf("%.1f %s", after.Seconds(), x))
		}
	}
	r.Run(ctx)
	return r, told
}

// every repeats a text once a second.
func every(from, to int, text string) (list []piece) {
	for i := from; i < to; i++ {
		list = append(list, piece{time.Duration(i) * time.Second, text})
	}
	return list
}

func rmcText(knots string) string {
	return sum("GPRMC,123521,A,4807.038,N,01131.000,E," + knots + ",084.4,230394,003.1,W")
}

func TestReceiverReadsTornSentencesAndOneKind(t *testing.T) {
	s := newStage(5*time.Second,
		piece{500 * time.Millisecond, "01131.000,E,022.4,084.4*00\r\n$GPRMC,123519,A,4807.0"},
		piece{600 * time.Millisecond, "38,N,01131.000,E,022.4,084.4,230394,003.1,W*6A\r\n" + sum("GPVTG,,T,,M,22.4,N,41.5,K,A")},
		piece{time.Second, sum("GPRMC,123520,V,,,,,,,230394,,")}, piece{2 * time.Second, rmcText("10")})
	r, _ := s.run(t)
	got := r.Take()
	if len(got) != 2 || math.Abs(got[0].V-41.4848) > 1e-9 || math.Abs(got[1].V-18.52) > 1e-9 || got[0].At.Sub(s.start) != 500*time.Millisecond {
		t.Errorf("%+v", got)
	}
	if r.Take() != nil {
		t.Error("speeds were given twice")
	}
}

// Altitude is kept beside the speed, from the sentences of its own kind.
func TestReceiverKeepsAltitude(t *testing.T) {
	gga := sum("GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,")
	r, told := newStage(9*time.Second, every(1, 10, rmcText("10")+gga)...).run(t)
	counts := map[string]int{}
	for _, x := range r.Take() {
		counts[x.Channel]++
		if x.Channel == drive.Altitude && x.V != 545.4 {
			t.Errorf("%+v", x)
		}
	}
	if counts[drive.GPSSpeed] != 9 || counts[drive.Altitude] != 9 || len(told) != 0 {
		t.Errorf("%v, %q", counts, told)
	}
}

// A receiver that gives nothing is told of within 5 s, with what to do.
func TestReceiverThatGivesNothingIsTold(t *testing.T) {
	for _, c := range []struct {
		name, want string
		pieces     []piece
	}{
		{"silent", "nothing comes", nil},
		{"wrong baud rate", "--gps-baud", every(0, 20, "\x8e\xf0\x00\xfe\x81!\xff\x80")},
		{"no fix", "no fix", every(0, 20, sum("GPRMC,123520,V,,,,,,,230394,,"))},
		{"no speed in it", "RMC or VTG", every(0, 20, sum("GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,"))},
		{"faster than a car", "no car drives", every(0, 20, rmcText("600"))},
	} {
		_, told := newStage(20*time.Second, c.pieces...).run(t)
		var at float64
		if len(told) > 0 {
			_, _ = fmt.Sscanf(told[0], "%f", &at)
		}
		if len(told) != 1 || !strings.Contains(told[0], c.want) || at > 5 {
			t.Errorf("%s: %q", c.name, told)
		}
	}
}

// A fix that is lost and a line that is lost are told, and so is their end.
func TestReceiverTellsLossAndReturn(t *testing.T) {
	list := every(1, 10, rmcText("10"))
	list = append(list, every(10, 20, sum("GPRMC,123520,V,,,,,,,230394,,"))...)
	list = append(list, every(20, 30, rmcText("10"))...)
	list = append(list, piece{30 * time.Second, "!"})
	list = append(list, every(34, 45, rmcText("10"))...)
	r, told := newStage(44*time.Second, list...).run(t)
	if len(told) != 4 || !strings.Contains(told[0], "no fix") || told[1] != "20.5 " || !strings.Contains(told[2], "30.0 the GPS receiver is lost") || told[3] != "34.5 " {
		t.Errorf("%q", told)
	}
	if n := len(r.Take()); n < 28 {
		t.Errorf("%d speeds", n)
	}
}

// Lines that end with a carriage return alone are read; what was buffered before the line was opened is not.
func TestReceiverCarriageReturnsAndStaleBytes(t *testing.T) {
	old := strings.Repeat(rmcText("50"), 3)
	list := append([]piece{{0, old[:200]}, {10 * time.Millisecond, old[200:]}}, every(1, 10, strings.TrimSuffix(rmcText("10"), "\n"))...)
	r, told := newStage(9*time.Second, list...).run(t)
	got := r.Take()
	if len(got) != 9 || len(told) != 0 {
		t.Errorf("%d speeds, %q", len(got), told)
	}
	for _, s := range got {
		if math.Abs(s.V-18.52) > 1e-9 {
			t.Errorf("%+v was buffered before", s)
		}
	}
}
