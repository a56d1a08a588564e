package csvlog

import (
	"bytes"
	"io"
	"slices"
	"unicode/utf8"
)

// Signs that nobody sees stand in logs that went through a chat, a terminal or a database: marks of the direction of writing, blanks without width, colours, the zeros
// of rows of one length. They are taken out, and quotes of print become those of a keyboard. It is done only where the start of a text has some.

// paddedRuns is how many runs of zeros the start of a text has whose rows are filled up with them; fewer are room that was never written to.
const paddedRuns = 10

// unseenStarts are the bytes with which such signs begin: most texts have none of them.
var unseenStarts = []byte{0, 0x1b, 0xc2, 0xe2, 0xef}

// hasUnseen tells whether a text has such signs.
func hasUnseen(start []byte) bool {
	text := start[:bytes.LastIndexByte(start, '\n')+1]
	begins := func(c byte) bool { return bytes.IndexByte(text, c) >= 0 }
	if !slices.ContainsFunc(unseenStarts, begins) || !utf8.Valid(text) {
		return false
	}
	for i := 0; i < len(text); i++ {
		if text[i] < ' ' || text[i] >= utf8.RuneSelf {
			if n, as := unseen(text[i:]); text[i] != 0 && (n > 0 || as > 0) {
				return true
			}
		}
	}
	return zeroRuns(text) >= paddedRuns
}

// zeroRuns counts the runs of zeros.
func zeroRuns(text []byte) (n int) {
	for i, c := range text {
		if c == 0 && (i == 0 || text[i-1] != 0) {
			n++
		}
	}
	return n
}

// unseen returns how many bytes at the start of b are signs that nobody sees, or the sign as which they are read instead; n is -1 where b ends within one.
func unseen(b []byte) (n int, as byte) {
	switch {
	case b[0] == 0:
		return 1, 0
	case b[0] == 0x1b:
		return colour(b), 0
	case b[0] < utf8.RuneSelf:
		return 0, 0
	case !utf8.FullRune(b):
		return -1, 0
	}
	switch r, size := utf8.DecodeRune(b); {
	case r == '\u00ad', r == '\ufeff', r >= '\u200b' && r <= '\u200f', r >= '\u202a' && r <= '\u202e', r >= '\u2060' && r <= '\u2064', r >= '\u2066' && r <= '\u2069':
		return size, 0
	case r == '“' || r == '”' || r == '„':
		return size, '"'
	}
	return 0, 0
}

// mostColour is how many bytes a change of colour has at most.
const mostColour = 24

// colour is how many bytes of b are a change of colour on a terminal (ECMA-48, from memory): ESC [ ... and a letter.
func colour(b []byte) int {
	if len(b) < 2 {
		return -1
	}
	if b[1] != '[' {
		return 0
	}
	for i := 2; i < len(b) && i < mostColour; i++ {
		if b[i] >= '@' {
			return i + 1
		}
	}
	if len(b) < mostColour {
		return -1
	}
	return 0
}

// seenReader passes on what can be seen.
type seenReader struct {
	r    io.Reader
	rest []byte // that was read and is not looked at yet
	err  error
}

func (s *seenReader) Read(out []byte) (int, error) {
	for {
		if n := s.pass(out); n > 0 || len(out) == 0 {
			return n, nil
		}
		if s.err != nil {
			return 0, s.err
		}
		buf := make([]byte, len(s.rest)+buffered)
		kept := copy(buf, s.rest)
		n, err := s.r.Read(buf[kept:])
		s.rest, s.err = buf[:kept+n], err
	}
}

// pass copies what can be seen and returns how many bytes that are.
func (s *seenReader) pass(out []byte) (n int) {
	for n < len(out) && len(s.rest) > 0 {
		if c := s.rest[0]; c >= ' ' && c < utf8.RuneSelf {
			out[n], s.rest, n = c, s.rest[1:], n+1
			continue
		}
		skip, as := unseen(s.rest)
		switch {
		case skip < 0 && s.err == nil:
			return n // more of it may come
		case as > 0:
			out[n], s.rest, n = as, s.rest[skip:], n+1
		case skip > 0:
			s.rest = s.rest[skip:]
		default:
			out[n], s.rest, n = s.rest[0], s.rest[1:], n+1
		}
	}
	return n
}
