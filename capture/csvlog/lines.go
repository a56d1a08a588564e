package csvlog

import (
	"bufio"
	"bytes"
	"io"
	"slices"

	"flywitness/internal/blocks"
)

// textLine is one line of the table without its line end. A line that is too long has no text.
type textLine struct {
	text   []byte
	number int  // of its first physical line, from 1
	whole  bool // it had a line end
	long   bool
}

// maxQuoted is how many more lines one quoted cell may span; a stray quote must not swallow the file.
const maxQuoted = 8

// The headings, each of which may stand on several lines, begin within the first lines.
const headingsBy, maxQuotedHead = 20, 200

// newCutter looks at the start of the text for its line end: a lone carriage return where no line feed is.
func newCutter(in *bufio.Reader) *blocks.Cutter {
	eol := byte('\n')
	start, _ := in.Peek(peek)
	switch feeds := bytes.Count(start, []byte{'\n'}); {
	case feeds == 0 && bytes.Contains(start, []byte{'\r'}):
		eol = '\r'
	case feeds > 0 && loneReturns(start)*loneShare > feeds:
		in = bufio.NewReaderSize(feedReader{in}, buffered)
	}
	ends := func(text []byte, final bool) int { return wholeLines(text, eol, final) }
	return &blocks.Cutter{R: in, EOL: eol, Max: maxLine, Ends: ends}
}

// loneShare is how many line feeds there are to a line that ends in a carriage return alone, at most: fewer stand in cells.
const loneShare = 10

// loneReturns counts the carriage returns that end a line of their own, in a text that was put together on several computers.
func loneReturns(text []byte) (n int) {
	if bytes.IndexByte(text, '\r') < 0 {
		return 0
	}
	for i, c := range text {
		if c == '\r' && i+1 < len(text) && text[i+1] != '\n' && text[i+1] != '\r' {
			n++
		}
	}
	return n
}

// feedReader turns carriage returns into line feeds: empty lines say nothing.
type feedReader struct{ r io.Reader }

func (f feedReader) Read(b []byte) (int, error) {
	n, err := f.r.Read(b)
	for i, c := range b[:n] {
		if c == '\r' {
			b[i] = '\n'
		}
	}
	return n, err
}

// wholeLines returns how many bytes of text are whole lines; a quoted cell may hold line ends.
func wholeLines(text []byte, eol byte, final bool) int {
	switch {
	case final:
		return len(text)
	case bytes.IndexByte(text, '"') < 0:
		return bytes.LastIndexByte(text, eol) + 1
	}
	l := lines{text: text, eol: eol}
	end := 0
	for l.next() && l.sure {
		end = len(text) - len(l.text)
	}
	return end
}

// lines goes through the lines of a block.
type lines struct {
	text   []byte // what is left
	eol    byte
	number int // of the line that comes, from 1
	line   textLine
	sure   bool // line would not have gone on with more text
	lost   bool // a line that was too long comes first
}

// linesOf returns the lines of b.
func linesOf(b *blocks.Block, eol byte) *lines {
	return &lines{text: b.Text, eol: eol, number: b.Line, lost: b.Long, line: textLine{whole: !b.Cut}}
}

// next moves on to the next line and returns false behind the last one.
func (l *lines) next() bool {
	if l.lost {
		l.lost, l.line.number, l.line.long = false, l.number, true
		l.number++
		return true
	}
	if len(l.text) == 0 {
		return false
	}
	l.line = l.physical()
	l.sure = l.line.whole
	if openQuote(l.line.text) {
		l.join()
	}
	return true
}

// join adds the lines that a quoted cell goes on in.
func (l *lines) join() {
	l.sure = false
	joined := bytes.Clone(l.line.text)
	most := maxQuoted
	if l.line.number <= headingsBy {
		most = maxQuotedHead
	}
	for range most {
		if len(l.text) == 0 {
			l.sure = false
			break
		}
		more := l.physical()
		joined = append(append(joined, '\n'), more.text...)
		l.line.whole, l.sure = more.whole, more.whole
		if !openQuote(joined) {
			break
		}
	}
	l.line.text = joined
}

func (l *lines) physical() textLine {
	line := textLine{number: l.number}
	l.number++
	if i := bytes.IndexByte(l.text, l.eol); i >= 0 {
		line.text, line.whole = l.text[:i], true
		l.text = l.text[i+1:]
	} else {
		line.text, l.text = l.text, nil
	}
	line.text = bytes.TrimRight(line.text, "\r")
	if line.long = len(line.text) >= maxLine; line.long {
		line.text = nil
	}
	return line
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
	switch {
	case delim == ' ':
		return append(cells, splitBlanks(line)...)
	case bytes.IndexByte(line, '"') >= 0:
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

// splitBlanks cuts a line of columns that stand below each other: at wide gaps, where words stand in it, else at any.
func splitBlanks(line []byte) [][]byte {
	cells := bytes.Fields(line)
	if !bytes.Contains(bytes.TrimSpace(line), []byte("  ")) || !slices.ContainsFunc(cells, func(c []byte) bool { return !looksLikeValue(c) }) {
		return cells
	}
	cells = nil
	for _, c := range bytes.Split(line, []byte("  ")) {
		if c = trim(c); len(c) > 0 {
			cells = append(cells, c)
		}
	}
	return cells
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
