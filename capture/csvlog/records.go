package csvlog

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Some loggers write a record of names and values for each moment: {"t": 0.1, "rpm": 900} or "t=0.1 rpm=900". Such a text is turned into a table, headed by the names that
// its start has, before it is read.

const (
	recordLines = 40  // that are looked at,
	recordShare = 0.9 // of which so many are records
	recordPairs = 2   // of a name and a value in each, at least
)

// record is the values of one moment by name.
type record struct {
	names, values []string
	inside        bool // the records are the objects of an array inside the first
}

// errInside tells that a record stood inside what was being read.
var errInside = errors.New("a record inside")

func (r *record) add(name, value string) {
	r.names = append(r.names, oneCell.Replace(strings.TrimSpace(name)))
	r.values = append(r.values, oneCell.Replace(strings.TrimSpace(value)))
}

// oneCell keeps a text in one cell of one line.
var oneCell = strings.NewReplacer("\t", " ", "\r", " ", "\n", " ", `"`, "")

// records reads one record after another; io.EOF behind the last. A line that is none comes back as broken.
type records func() (r record, broken string, err error)

// asTable returns a text of records as a table with a tab behind each cell, and how it was written; another text as it is, and "".
func asTable(in *bufio.Reader) (table *bufio.Reader, form string) {
	start, _ := in.Peek(peek)
	begin, form := recordForm(start)
	if begin == nil {
		return in, ""
	}
	var names []string
	for next := begin(bufio.NewReader(bytes.NewReader(start))); ; {
		r, _, err := next()
		if err != nil {
			break
		}
		for _, n := range r.names {
			if !slices.Contains(names, n) && len(names) < maxNames {
				names = append(names, n)
			}
		}
	}
	if len(names) < recordPairs {
		return in, ""
	}
	t := &recordTable{next: begin(in), names: names}
	t.buf.WriteString(strings.Join(names, "\t") + "\n")
	return bufio.NewReaderSize(t, buffered), form
}

// recordTable is the table that records make.
type recordTable struct {
	next  records
	names []string
	buf   bytes.Buffer
	err   error
}

func (t *recordTable) Read(b []byte) (int, error) {
	for t.err == nil && t.buf.Len() < len(b) {
		r, broken, err := t.next()
		switch {
		case err != nil:
			t.err = err
		case broken != "":
			t.buf.WriteString(oneCell.Replace(broken) + "\n")
		default:
			t.row(r)
		}
	}
	if t.buf.Len() == 0 {
		return 0, t.err
	}
	return t.buf.Read(b)
}

func (t *recordTable) row(r record) {
	for i, n := range t.names {
		if i > 0 {
			t.buf.WriteByte('\t')
		}
		k := i // mostly they stand in the order of the first
		if k >= len(r.names) || r.names[k] != n {
			k = slices.Index(r.names, n)
		}
		if k >= 0 {
			t.buf.WriteString(r.values[k])
		}
	}
	t.buf.WriteByte('\n')
}

// recordForm tells how the records of a text are written; nil where it holds none.
func recordForm(start []byte) (begin func(in *bufio.Reader) records, form string) {
	text := bytes.TrimSpace(start[:min(len(start), headingBytes)])
	switch {
	case len(text) == 0:
		return nil, ""
	case text[0] == '{' && onlyObject(start):
		return func(in *bufio.Reader) records { return jsonStream(in, true) }, "JSON objects in an object"
	case text[0] == '{' && json.Valid(firstLine(bytes.TrimSpace(start))):
		return jsonLines, "one JSON object to a line"
	case text[0] == '{', text[0] == '[' && bytes.HasPrefix(bytes.TrimSpace(text[1:]), []byte("{")):
		return func(in *bufio.Reader) records { return jsonStream(in, false) }, "JSON objects"
	}
	if !bytes.ContainsAny(firstLine(text), "=:") {
		return nil, ""
	}
	for _, delim := range "|;\t, " {
		if recordsEndAt(text, delim) {
			return func(in *bufio.Reader) records { return pairLines(in, delim) }, "names and values in each line"
		}
	}
	return nil, ""
}

// onlyObject tells whether a text begins with an object behind which none begins: the records stand in it.
func onlyObject(start []byte) bool {
	from := json.NewDecoder(bytes.NewReader(start))
	var object json.RawMessage
	err := from.Decode(&object)
	if errors.Is(err, io.ErrUnexpectedEOF) {
		return len(start) == peek
	}
	return err == nil && !from.More() && len(start) < peek
}

func firstLine(text []byte) []byte {
	line, _, _ := bytes.Cut(text, []byte("\n"))
	return bytes.TrimRight(line, ",\r ")
}

// recordsEndAt tells whether the pairs in most lines of a text end at a sign.
func recordsEndAt(text []byte, delim rune) bool {
	lines, good := 0, 0
	for line := range bytes.Lines(text) {
		if len(bytes.TrimSpace(line)) == 0 {
			continue
		}
		if lines++; lines > recordLines {
			break
		}
		if pairsIn(string(line), delim).numbers() >= recordPairs {
			good++
		}
	}
	return lines >= recordPairs && float64(good) >= recordShare*float64(lines)
}

// pairLines reads lines of pairs.
func pairLines(in *bufio.Reader, delim rune) records {
	return func() (record, string, error) {
		line, long, err := recordLine(in)
		switch {
		case long:
			return record{}, tooLong, nil
		case line == "":
			return record{}, "", err
		}
		r := pairsIn(line, delim)
		if len(r.names) < recordPairs {
			return record{}, " " + line, nil
		}
		if last := len(r.names) - 1; !strings.HasSuffix(line, "\n") {
			r.values[last] = "" // it may go on: 11 of 119
		}
		return r, "", nil
	}
}

// tooLong stands for a line that is too long: it is counted as one that cannot be read.
const tooLong = "a line that is too long"

// recordLine reads a line; of one that is longer than any logger writes nothing is kept.
func recordLine(in *bufio.Reader) (line string, long bool, err error) {
	var all []byte
	for {
		more, err := in.ReadSlice('\n')
		if long = long || len(all)+len(more) > maxLine; long {
			all = nil
		} else {
			all = append(all, more...)
		}
		if err != bufio.ErrBufferFull {
			return string(all), long, err
		}
	}
}

// numbers counts the values that are no words.
func (r record) numbers() (n int) {
	for _, v := range r.values {
		if v != "" && looksLikeValue([]byte(v)) {
			n++
		}
	}
	return n
}

// pairsIn takes a line apart. What stands before the first pair is the time, and what follows a pair belongs to its value: its unit.
func pairsIn(line string, delim rune) (r record) {
	for cell := range strings.FieldsFuncSeq(strings.Trim(line, "\r\n"), func(c rune) bool { return c == delim }) {
		name, value, ok := pair(cell, delim)
		last := len(r.names) - 1
		switch {
		case ok:
			r.add(name, value)
		case strings.TrimSpace(cell) == "":
		case last < 0 && strings.Contains(cell, "="):
			before, value, _ := strings.Cut(cell, "=")
			i := strings.LastIndexByte(before, ' ') + 1
			r.add("time", strings.Trim(before[:digitBefore(before[:i])+1], " []()"))
			r.add(before[i:], value)
		case last < 0:
			r.add("time", strings.Trim(strings.TrimSpace(cell), "[]()"))
		default:
			r.values[last] = strings.TrimSpace(r.values[last] + " " + strings.Trim(strings.TrimSpace(cell), "[]()"))
		}
	}
	return r
}

// digitBefore is where the last digit of a text stands, -1 without one.
func digitBefore(s string) int { return strings.LastIndexAny(s, "0123456789") }

// pair cuts "rpm=900" and, where blanks do not end a pair, "RPM: 900" at its sign. A name begins with a letter, which no clock time does.
func pair(cell string, delim rune) (name, value string, ok bool) {
	cell = strings.TrimSpace(cell)
	i := strings.IndexAny(cell, "=:")
	if first, _ := utf8.DecodeRuneInString(cell); i <= 0 || !unicode.IsLetter(first) {
		return "", "", false
	}
	if delim == ' ' && cell[i] == ':' && i == len(cell)-1 {
		return "", "", false
	}
	return cell[:i], strings.TrimSpace(cell[i+1:]), true
}

// jsonLines reads lines of one JSON object each.
func jsonLines(in *bufio.Reader) records {
	return func() (record, string, error) {
		for {
			line, long, err := recordLine(in)
			if long {
				return record{}, tooLong, nil
			}
			text := strings.TrimRight(strings.TrimSpace(line), ",")
			switch {
			case text == "" && err != nil:
				return record{}, "", err
			case text == "":
				continue
			}
			r := record{}
			if from := json.NewDecoder(strings.NewReader(text)); r.object(from) != nil {
				return record{}, " " + text, nil
			}
			return r, "", nil
		}
	}
}

// jsonStream reads JSON objects, one behind the other or in an array, which may stand inside an object.
func jsonStream(in *bufio.Reader, inside bool) records {
	from := json.NewDecoder(in)
	return func() (record, string, error) {
		r := record{inside: inside}
		inside = false // of those that follow only what stands in them
		err := r.object(from)
		if errors.Is(err, io.ErrUnexpectedEOF) {
			err = io.EOF // it was cut short
		}
		return r, "", err
	}
}

// object reads the next object.
func (r *record) object(from *json.Decoder) error {
	from.UseNumber()
	for {
		token, err := from.Token()
		if err != nil {
			return err
		}
		if token == json.Delim('{') {
			if err := r.fields(from, ""); err != errInside {
				return err
			}
			return nil
		}
	}
}

// fields reads those of an object; the fields of an object in it are named after both.
func (r *record) fields(from *json.Decoder, prefix string) error {
	for from.More() {
		key, err := from.Token()
		if err != nil {
			return err
		}
		name := prefix + key.(string)
		value, err := from.Token()
		switch v := value.(type) {
		case json.Delim:
			if v == '{' {
				err = r.fields(from, name+" ")
			} else {
				err = r.array(from)
			}
		case json.Number:
			r.add(name, v.String())
		case string:
			r.add(name, v)
		case bool:
			r.add(name, map[bool]string{true: "1", false: "0"}[v])
		case nil:
			r.add(name, "")
		}
		if err != nil {
			return err
		}
	}
	_, err := from.Token()
	return err
}

// array passes over an array, or reads the first of the records in it.
func (r *record) array(from *json.Decoder) error {
	token, err := from.Token()
	if err != nil {
		return err
	}
	if token == json.Delim('{') && r.inside {
		*r = record{}
		if err := r.fields(from, ""); err != nil {
			return err
		}
		return errInside
	}
	depth := 1
	switch token {
	case json.Delim('['), json.Delim('{'):
		depth = 2
	case json.Delim(']'):
		return nil
	}
	return pass(from, depth)
}

// pass goes to the end of so many arrays and objects, one in the other.
func pass(from *json.Decoder, depth int) error {
	for depth > 0 {
		token, err := from.Token()
		if err != nil {
			return err
		}
		switch token {
		case json.Delim('['), json.Delim('{'):
			depth++
		case json.Delim(']'), json.Delim('}'):
			depth--
		}
	}
	return nil
}
