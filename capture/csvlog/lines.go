package csvlog

import (
	"bufio"
	"bytes"
	"io"
)

// textLine is one line of the table without its line end. A line that is too long has no text.
type textLine struct {
	text   []byte
	number int  // of its first physical line, from 1
	whole  bool // it had a line end
	long   bool
}

// lineReader cuts text into lines; a quoted cell may hold line ends.
type lineReader struct {
	in     *bufio.Reader
	eol    byte
	number int
	joined []byte
}

// maxQuoted is how many lines one quoted cell may span; a stray quote must not swallow the file.
const maxQuoted = 8

// newLineReader looks at the start of the text for its line end: a lone carriage return where no line feed is.
func newLineReader(in *bufio.Reader) *lineReader {
	r := &lineReader{in: in, eol: '\n'}
	start, _ := in.Peek(peek)
	if !bytes.Contains(start, []byte{'\n'}) && bytes.Contains(start, []byte{'\r'}) {
		r.eol = '\r'
	}
	return r
}

// next returns the next line; its text is valid until the call after.
func (r *lineReader) next() (textLine, error) {
	l, err := r.physical()
	if err != nil || !openQuote(l.text) {
		return l, err
	}
	r.joined = append(r.joined[:0], l.text...)
	for range maxQuoted {
		more, err := r.physical()
		if err == io.EOF {
			break
		}
		if err != nil {
			return l, err
		}
		r.joined = append(append(r.joined, '\n'), more.text...)
		l.whole = more.whole
		if !openQuote(r.joined) {
			break
		}
	}
	l.text = r.joined
	return l, nil
}

func (r *lineReader) physical() (textLine, error) {
	b, err := r.in.ReadSlice(r.eol)
	r.number++
	l := textLine{number: r.number, whole: err == nil}
	for err == bufio.ErrBufferFull {
		l.long = true
		_, err = r.in.ReadSlice(r.eol)
	}
	if l.long {
		if err == io.EOF {
			err = nil
		}
		return l, err
	}
	if err != nil && (err != io.EOF || len(b) == 0) {
		return l, err
	}
	if l.whole {
		b = b[:len(b)-1]
	}
	l.text = bytes.TrimRight(b, "\r")
	return l, nil
}

// openQuote tells whether a quoted cell begins in line and does not end in it. A quote opens a cell only at its start.
func openQuote(line []byte) bool {
	if bytes.IndexByte(line, '"') < 0 {
		return false
	}
	quoted, start := false, true
	for i := 0; i < len(line); i++ {
		c := line[i]
		switch {
		case quoted && c == '"':
			quoted = false
		case quoted:
		case c == '"':
			quoted = start || i > 0 && line[i-1] == '"'
			start = false
		case c == ',' || c == ';' || c == '\t' || c == '|':
			start = true
		case c != ' ':
			start = false
		}
	}
	return quoted
}

// splitCells cuts a line at delim into cells, without outer blanks and quotes, and appends them to cells.
func splitCells(cells [][]byte, line []byte, delim byte) [][]byte {
	if bytes.IndexByte(line, '"') >= 0 {
		return splitQuoted(cells, line, delim)
	}
	for {
		i := bytes.IndexByte(line, delim)
		if i < 0 {
			return append(cells, trim(line))
		}
		cells = append(cells, trim(line[:i]))
		line = line[i+1:]
	}
}

func splitQuoted(cells [][]byte, line []byte, delim byte) [][]byte {
	for {
		rest := bytes.TrimLeft(line, " ")
		if len(rest) == 0 || rest[0] != '"' {
			cell, after, more := bytes.Cut(line, []byte{delim})
			cells = append(cells, trim(cell))
			if !more {
				return cells
			}
			line = after
			continue
		}
		end := 1
		for end < len(rest) && (rest[end] != '"' || end+1 < len(rest) && rest[end+1] == '"') {
			if rest[end] == '"' {
				end++
			}
			end++
		}
		cell := rest[1:min(end, len(rest))]
		if bytes.Contains(cell, []byte(`""`)) {
			cell = bytes.ReplaceAll(cell, []byte(`""`), []byte(`"`))
		}
		cells = append(cells, trim(cell))
		_, after, more := bytes.Cut(rest[min(end+1, len(rest)):], []byte{delim})
		if !more {
			return cells
		}
		line = after
	}
}

// trim cuts blanks off both ends; the common cell has none and costs two comparisons.
func trim(b []byte) []byte {
	for len(b) > 0 && (b[0] == ' ' || b[0] == '\t' || b[0] == '\n') {
		b = b[1:]
	}
	for len(b) > 0 && (b[len(b)-1] == ' ' || b[len(b)-1] == '\t' || b[len(b)-1] == '\n') {
		b = b[:len(b)-1]
	}
	return b
}
