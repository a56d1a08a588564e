// Package adaptertest is a diagnostic adapter for tests, byte for byte on a clock of its own: waiting costs no time. It is
// written apart from capture/emulator and from the program under test, whose frames and check bytes are worked here again, and
// a script may spoil any exchange. What it has sent whole is kept, to be set against what was recorded.
package adaptertest

import (
	"context"
	"fmt"
	"io/fs"
	"strconv"
	"strings"
	"time"

	"flywitness/capture/adapter"
)

// Exchange is one command line and what a script may do to its answer.
type Exchange struct {
	At      time.Duration
	N       int    // how often this command came before, whatever count stood behind it
	Command string // without blanks and without the count
	Count   int    // lines that were asked for, 0 when not told

	Lost  bool           // the car's reply gets lost: NO DATA
	Mute  bool           // nothing is printed, not even a prompt
	Raw   string         // printed instead of the answer
	Delay time.Duration  // before the answer
	Spoil func(b []byte) // changes the answer's bytes on the line
}

// Double is the adapter with its car. Everything on it runs in one goroutine.
type Double struct {
	Start      time.Time
	Baud       int
	Protocol   byte // number of the protocol: 5 K-line, 6 and 7 CAN with short and long identifiers
	Units      []*Unit
	Several    bool // the car answers several parameters in one request
	OtherFirst bool // units after the first answer before it
	Refuses    map[string]bool
	NoCount    string // what a counted request is answered with, "" where counts are understood
	Away       func(at time.Duration) bool
	Script     func(x *Exchange)

	Sent  []Value         // values of the engine's unit that were printed whole
	Asked map[string]int  // commands so far
	Begun time.Time       // when Serve began, on the machine's clock
	Opens []time.Duration // when the line was opened
	Text  strings.Builder // all commands, for looking at
	now   time.Duration   // on the clock
	out   []timed         // on its way to the computer
	end   time.Duration   // of what is on its way
	busy  time.Duration   // a byte before this stops the request
	typed []byte          // the command line so far
	set   map[string]string
	found bool
}

// Value is a value that was sent: the number in its reply, before scaling.
type Value struct {
	At      time.Duration
	PID     byte
	Raw     int
	Damaged bool // a byte of its reply was changed on the line, perhaps one that does not matter

	done time.Duration // when its last byte has arrived
}

type timed struct {
	at time.Duration
	b  byte
}

// Times of the double: from request to reply, what it waits for more lines when no count was told, when it gives the car up.
const (
	replyAfter = 12 * time.Millisecond
	quietTime  = 30 * time.Millisecond
	givesUp    = 120 * time.Millisecond
	searchTime = 900 * time.Millisecond
)

// New returns a double at 38400 baud whose car is behind the protocol, with the engine's unit alone.
func New(protocol byte) *Double {
	d := &Double{Start: time.Date(2026, 5, 9, 10, 15, 0, 0, time.UTC), Baud: 38400, Protocol: protocol, Asked: map[string]int{}}
	engine := map[byte]uint32{'5': 0x10, '6': 0x7E8, '7': 0x18DAF110}[protocol]
	d.Units = []*Unit{newEngine(engine)}
	d.powerUp()
	return d
}

// Now is the double's clock.
func (d *Double) Now() time.Time { return d.Start.Add(d.now) }

// Elapsed is the time since the start.
func (d *Double) Elapsed() time.Duration { return d.now }

// Sleep moves the clock on.
func (d *Double) Sleep(ctx context.Context, t time.Duration) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	d.now += max(t, 0)
	return nil
}

// Open opens the line; it is an adapter.Opener. What was on its way stays on its way.
func (d *Double) Open(baud int) (adapter.Port, error) {
	if d.away() {
		return nil, fmt.Errorf("there is no port: %w", fs.ErrNotExist)
	}
	d.Opens = append(d.Opens, d.now)
	return &port{d: d, baud: baud}, nil
}

func (d *Double) away() bool { return d.Away != nil && d.Away(d.now) }

func (d *Double) powerUp() {
	d.set = map[string]string{"E": "1", "S": "1"}
	d.found, d.typed = false, nil
}

// Reset makes the adapter forget its settings, as when the starter draws the battery down.
func (d *Double) Reset() {
	d.powerUp()
	d.print(d.now, "\r\rTEST DOUBLE v3\r\r>")
}

// port is the computer's end of the line.
type port struct {
	d        *Double
	baud     int
	deadline time.Duration
	gone     bool
}

func (p *port) SetReadDeadline(t time.Time) error {
	p.deadline = t.Sub(p.d.Start)
	return nil
}

func (p *port) Close() error { return nil }

// lost tells whether the line is gone; an adapter that comes back has forgotten everything.
func (p *port) lost() bool {
	if !p.gone && p.d.away() {
		p.gone = true
		p.d.cut(p.d.now)
		p.d.out = nil
		p.d.powerUp()
	}
	return p.gone
}

func (p *port) Write(b []byte) (int, error) {
	if p.lost() {
		return 0, adapter.ErrHangup
	}
	at := p.d.now
	for _, x := range b {
		at += p.d.byteTime()
		if p.wrong() {
			x = 0xA5
		}
		p.d.receive(at, x)
	}
	return len(b), nil
}

func (p *port) wrong() bool { return p.baud != 0 && p.baud != p.d.Baud }

func (p *port) Read(b []byte) (int, error) {
	d := p.d
	if p.lost() {
		return 0, adapter.ErrHangup
	}
	if len(d.out) == 0 || d.out[0].at > p.deadline {
		d.now = max(d.now, p.deadline)
		return 0, adapter.ErrTimeout
	}
	d.now = max(d.now, d.out[0].at)
	if p.lost() {
		return 0, adapter.ErrHangup
	}
	n := 0
	for ; n < len(b) && len(d.out) > 0 && d.out[0].at <= d.now; n++ {
		b[n] = d.out[0].b
		if p.wrong() {
			b[n] |= 0x80
		}
		d.out = d.out[1:]
	}
	return n, nil
}

func (d *Double) byteTime() time.Duration { return 10 * time.Second / time.Duration(d.Baud) }

// cut takes off the line what has not arrived by then.
func (d *Double) cut(at time.Duration) {
	for i, o := range d.out {
		if o.at > at {
			d.out = d.out[:i]
			break
		}
	}
	for len(d.Sent) > 0 && d.Sent[len(d.Sent)-1].done > at {
		d.Sent = d.Sent[:len(d.Sent)-1]
	}
	d.end, d.busy = at, at
}

// receive takes a byte of a command line.
func (d *Double) receive(at time.Duration, b byte) {
	if at < d.busy {
		d.cut(at)
		d.print(at, "\rSTOPPED\r\r>")
		return
	}
	switch {
	case b == '\r':
		line := string(d.typed)
		d.typed = nil
		if d.set["E"] == "1" {
			d.print(at, line+"\r")
		}
		d.run(at, strings.ToUpper(strings.ReplaceAll(line, " ", "")))
	case len(d.typed) < 64:
		d.typed = append(d.typed, b)
	}
}

// print puts text on the line and returns when its last byte has arrived.
func (d *Double) print(at time.Duration, text string) time.Duration {
	d.end = max(d.end, at)
	for i := 0; i < len(text); i++ {
		d.end += d.byteTime()
		d.out = append(d.out, timed{d.end, text[i]})
	}
	d.busy = d.end
	return d.end
}

// run answers a command line.
func (d *Double) run(at time.Duration, line string) {
	x := &Exchange{At: at, Command: line}
	if !strings.HasPrefix(line, "AT") && len(line)%2 == 1 {
		n, err := strconv.ParseUint(line[len(line)-1:], 16, 8)
		if err == nil {
			x.Count, x.Command = int(n), line[:len(line)-1]
		}
	}
	x.N = d.Asked[x.Command]
	d.Asked[x.Command]++
	fmt.Fprintf(&d.Text, "%v %s\n", at.Round(time.Millisecond), line)
	if d.Script != nil {
		d.Script(x)
	}
	at += x.Delay
	switch {
	case x.Mute:
	case x.Raw != "":
		d.print(at, x.Raw)
	case strings.HasPrefix(line, "AT"):
		d.setting(at, line[2:])
	default:
		d.request(at, x)
	}
}

// setting answers an AT command.
func (d *Double) setting(at time.Duration, c string) {
	const banner = "TEST DOUBLE v3"
	if d.Refuses["AT"+c] || len(c) > 2 && d.Refuses["AT"+c[:2]] {
		d.print(at, "?\r\r>")
		return
	}
	switch {
	case c == "Z":
		d.powerUp()
		d.print(at+600*time.Millisecond, "\r\r"+banner+"\r\r>")
		return
	case c == "I":
		d.print(at, banner+"\r\r>")
		return
	case c == "D":
		d.powerUp()
	case c == "RV":
		d.print(at, "14.2V\r\r>")
		return
	case c == "DPN":
		d.print(at, "A"+string(d.Protocol)+"\r\r>")
		return
	case c == "AR":
		delete(d.set, "CRA")
	case strings.HasPrefix(c, "CRA"):
		d.set["CRA"] = c[3:]
	case strings.HasPrefix(c, "SH"):
		d.set["SH"] = c[2:]
	case strings.HasPrefix(c, "SP"):
		d.found = false
	case c == "AL" || c == "AT1" || c == "L0":
	case len(c) == 2 && strings.ContainsAny(c[:1], "ESH"):
		d.set[c[:1]] = c[1:]
	default:
		d.print(at, "?\r\r>")
		return
	}
	d.print(at, "OK\r\r>")
}
