package drive

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"strings"

	"flywitness/finding"
)

// ReadSession reads a session file (docs/session-format.md) line by line; name stands in messages. Lines that cannot be trusted
// are left out, counted and named in the warnings; the error is for a file that is no session, is of a newer version, or has
// no row that can be read although it has lines.
func ReadSession(r io.Reader, name string) (*Log, error) { return ReadSessionOf(r, name, 0) }

// ReadSessionOf reads a session file of about size bytes, so that room for it is made once.
func ReadSessionOf(r io.Reader, name string, size int64) (*Log, error) {
	s := newSessionReader(r, name)
	if err := s.readHeader(); err != nil {
		return nil, err
	}
	return s.readBlocks(size)
}

func newSessionReader(r io.Reader, name string) *sessionReader {
	return &sessionReader{in: bufio.NewReaderSize(r, maxSessionLine+2), log: &Log{Path: name}}
}

// readRows reads everything behind the column row.
func (s *sessionReader) readRows() (*Log, error) {
	for {
		line, whole, err := s.next()
		if err == io.EOF {
			return s.finish()
		}
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %w", s.log.Path, s.number, err)
		}
		if err := s.row(line, whole); err != nil {
			return nil, err
		}
	}
}

type sessionReader struct {
	in     *bufio.Reader
	log    *Log
	number int   // of the line last read, from 1
	end    int64 // bytes up to and with it
	take   func(Row) error

	header   []byte // bytes that header_check covers
	sum      uint32
	hasSum   bool
	channels []*Channel // of the columns between time_s and check
	checked  bool       // there is a check column
	values   []Cell     // of the row being read
	bad      []string   // what was wrong with the first skipped lines
	failed   int        // lines that failed their check
}

// next returns the next line without its line end; whole tells that it had one. A line that is too long comes back as nil.
// The bytes are valid until the next call.
func (s *sessionReader) next() (line []byte, whole bool, err error) {
	line, err = s.in.ReadSlice('\n')
	s.number++
	s.end += int64(len(line))
	if err == bufio.ErrBufferFull {
		for err == bufio.ErrBufferFull {
			line, err = s.in.ReadSlice('\n')
			s.end += int64(len(line))
		}
		if err != nil && err != io.EOF {
			return nil, false, err
		}
		return nil, err == nil, nil
	}
	if err != nil && (err != io.EOF || len(line) == 0) {
		return nil, false, err
	}
	whole = err == nil
	line = bytes.TrimSuffix(line, []byte("\n"))
	return bytes.TrimSuffix(line, []byte("\r")), whole, nil
}

// readHeader reads up to and with the column row.
func (s *sessionReader) readHeader() error {
	for {
		line, _, err := s.next()
		if err == io.EOF {
			return fmt.Errorf("%s: no column row: a session file has one that begins with %s", s.log.Path, timeColumn)
		}
		if err != nil {
			return fmt.Errorf("%s:%d: %w", s.log.Path, s.number, err)
		}
		if s.number == 1 {
			line = bytes.TrimPrefix(line, []byte("\ufeff"))
		}
		switch {
		case len(line) == 0:
		case line[0] == '#':
			s.headerLine(line)
		default:
			if err := s.columnRow(string(line)); err != nil {
				return err
			}
			return s.checkHeader(line)
		}
		if len(s.header) > 1<<20 {
			return fmt.Errorf("%s: more than 1 MiB of header lines: not a session file", s.log.Path)
		}
	}
}

func (s *sessionReader) headerLine(line []byte) {
	key, value, ok := strings.Cut(strings.TrimPrefix(string(line[1:]), " "), ":")
	key, value = strings.TrimSpace(key), strings.TrimPrefix(value, " ")
	if !ok || key == "" {
		s.log.warn(finding.HeaderLine, finding.Count("line", s.number))
		s.header = append(append(s.header, line...), '\n')
		return
	}
	if key == headerCheckKey {
		s.sum, s.hasSum = parseCheck([]byte(strings.TrimSpace(value)))
		return
	}
	s.header = append(append(s.header, line...), '\n')
	s.log.Header = append(s.log.Header, Field{key, unescapeValue(value)})
}

func (s *sessionReader) columnRow(row string) error {
	names := strings.Split(row, ",")
	if strings.TrimSpace(names[0]) != timeColumn {
		return fmt.Errorf("%s:%d: the column row begins with %.40q, a session file's begins with %s", s.log.Path, s.number, names[0], timeColumn)
	}
	names = names[1:]
	if n := len(names); n > 0 && strings.TrimSpace(names[n-1]) == checkColumn {
		names, s.checked = names[:n-1], true
	}
	seen := map[string]bool{}
	for i, name := range names {
		name = strings.TrimSpace(name)
		if name == "" || seen[name] {
			return fmt.Errorf("%s:%d:%d: column name %q is empty or stands twice: give every column its own name", s.log.Path, s.number, i+2, name)
		}
		seen[name] = true
		s.channels = append(s.channels, &Channel{Name: name, Source: name})
	}
	if len(s.channels) == 0 {
		return fmt.Errorf("%s:%d: the column row has no channel", s.log.Path, s.number)
	}
	return nil
}

// checkHeader looks at what the header says of the file once all of it is there.
func (s *sessionReader) checkHeader(row []byte) error {
	intact := !s.hasSum || sessionCheck(append(s.header, row...)) == s.sum
	if !intact {
		s.log.warn(finding.HeaderCheck)
	}
	if format := s.log.HeaderValue(formatKey); format != "" && intact {
		var version int
		if _, err := fmt.Sscanf(format, "session %d", &version); err != nil || version < 1 {
			return fmt.Errorf("%s: format is %.40q, want \"session %d\"", s.log.Path, format, sessionVersion)
		}
		if version > sessionVersion {
			return fmt.Errorf("%s: written in session format %d, this program reads up to %d: use a newer program", s.log.Path, version, sessionVersion)
		}
	}
	if created := s.log.HeaderValue(createdKey); created != "" {
		at, err := parseCreated(created)
		if err != nil {
			s.log.warn(finding.HeaderLine, finding.Name("created", fmt.Sprintf("%.40s", created)))
		}
		s.log.Created = at
	}
	switch {
	case !s.checked:
		s.log.warn(finding.NoCheck)
	case !s.hasSum:
		s.log.warn(finding.HeaderCheck, finding.Flag("missing", true))
	}
	s.header = nil
	s.log.Channels = s.channels
	s.log.StampStep, s.log.Clocks = highest(s.log.Header, stampStepKey), int(min(highest(s.log.Header, clocksKey), maxClocks))
	return nil
}

// badShown is how many lines that were left out are named.
const badShown = 10

// row takes one line after the column row. The error is that of whoever takes the rows.
func (s *sessionReader) row(line []byte, whole bool) error {
	if line != nil && len(line) == 0 {
		return nil
	}
	body, why := s.verified(line)
	if why == "" && !whole && !s.checked {
		why = "torn"
	}
	row := Row{End: s.end}
	if why == "" && len(body) > 0 && body[0] == '#' {
		if row.Note, why = s.note(body); why == "" && row.Note == nil {
			return nil
		}
	} else if why == "" {
		why = s.cells(body, &row)
	}
	if why == "" {
		return s.take(row)
	}
	s.log.Skipped++
	if !whole {
		s.log.Torn++
	} else if len(s.bad) < badShown {
		s.bad = append(s.bad, fmt.Sprintf("%d (%s)", s.number, why))
	}
	return nil
}

// verified returns the line without its check, or what is wrong with it.
func (s *sessionReader) verified(line []byte) (body []byte, why string) {
	if line == nil {
		return nil, "too long"
	}
	if !s.checked {
		return line, ""
	}
	comma := bytes.LastIndexByte(line, ',')
	if comma < 0 {
		s.failed++
		return nil, "no check"
	}
	sum, ok := parseCheck(line[comma+1:])
	if !ok || sum != sessionCheck(line[:comma]) {
		s.failed++
		return nil, "fails its check"
	}
	return line[:comma], ""
}

// note reads a note; neither a note nor a reason is a remark by hand.
func (s *sessionReader) note(body []byte) (n *Note, why string) {
	at, text, _ := strings.Cut(strings.TrimPrefix(string(body[1:]), " "), " ")
	t, ok := ParseNumber([]byte(at))
	if !ok {
		if !s.checked {
			return nil, ""
		}
		return nil, "a note without a time"
	}
	return &Note{T: t, Text: unescapeValue(text)}, ""
}

// cells reads the cells of a row; nothing of it is kept unless all of it can be read.
func (s *sessionReader) cells(body []byte, row *Row) (why string) {
	t, i, ok := cellNumber(body, 0)
	if !ok {
		return "time_s is no number"
	}
	n := 0
	s.values = s.values[:0]
	for i < len(body) {
		i++ // the comma
		if n == len(s.channels) {
			return fmt.Sprintf("more than %d cells", n+1)
		}
		if i < len(body) && body[i] != ',' {
			var v float64
			if v, i, ok = cellNumber(body, i); !ok {
				return s.channels[n].Name + " is no number"
			}
			s.values = append(s.values, Cell{Channel: n, Value: v})
		}
		n++
	}
	if n < len(s.channels) {
		return fmt.Sprintf("%d cells, want %d", n+1, len(s.channels)+1)
	}
	row.T, row.Cells = t, s.values
	s.log.Rows++
	return ""
}

// cellNumber reads the cell that begins at body[i] and returns where it ends. It may look at what stands behind the
// body: a number well before the end is read quicker.
func cellNumber(body []byte, i int) (v float64, end int, ok bool) {
	v, end = PlainNumber(body[:cap(body)], i, '.')
	if end == len(body) || end > 0 && end < len(body) && body[end] == ',' {
		return v, end, true
	}
	if end = bytes.IndexByte(body[i:], ','); end < 0 {
		end = len(body)
	} else {
		end += i
	}
	v, ok = ParseNumber(body[i:end])
	return v, end, ok
}

// finish sums up what was left out.
func (s *sessionReader) finish() (*Log, error) {
	l := s.log
	if l.Rows == 0 && l.Skipped > l.Torn {
		return nil, s.unreadable()
	}
	if n := l.Skipped - l.Torn; n > 0 {
		list := strings.Join(s.bad, ", ")
		if n > len(s.bad) {
			list += fmt.Sprintf(" and %d more", n-len(s.bad))
		}
		l.warn(finding.SkippedLines, finding.Count("skipped", n), finding.Count("rows", l.Rows+n), finding.Name("lines", list))
	}
	if l.Torn > 0 {
		l.warn(finding.TornLine, finding.Flag("session", true))
	}
	return l, nil
}

// unreadable is the error of a file with lines and no readable row.
func (s *sessionReader) unreadable() error {
	if s.failed == s.log.Skipped {
		return fmt.Errorf("%s: every line fails its check: another program has rewritten the numbers. Use the original file, or remove the column check to read it unchecked", s.log.Path)
	}
	return fmt.Errorf("%s: none of the %d lines can be read; line %s: compare them with the column row", s.log.Path, s.log.Skipped, s.bad[0])
}

// warn says something of the log, whose name stands in front.
func (l *Log) warn(code finding.Code, values ...finding.Value) {
	l.Warnings = append(l.Warnings, finding.New(code, append([]finding.Value{finding.Name("file", l.Path)}, values...)...))
}

// IsSession tells whether a file that begins with these bytes calls itself a session file.
func IsSession(start []byte) bool {
	start = bytes.TrimPrefix(start, []byte("\ufeff"))
	line, _, _ := bytes.Cut(start, []byte{'\n'})
	key, value, ok := strings.Cut(strings.TrimPrefix(string(line), "#"), ":")
	return ok && len(line) > 0 && line[0] == '#' && strings.TrimSpace(key) == formatKey && strings.HasPrefix(strings.TrimSpace(value), "session")
}
