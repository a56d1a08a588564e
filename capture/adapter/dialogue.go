package adapter

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"flywitness/capture/clock"
)

// Line is one line of a reply.
type Line struct {
	Kind Kind
	Text string    // Data: hexadecimal digits; Text: as it came; else empty
	At   time.Time // when its first byte arrived
}

// Reply is all that came between a command and the prompt.
type Reply struct {
	Sent   time.Time // just before the first byte was handed to the line
	Done   time.Time // when the prompt arrived
	Lines  []Line
	Echoed bool // the command came back: echo is on
	Stray  int  // bytes that belong to no line: NUL and those above 7E
}

// step returns the strongest step that a line of the reply calls for.
func (r *Reply) step() Step {
	s := GoOn
	for _, l := range r.Lines {
		s = max(s, l.Kind.step())
	}
	return s
}

// has tells whether a line of the kind came.
func (r *Reply) has(k Kind) bool {
	for _, l := range r.Lines {
		if l.Kind == k {
			return true
		}
	}
	return false
}

// data returns the data lines of the reply.
func (r *Reply) data() (texts []string, at []time.Time) {
	for _, l := range r.Lines {
		if l.Kind == Data {
			texts, at = append(texts, l.Text), append(at, l.At)
		}
	}
	return texts, at
}

// firstText returns the first line of text, "" when there is none.
func (r *Reply) firstText() string {
	for _, l := range r.Lines {
		if l.Kind == Text {
			return l.Text
		}
	}
	return ""
}

// words returns the kinds of the lines for a message to a person.
func (r *Reply) words() string {
	var list []string
	for _, l := range r.Lines {
		switch {
		case l.Kind == Progress:
		case l.Text != "":
			list = append(list, fmt.Sprintf("%q", l.Text))
		default:
			list = append(list, l.Kind.String())
		}
	}
	if len(list) == 0 {
		return "nothing"
	}
	return strings.Join(list, ", ")
}

// maxReply bounds the bytes of a reply: a line that never stops talking is no adapter.
const maxReply = 64 << 10

// errBabble is a line that talks without ever coming to a prompt.
var errBabble = errors.New("the line never stops talking")

// dialogue is one command, one reply, on one line.
type dialogue struct {
	port     Port
	clock    clock.Clock
	byteTime time.Duration     // of one byte on the serial line, 0 when unknown
	progress func(line string) // told of SEARCHING... and the like while waiting; may be nil
}

// ask sends a command and reads until the prompt. The error is ctx's, ErrTimeout when no prompt came within timeout, or
// ErrHangup. What came so far is returned in every case.
func (d *dialogue) ask(ctx context.Context, command string, timeout time.Duration) (Reply, error) {
	r := reader{command: command, progress: d.progress}
	r.reply.Sent = d.clock.Now()
	if _, err := d.port.Write([]byte(command + "\r")); err != nil {
		return r.reply, asHangup(err)
	}
	err := d.read(ctx, &r, r.reply.Sent.Add(timeout))
	return r.reply, err
}

// readSlice is the longest that a read waits: a search of half a minute must not hold up the end of a recording.
const readSlice = 250 * time.Millisecond

// read feeds the reader until it has seen the prompt.
func (d *dialogue) read(ctx context.Context, r *reader, deadline time.Time) error {
	var buf [256]byte
	last, slice := r.reply.Sent, d.clock.Now()
	for total := 0; ; {
		if err := ctx.Err(); err != nil {
			return err
		}
		if slice = slice.Add(readSlice); slice.After(deadline) {
			slice = deadline
		}
		if err := d.port.SetReadDeadline(slice); err != nil {
			return asHangup(err)
		}
		n, err := d.port.Read(buf[:])
		now := d.clock.Now()
		for i, b := range buf[:n] {
			at := now.Add(-time.Duration(n-1-i) * d.byteTime) // bytes that come together were sent one after another
			if at.Before(last) {
				at = last
			}
			if r.feed(b, at) {
				return nil
			}
		}
		if n > 0 {
			last, slice = now, now
		}
		if total += n; total > maxReply {
			return errBabble
		}
		switch {
		case err != nil && !errors.Is(err, ErrTimeout):
			return asHangup(err)
		case !now.Before(deadline), err != nil && slice.Equal(deadline):
			r.endLine()
			return ErrTimeout
		}
	}
}

func asHangup(err error) error {
	if errors.Is(err, ErrHangup) {
		return err
	}
	return fmt.Errorf("%w (%v)", ErrHangup, err)
}

// reader cuts the bytes of a reply into lines.
type reader struct {
	command  string
	progress func(string)
	reply    Reply
	line     []byte
	lineAt   time.Time
}

// feed takes a byte that arrived at a time; it returns true at the prompt.
func (r *reader) feed(b byte, at time.Time) bool {
	switch {
	case b == '>':
		r.endLine()
		r.reply.Done = at
		return true
	case b == '\r' || b == '\n':
		r.endLine()
	case b == 0 || b > 0x7E:
		r.reply.Stray++
	default:
		if len(r.line) == 0 {
			r.lineAt = at
		}
		r.line = append(r.line, b)
		if b == '.' && r.progress != nil && len(r.line) > 3 && strings.HasSuffix(string(r.line), "...") {
			r.progress(strings.TrimSpace(string(r.line)))
		}
	}
	return false
}

// endLine classifies the line that ended. The command itself, first of all lines, is the echo.
func (r *reader) endLine() {
	line := string(r.line)
	r.line = r.line[:0]
	if strings.TrimSpace(line) == "" {
		return
	}
	if len(r.reply.Lines) == 0 && !r.reply.Echoed && compact(line) == compact(r.command) {
		r.reply.Echoed = true
		return
	}
	kind, text := classify(line)
	r.reply.Lines = append(r.reply.Lines, Line{Kind: kind, Text: text, At: r.lineAt})
}

func compact(s string) string { return strings.ToUpper(strings.Join(strings.Fields(s), "")) }
