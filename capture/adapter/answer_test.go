package adapter

import (
	"context"
	"errors"
	"io"
	"strings"
	"testing"
	"time"
)

func TestClassify(t *testing.T) {
	for line, want := range map[string]Kind{
		"41 0C 1A F8": Data, "410c1af8": Data, "7E8 04 41 0C 1A F8": Data, "0: 41 0C": Data, "00E": Data,
		"SEARCHING...": Progress, "SEARCHING...41 00 BE 1F A8 13": Data, "BUS INIT: ...OK": Progress, "BUS INIT: OK": Progress,
		"BUS INIT: ...ERROR": NoConnection, "BUS INIT: ERROR": NoConnection, "UNABLE TO CONNECT": NoConnection,
		"unable to connect": NoConnection, "SEARCHING...UNABLE TO CONNECT": NoConnection,
		"NO DATA": NoData, "NODATA": NoData, "SEARCHING...NO DATA": NoData, "STOPPED": Stopped, "BUFFER FULL": Overflow,
		"CAN ERROR": BusFault, "BUS ERROR": BusFault, "FB ERROR": BusFault, "DATA ERROR": Damaged, "41 0C 1A <DATA ERROR": Damaged,
		"41 0C <RX ERROR": Damaged, "?": NotUnderstood, "OK": OK, "ok": OK, "ERR94": WasReset, "LV RESET": WasReset,
		"ADAPTER v2.1": Text, "12.4V": Text, "\x01\x02": Garbage, "": Progress,
	} {
		if got, _ := classify(line); got != want {
			t.Errorf("%q is %v, want %v", line, got, want)
		}
	}
	if _, data := classify("SEARCHING...41 00 BE 1F A8 13"); data != "4100BE1FA813" {
		t.Errorf("data behind progress: %q", data)
	}
}

// scripted is a Port that returns chunks one after another, then times out or hangs up.
type scripted struct {
	chunks [][]byte
	end    error
	sent   []byte
}

func (s *scripted) Read(b []byte) (int, error) {
	if len(s.chunks) == 0 {
		return 0, s.end
	}
	n := copy(b, s.chunks[0])
	s.chunks[0] = s.chunks[0][n:]
	if len(s.chunks[0]) == 0 {
		s.chunks = s.chunks[1:]
	}
	return n, nil
}
func (s *scripted) Write(b []byte) (int, error)     { s.sent = append(s.sent, b...); return len(b), nil }
func (s *scripted) Close() error                    { return nil }
func (s *scripted) SetReadDeadline(time.Time) error { return nil }

// frozen is a clock that stands.
type frozen struct{}

func (frozen) Now() time.Time                                   { return time.Unix(0, 0) }
func (frozen) Sleep(ctx context.Context, _ time.Duration) error { return ctx.Err() }

// hasty is a clock on which a millisecond passes with each look.
type hasty struct{ n int64 }

func (h *hasty) Now() time.Time {
	h.n++
	return time.UnixMilli(h.n)
}
func (*hasty) Sleep(ctx context.Context, _ time.Duration) error { return ctx.Err() }

func dialogueOf(end error, chunks ...string) (*dialogue, *scripted) {
	s := &scripted{end: end}
	for _, c := range chunks {
		s.chunks = append(s.chunks, []byte(c))
	}
	return &dialogue{port: s, clock: frozen{}}, s
}

func TestDialogue(t *testing.T) {
	// split in the middle of a line and of the echo, line feeds, NUL and stray bytes, a blank echo
	d, s := dialogueOf(ErrTimeout, "01 0", "c\r\n41 0C 1", "A F8\r\n\x00\xC3", "\r\n>")
	r, err := d.ask(t.Context(), "010C", time.Second)
	if err != nil || !r.Echoed || r.Stray != 2 || len(r.Lines) != 1 || r.Lines[0].Text != "410C1AF8" || string(s.sent) != "010C\r" {
		t.Fatalf("%+v, %v, sent %q", r, err, s.sent)
	}
	// joined lines of progress and data
	d, _ = dialogueOf(ErrTimeout, "SEARCHING...41 0C 1A F8\r\r>")
	if r, err = d.ask(t.Context(), "010C", time.Second); err != nil || r.step() != GoOn || !r.has(Data) {
		t.Errorf("%+v, %v", r, err)
	}
	// the strongest step counts
	d, _ = dialogueOf(ErrTimeout, "41 0C 1A F8\rCAN ERROR\rNO DATA\r>")
	if r, err = d.ask(t.Context(), "010C", time.Second); err != nil || r.step() != Search {
		t.Errorf("%+v, %v", r, err)
	}
	// no prompt: what came is there, and the error is the time-out
	d, _ = dialogueOf(ErrTimeout, "41 0C 1A")
	if r, err = d.ask(t.Context(), "010C", time.Second); !errors.Is(err, ErrTimeout) || len(r.Lines) != 1 || StepOf(after(r, err)) != AskAgain {
		t.Errorf("%+v, %v", r, err)
	}
	for _, end := range []error{ErrHangup, io.EOF, io.ErrClosedPipe} {
		d, _ = dialogueOf(end, "41 0C")
		if r, err = d.ask(t.Context(), "010C", time.Second); !errors.Is(err, ErrHangup) || StepOf(after(r, err)) != ReOpenNow {
			t.Errorf("%v: %v", end, err)
		}
	}
}

// endless never stops talking.
type endless struct{ scripted }

func (endless) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = 'x'
	}
	return len(b), nil
}

func TestBabble(t *testing.T) {
	d := &dialogue{port: &endless{}, clock: frozen{}}
	if _, err := d.ask(t.Context(), "ATI", time.Second); !errors.Is(err, errBabble) {
		t.Errorf("%v", err)
	}
}

// What is no adapter is told for what it is.
func TestNoAdapter(t *testing.T) {
	for said, want := range map[string]struct {
		err  error
		hint string
	}{
		"": {ErrNoAdapter, "check the plug"},
		"$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A\r\n": {ErrNotAdapter, "--gps"},
		"login: ":   {ErrNotAdapter, "login:"},
		"ATI\r":     {ErrNotAdapter, "right port"},
		"\xF0\xE1>": {ErrNotAdapter, "--baud"},
	} {
		a := New(func(int) (Port, error) { _, p := dialogueOf(ErrTimeout, said); return p, nil }, &hasty{}, Options{})
		if err := a.Connect(t.Context()); !errors.Is(err, want.err) || !strings.Contains(err.Error(), want.hint) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%q: %v", said, err)
		}
	}
}

func FuzzReply(f *testing.F) {
	f.Add("010C", []byte("010C\r41 0C 1A F8\r\r>"))
	f.Add("0100", []byte("SEARCHING...\r7E8 06 41 00 BE 1F A8 13\r>"))
	f.Add("ATZ", []byte("\x00\xff\r\r\nADAPTER v1\r\n\r\n>"))
	f.Add("010C", []byte("STOPPED\r>BUS INIT: ...ERROR\r>"))
	f.Fuzz(func(t *testing.T, command string, b []byte) {
		d, _ := dialogueOf(ErrTimeout, string(b))
		r, err := d.ask(t.Context(), command, time.Second)
		if err != nil && !errors.Is(err, ErrTimeout) && !errors.Is(err, errBabble) {
			t.Fatal(err)
		}
		step := StepOf(after(r, err))
		for _, l := range r.Lines {
			if err == nil && step < l.Kind.step() {
				t.Fatalf("step %d is weaker than that of %v", step, l.Kind)
			}
			if l.Kind == Data && !isData(l.Text) {
				t.Fatalf("data line %q", l.Text)
			}
		}
		a := New(func(int) (Port, error) { p, _ := dialogueOf(ErrTimeout, string(b)); return p.port, nil }, &hasty{}, Options{})
		if a.Connect(t.Context()) == nil {
			_ = a.FindCar(t.Context())
			_, _ = a.Query(t.Context(), 0x0C, 0x0D)
		}
	})
}
