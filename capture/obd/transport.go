package obd

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// assembler joins the frames of ISO 15765-2 (from memory) of several senders: single frame 0L, first frame 1L LL,
// consecutive frame 2N with N = 1..F, 0, 1..., flow control 3x.
type assembler struct {
	done []Message
	open []*partial
	errs []error
}

// partial is a message of which frames are still to come.
type partial struct {
	Message
	want int  // bytes announced
	next byte // sequence number of the next consecutive frame
}

func (a *assembler) fail(line int, err error) {
	a.errs = append(a.errs, fmt.Errorf("reply line %d: %w", line+1, err))
}

// add takes one frame of a sender.
func (a *assembler) add(line int, source uint32, b []byte) {
	switch b[0] >> 4 {
	case 0:
		n := int(b[0])
		if n == 0 || n > 7 || n > len(b)-1 {
			a.fail(line, fmt.Errorf("a single frame announces %d bytes and carries %d: %w", n, len(b)-1, errIncomplete))
			return
		}
		a.done = append(a.done, Message{Source: source, Data: b[1 : 1+n], Line: line})
	case 1:
		if len(b) < 3 {
			a.fail(line, fmt.Errorf("a first frame of %d bytes: %w", len(b), errIncomplete))
			return
		}
		want := int(b[0]&0xF)<<8 | int(b[1])
		if want < 8 {
			a.fail(line, fmt.Errorf("a first frame announces %d bytes, which would fit a single frame", want))
			return
		}
		if p := a.find(source); p != nil {
			a.drop(line, p, "a new message began before the last one was whole")
		}
		data := append(make([]byte, 0, want), b[2:]...)
		a.open = append(a.open, &partial{Message{source, data, line}, want, 1})
	case 2:
		p := a.find(source)
		if p == nil {
			a.fail(line, fmt.Errorf("a consecutive frame without a first frame: %w", errIncomplete))
			return
		}
		a.consecutive(line, p, b[0]&0xF, b[1:])
	case 3: // flow control belongs to the other direction
	default:
		a.fail(line, fmt.Errorf("frame type %X is unknown", b[0]>>4))
	}
}

func (a *assembler) consecutive(line int, p *partial, number byte, data []byte) {
	if number != p.next {
		a.drop(line, p, fmt.Sprintf("frame %X came where %X was due: a frame was lost", number, p.next))
		return
	}
	p.next = (p.next + 1) & 0xF
	if left := p.want - len(p.Data); len(data) > left {
		data = data[:left]
	}
	p.Data = append(p.Data, data...)
	if len(p.Data) == p.want {
		a.done = append(a.done, p.Message)
		a.forget(p)
	}
}

func (a *assembler) find(source uint32) *partial {
	for _, p := range a.open {
		if p.Source == source {
			return p
		}
	}
	return nil
}

func (a *assembler) forget(p *partial) {
	for i, q := range a.open {
		if p == q {
			a.open = append(a.open[:i], a.open[i+1:]...)
			return
		}
	}
}

func (a *assembler) drop(line int, p *partial, why string) {
	a.fail(line, fmt.Errorf("%s: %w", why, errIncomplete))
	a.forget(p)
}

// finish returns the whole messages; what is still open is an error.
func (a *assembler) finish() ([]Message, error) {
	for _, p := range a.open {
		a.fail(p.Line, fmt.Errorf("%d of %d bytes came: %w", len(p.Data), p.want, errIncomplete))
	}
	return a.done, errors.Join(a.errs...)
}

// bareMessages reads the lines of an adapter that prints no headers: a line of bytes is a message, and a longer message
// on CAN is its length as three digits ("00E") and then numbered lines ("0: 41 0C ..", "1: ..").
func bareMessages(lines []string) ([]Message, error) {
	var a assembler
	length, announced := 0, 0 // of the message to come, and the line that said so
	for i, line := range lines {
		s := strings.ReplaceAll(line, " ", "")
		number, data, numbered := strings.Cut(s, ":")
		switch {
		case numbered:
			a.addNumbered(i, number, data, length, announced)
			length = 0
		case len(s) == 3:
			n, err := strconv.ParseUint(s, 16, 12)
			if err != nil {
				a.fail(i, fmt.Errorf("line %q is no length", line))
				continue
			}
			if p := a.find(0); p != nil {
				a.drop(i, p, "a new message began before the last one was whole")
			}
			length, announced = int(n), i
		default:
			b, err := hexBytes(s)
			if err != nil {
				a.fail(i, fmt.Errorf("line %q is not a row of bytes", line))
				continue
			}
			a.done = append(a.done, Message{Data: b, Line: i})
		}
	}
	if length > 0 {
		a.fail(len(lines)-1, fmt.Errorf("a message of %d bytes was announced and did not come: %w", length, errIncomplete))
	}
	return a.finish()
}

// addNumbered takes the line "number: data"; a message that begins with it has the length announced in an earlier line, 0 when
// there was none.
func (a *assembler) addNumbered(line int, number, data string, length, announced int) {
	n, err := strconv.ParseUint(number, 16, 4)
	if err != nil {
		a.fail(line, fmt.Errorf("%q is no line number", number))
		return
	}
	b, err := hexBytes(data)
	if err != nil {
		a.fail(line, err)
		return
	}
	p := a.find(0)
	switch {
	case p == nil && n == 0 && length > len(b):
		a.open = append(a.open, &partial{Message{0, b, announced}, length, 1})
	case p == nil && n == 0 && length > 0: // a short message that some adapters print in this form
		a.done = append(a.done, Message{Data: b[:length], Line: announced})
	case p == nil:
		a.fail(line, fmt.Errorf("line %X without the lines before it: %w", n, errIncomplete))
	default:
		a.consecutive(line, p, byte(n), b)
	}
}
