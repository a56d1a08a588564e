package obd

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// Link is the kind of bus between adapter and control unit.
type Link uint8

// The kinds of link. KLine is ISO 9141-2 and ISO 14230, J1850 is SAE J1850, CAN11 and CAN29 are ISO 15765-4 with short and long identifiers.
const (
	unknownLink Link = iota
	KLine
	J1850
	CAN11
	CAN29
)

func (l Link) String() string {
	return [...]string{"unknown", "K-line", "J1850", "CAN, 11-bit identifiers", "CAN, 29-bit identifiers"}[l]
}

// CAN tells whether the link is one of the CAN kinds.
func (l Link) CAN() bool { return l == CAN11 || l == CAN29 }

// Message is one whole message of a control unit.
type Message struct {
	Source uint32 // identifier (CAN) or address (others) of the sender; 0 when headers are off
	Data   []byte // from the service byte on
	Line   int    // index of the line that it began with
}

// Format is how an adapter prints replies: the link, and whether header bytes stand before the data.
type Format struct {
	Link    Link
	Headers bool
}

// Messages assembles the lines of one reply, as the adapter printed them (hexadecimal, blanks and case do not matter),
// into messages. The messages that are whole are returned even when the error is not nil; the error names what is
// missing or damaged.
func (f Format) Messages(lines []string) ([]Message, error) {
	switch {
	case f.Headers && f.Link.CAN():
		return f.canMessages(lines)
	case f.Headers:
		return f.lineMessages(lines)
	default:
		return bareMessages(lines)
	}
}

// Guess tells from the lines of a reply to the mask request 01 00 which format they have. The protocol that the adapter
// names stands above it where there is one; Guess is for adapters that ignore commands.
func Guess(lines []string) (Format, bool) {
	for _, line := range lines {
		s := strings.ToUpper(strings.ReplaceAll(line, " ", ""))
		switch {
		case strings.HasPrefix(s, "4100"):
			return Format{}, true
		case len(s) >= 9 && s[0] == '7' && s[5:9] == "4100":
			return Format{CAN11, true}, true
		case len(s) >= 14 && strings.HasPrefix(s, "18DA") && s[10:14] == "4100":
			return Format{CAN29, true}, true
		case len(s) >= 10 && s[6:10] == "4100" && strings.HasPrefix(s, "416B"):
			return Format{J1850, true}, true
		case len(s) >= 10 && s[6:10] == "4100":
			return Format{KLine, true}, true
		}
	}
	return Format{}, false
}

// canMessages reads lines of identifier and frame: "7E8 04 41 0C 1A F8", "18 DA F1 10 04 41 0C 1A F8".
func (f Format) canMessages(lines []string) ([]Message, error) {
	digits := 3
	if f.Link == CAN29 {
		digits = 8
	}
	var a assembler
	for i, line := range lines {
		s := strings.ReplaceAll(line, " ", "")
		if len(s) <= digits {
			a.fail(i, fmt.Errorf("line %q is too short for a frame", line))
			continue
		}
		id, err := strconv.ParseUint(s[:digits], 16, 32)
		if err != nil {
			a.fail(i, fmt.Errorf("line %q has no frame identifier", line))
			continue
		}
		frame, err := hexBytes(s[digits:])
		if err != nil || len(frame) > 8 {
			a.fail(i, fmt.Errorf("line %q is not a frame of 1 to 8 bytes", line))
			continue
		}
		a.add(i, uint32(id), frame)
	}
	return a.finish()
}

// lineMessages reads lines of three header bytes, data and a check byte, as K-line and J1850 have them.
func (f Format) lineMessages(lines []string) ([]Message, error) {
	var list []Message
	var errs []error
	for i, line := range lines {
		b, err := hexBytes(strings.ReplaceAll(line, " ", ""))
		if err != nil || len(b) < 5 {
			errs = append(errs, fmt.Errorf("line %q is not a message with header and check byte", line))
			continue
		}
		last := len(b) - 1
		sum := lineSum(b[:last])
		if f.Link == J1850 {
			sum = crc8(b[:last])
		}
		if sum != b[last] {
			errs = append(errs, fmt.Errorf("line %q fails its check byte", line))
			continue
		}
		data := b[3:last]
		if n := int(b[0] & 0x3F); f.Link == KLine && b[0]&0x80 != 0 { // ISO 14230-2: the format byte carries the length
			if n == 0 && len(data) > 1 {
				n, data = int(data[0]), data[1:]
			}
			if n != len(data) {
				errs = append(errs, fmt.Errorf("line %q announces %d bytes and has %d: %w", line, n, len(data), errIncomplete))
				continue
			}
		}
		list = append(list, Message{Source: uint32(b[2]), Data: data, Line: i})
	}
	return list, errors.Join(errs...)
}

// lineSum is the check byte of a K-line message (ISO 9141-2, ISO 14230-2): the sum of all bytes before it.
func lineSum(b []byte) byte {
	var s byte
	for _, x := range b {
		s += x
	}
	return s
}

// crc8 is the check byte of SAE J1850: polynomial 1D, start FF, inverted.
func crc8(b []byte) byte {
	c := byte(0xFF)
	for _, x := range b {
		c ^= x
		for i := 0; i < 8; i++ {
			if c&0x80 != 0 {
				c = c<<1 ^ 0x1D
			} else {
				c <<= 1
			}
		}
	}
	return ^c
}

// hexBytes reads an even number of hexadecimal digits.
func hexBytes(s string) ([]byte, error) {
	if s == "" || len(s)%2 != 0 {
		return nil, fmt.Errorf("%q is not a row of bytes", s)
	}
	b := make([]byte, len(s)/2)
	for i := range b {
		x, err := strconv.ParseUint(s[2*i:2*i+2], 16, 8)
		if err != nil {
			return nil, fmt.Errorf("%q is not a row of bytes", s)
		}
		b[i] = byte(x)
	}
	return b, nil
}
