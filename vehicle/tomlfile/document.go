// Package tomlfile reads files that people write by hand in TOML, strictly: every complaint names the file, the line
// and the column; a key that nobody asked for is an error that names the nearest known one; a quantity may be given in
// another unit by another suffix, in one unit only.
//
// A reader asks a Document table by table and key by key, goes on after a complaint, and looks at Err once at the end:
//
//	doc, err := tomlfile.Parse(data, "mule.toml", 256<<10)
//	...
//	car := doc.Root().Table("vehicle")
//	mass := car.Quantity(tomlfile.Key{Name: "mass_kg", Factor: 1}, tomlfile.Key{Name: "mass_lb", Factor: 0.45359237})
//	if mass.Given && mass.Value <= 0 {
//		car.Refuse(mass.Key, "must be above zero")
//	}
//	return doc.Warnings(), doc.Err()
package tomlfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

// Error is a complaint about a place in a file. Line and Column count from 1; both are 0 when the file as a whole is meant.
type Error struct {
	File         string
	Line, Column int
	Message      string
	Source       string // the line as it stands in the file
}

// Error returns one line: file, line, column, what is wrong and what to do.
func (e *Error) Error() string {
	if e.Line == 0 {
		return e.File + ": " + e.Message
	}
	return fmt.Sprintf("%s:%d:%d: %s", e.File, e.Line, e.Column, e.Message)
}

// Excerpt returns the line and a caret under the column, each ended by a line end; "" when no line is meant.
func (e *Error) Excerpt() string {
	if e.Line == 0 {
		return ""
	}
	head := fmt.Sprintf("%5d | ", e.Line)
	return head + e.Source + "\n" + strings.Repeat(" ", len(head)+max(0, e.Column-1)) + "^\n"
}

// maxNesting is far above what a written file needs and far below what exhausts the stack of a parser.
const maxNesting = 32

// Document is a parsed file and what was said of it so far.
type Document struct {
	name     string
	text     []byte
	values   map[string]any
	offsets  map[string]int // byte offset of the first mention of a path such as "session[1].files"
	tables   []*Table       // every table asked for
	faults   []fault
	warnings []string
}

// fault is a complaint before its place was looked up.
type fault struct {
	offset  int
	message string
}

// ReadFile reads a file; of more than limit bytes it returns one more, which Parse refuses.
func ReadFile(path string, limit int64) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && info.IsDir() {
		return nil, &Error{File: path, Message: "is a folder; name the file in it"}
	}
	data, err := io.ReadAll(io.LimitReader(f, limit+1))
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", path, err)
	}
	return data, nil
}

// Parse parses the bytes of a file of that name.
func Parse(data []byte, name string, limit int64) (*Document, error) {
	whole := func(format string, args ...any) error {
		return &Error{File: name, Message: fmt.Sprintf(format, args...)}
	}
	text := bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	d := &Document{name: name, text: text, values: map[string]any{}, offsets: map[string]int{}}
	switch {
	case int64(len(data)) > limit:
		return nil, whole("is larger than %d kB, which no such file needs; is it the right file?", limit>>10)
	case bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff")):
		return nil, whole("is saved as UTF-16; save it as UTF-8 text")
	case len(bytes.TrimSpace(text)) == 0:
		return nil, whole("is empty")
	case !utf8.Valid(text):
		return nil, d.complaint(firstInvalid(text), "is not UTF-8 text; is it the right file?")
	case bytes.IndexByte(text, 0) >= 0:
		return nil, d.complaint(bytes.IndexByte(text, 0), "is not a text file; is it the right file?")
	}
	if at := tooDeep(text); at >= 0 {
		return nil, d.complaint(at, "brackets are nested too deeply")
	}
	if err := toml.Unmarshal(text, &d.values); err != nil {
		return nil, d.syntaxError(err)
	}
	d.index()
	return d, nil
}

func firstInvalid(text []byte) int {
	for i := 0; i < len(text); {
		r, n := utf8.DecodeRune(text[i:])
		if r == utf8.RuneError && n <= 1 {
			return i
		}
		i += n
	}
	return len(text)
}

// tooDeep returns where brackets or the dots of one line nest beyond maxNesting, -1 when they do not. It does not know
// strings, so it may refuse a name made of brackets, which nobody writes.
func tooDeep(text []byte) int {
	depth, dots := 0, 0
	for i, c := range text {
		switch c {
		case '[', '{':
			depth++
		case ']', '}':
			depth = max(0, depth-1)
		case '.':
			dots++
		case '\n', ' ', '=', ',':
			dots = 0
		}
		if depth > maxNesting || dots > maxNesting {
			return i
		}
	}
	return -1
}

func (d *Document) syntaxError(err error) error {
	var bad *toml.DecodeError
	if !errors.As(err, &bad) {
		return &Error{File: d.name, Message: strings.TrimPrefix(err.Error(), "toml: ")}
	}
	line, column := bad.Position()
	if key, value, ok := strings.Cut(d.line(line), "="); ok {
		bare, _, _ := strings.Cut(value, "#")
		if advice := valueAdvice(strings.TrimSpace(bare)); advice != "" {
			at := len(key) + 2 + len(value) - len(strings.TrimLeft(value, " \t"))
			return &Error{File: d.name, Line: line, Column: at, Message: strings.TrimSpace(key) + ": " + advice, Source: d.line(line)}
		}
	}
	return &Error{File: d.name, Line: line, Column: column, Message: strings.TrimPrefix(bad.Error(), "toml: "), Source: d.line(line)}
}

// index notes where each key and table stands. The text has been parsed once, so errors cannot come.
func (d *Document) index() {
	var p unstable.Parser
	p.Reset(d.text)
	prefix := ""
	seen := map[string]int{} // how often an array table came
	for p.NextExpression() {
		e := p.Expression()
		if e.Kind != unstable.Table && e.Kind != unstable.ArrayTable && e.Kind != unstable.KeyValue {
			continue
		}
		path, at := prefix, 0
		if e.Kind != unstable.KeyValue {
			path = ""
		}
		for key := e.Key(); key.Next(); {
			part := key.Node()
			at = int(part.Raw.Offset)
			path = join(path, string(part.Data))
			if n := seen[path]; n > 0 && !(e.Kind == unstable.ArrayTable && key.IsLast()) {
				path = item(path, n-1)
			}
			d.note(path, at)
		}
		if e.Kind == unstable.ArrayTable {
			n := seen[path]
			seen[path]++
			path = item(path, n)
			d.note(path, at)
		}
		if e.Kind != unstable.KeyValue {
			prefix = path
		}
	}
}

func (d *Document) note(path string, offset int) {
	if _, ok := d.offsets[path]; !ok {
		d.offsets[path] = offset
	}
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

func item(path string, i int) string { return fmt.Sprintf("%s[%d]", path, i) }

// offset returns where a path stands, or else the nearest table around it (a key inside an inline table).
func (d *Document) offset(path string) int {
	for path != "" {
		if at, ok := d.offsets[path]; ok {
			return at
		}
		path = path[:max(0, strings.LastIndexAny(path, ".["))]
	}
	return 0
}

// complaint returns an error at a byte offset.
func (d *Document) complaint(offset int, message string) *Error {
	before := d.text[:min(offset, len(d.text))]
	line := 1 + bytes.Count(before, []byte("\n"))
	column := 1 + utf8.RuneCount(before[bytes.LastIndexByte(before, '\n')+1:])
	return &Error{File: d.name, Line: line, Column: column, Message: message, Source: d.line(line)}
}

func (d *Document) line(n int) string {
	lines := bytes.SplitN(d.text, []byte("\n"), n+1)
	if n < 1 || n > len(lines) {
		return ""
	}
	return strings.ReplaceAll(strings.TrimRight(strings.ToValidUTF8(string(lines[n-1]), "?"), "\r"), "\t", " ")
}

// Root returns the table of the keys above the first heading.
func (d *Document) Root() *Table { return d.table("", d.values) }

func (d *Document) table(path string, values map[string]any) *Table {
	t := &Table{doc: d, path: path, values: values, asked: map[string]bool{}}
	d.tables = append(d.tables, t)
	return t
}

// Warnings returns what is unlikely, in the order of asking.
func (d *Document) Warnings() []string { return d.warnings }

// Err returns the complaint that stands first in the file, unknown keys included, or nil.
func (d *Document) Err() error {
	first := fault{offset: math.MaxInt}
	for _, f := range d.faults {
		if f.offset < first.offset {
			first = f
		}
	}
	for _, t := range d.tables {
		if key, at := t.firstUnknown(); at < first.offset {
			first = fault{at, fmt.Sprintf("unknown key %q%s", clip(key), t.advice(key))}
		}
	}
	if first.offset == math.MaxInt {
		return nil
	}
	return d.complaint(first.offset, first.message)
}
