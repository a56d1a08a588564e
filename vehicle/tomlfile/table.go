package tomlfile

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
	"unicode/utf8"
)

// Table is one table of a file. A table that the file leaves out is asked like an empty one, and knows that it is absent.
type Table struct {
	doc    *Document
	path   string
	values map[string]any
	asked  map[string]bool
	absent bool
}

// maxItems is the most tables of one array that are read.
const maxItems = 1000

// Key is one spelling of a quantity: its name with the unit's suffix, and the factor to the unit the reader wants.
type Key struct {
	Name   string
	Factor float64
}

// Number is what a file says of a quantity. Key is the name it was given by.
type Number struct {
	Value float64
	Given bool
	Key   string
}

// Given tells whether the file has this table.
func (t *Table) Given() bool { return !t.absent }

// Has tells whether the file gives the key, and makes it a known one.
func (t *Table) Has(key string) bool {
	_, ok := t.get(key)
	return ok
}

// Refuse notes a value that cannot be.
func (t *Table) Refuse(key, format string, args ...any) {
	path := t.path
	if key != "" {
		path = join(t.path, key)
	}
	message := fmt.Sprintf(format, args...)
	if key != "" {
		message = key + " " + message
	}
	t.doc.faults = append(t.doc.faults, fault{t.doc.offset(path), message})
}

// Warn notes a value that is unlikely, with its place.
func (t *Table) Warn(key, format string, args ...any) {
	e := t.doc.complaint(t.doc.offset(join(t.path, key)), key+" "+fmt.Sprintf(format, args...))
	t.doc.warnings = append(t.doc.warnings, e.Error())
}

func (t *Table) get(key string) (any, bool) {
	t.asked[key] = true
	v, ok := t.values[key]
	return v, ok
}

// Table returns the table below this one.
func (t *Table) Table(key string) *Table {
	v, ok := t.get(key)
	m, isTable := v.(map[string]any)
	if ok && !isTable {
		t.Refuse(key, "is %s; it must be a table: a heading [%s] with keys under it", kindOf(v), join(t.path, key))
	}
	sub := t.doc.table(join(t.path, key), m)
	sub.absent = !ok
	return sub
}

// Tables returns the tables of an array of tables, [[key]] each; nil when there is none.
func (t *Table) Tables(key string) []*Table {
	v, ok := t.get(key)
	if !ok {
		return nil
	}
	if _, single := v.(map[string]any); single {
		t.Refuse(key, "needs double brackets: [[%s]], once for each", key)
		return nil
	}
	list, _ := v.([]any)
	if len(list) > maxItems {
		t.Refuse(key, "comes %d times; %d are the most", len(list), maxItems)
		return nil
	}
	var out []*Table
	for i, x := range list {
		m, isTable := x.(map[string]any)
		if !isTable {
			break
		}
		out = append(out, t.doc.table(item(join(t.path, key), i), m))
	}
	if len(out) != len(list) || list == nil {
		t.Refuse(key, "must be given as headings [[%s]] with keys under each", key)
	}
	return out
}

// Text returns a string, "" when it is not given.
func (t *Table) Text(key string) string {
	v, ok := t.get(key)
	s, isText := v.(string)
	if ok && !isText {
		t.Refuse(key, "is %s; it must be text in quotes", kindOf(v))
	}
	return s
}

// Choice returns one of the allowed words, the first of them when the key is not given.
func (t *Table) Choice(key string, allowed ...string) string {
	s := t.Text(key)
	if s == "" && !t.Has(key) {
		return allowed[0]
	}
	if !slices.Contains(allowed, s) && t.isText(key) {
		t.Refuse(key, "is %q; it must be one of %s", clip(s), strings.Join(allowed, ", "))
	}
	return s
}

func (t *Table) isText(key string) bool {
	_, ok := t.values[key].(string)
	return ok
}

// Flag returns true or false and whether it was given.
func (t *Table) Flag(key string) (value, given bool) {
	v, ok := t.get(key)
	b, isBool := v.(bool)
	if ok && !isBool {
		t.Refuse(key, "is %s; it must be true or false, without quotes", kindOf(v))
	}
	return b, ok && isBool
}

// Texts returns a list of strings; a single string is a list of one.
func (t *Table) Texts(key string) []string {
	v, ok := t.get(key)
	if !ok {
		return nil
	}
	if s, single := v.(string); single {
		return []string{s}
	}
	list, isList := v.([]any)
	out := make([]string, 0, len(list))
	for _, x := range list {
		if s, isText := x.(string); isText {
			out = append(out, s)
		}
	}
	if !isList || len(out) != len(list) {
		t.Refuse(key, "must be a list of texts: [\"one\", \"two\"]")
	}
	return out
}

// Number returns a plain number.
func (t *Table) Number(key string) Number { return t.Quantity(Key{key, 1}) }

// Quantity returns a quantity that may be given by any one of several keys, in the unit that factor 1 stands for. Not a
// number, infinite, or given twice is refused.
func (t *Table) Quantity(keys ...Key) Number {
	var out Number
	for _, k := range keys {
		v, ok := t.get(k.Name)
		if !ok {
			continue
		}
		x, isNumber := number(v)
		switch {
		case out.Given:
			t.Refuse(k.Name, "gives once more what %s gives; keep one of them", out.Key)
		case !isNumber:
			t.Refuse(k.Name, "is %s; it must be a number, without quotes or unit", kindOf(v))
		case math.IsNaN(x) || math.IsInf(x, 0):
			t.Refuse(k.Name, "must be a finite number")
		default:
			out = Number{x * k.Factor, true, k.Name}
		}
	}
	return out
}

// Numbers returns a list of finite numbers; nil when it is not given.
func (t *Table) Numbers(key string) []float64 {
	v, ok := t.get(key)
	if !ok {
		return nil
	}
	list, isList := v.([]any)
	out := make([]float64, 0, len(list))
	for _, x := range list {
		if f, isNumber := number(x); isNumber && !math.IsNaN(f) && !math.IsInf(f, 0) {
			out = append(out, f)
		}
	}
	if !isList || len(out) != len(list) {
		t.Refuse(key, "must be a list of numbers: [3.42, 1.95]")
		return nil
	}
	return out
}

func number(v any) (float64, bool) {
	switch x := v.(type) {
	case float64:
		return x, true
	case int64:
		return float64(x), true
	}
	return 0, false
}

func kindOf(v any) string {
	switch x := v.(type) {
	case string:
		return fmt.Sprintf("the text %q", clip(x))
	case bool:
		return fmt.Sprint(x)
	case int64, float64:
		return fmt.Sprintf("the number %v", x)
	case []any:
		return "a list"
	case map[string]any:
		return "a table"
	}
	return "a date or time"
}

func clip(s string) string {
	if utf8.RuneCountInString(s) > 40 {
		return string([]rune(s)[:40]) + "..."
	}
	return s
}

// firstUnknown returns the key never asked for that stands first in the file, and where; math.MaxInt when there is none.
func (t *Table) firstUnknown() (first string, offset int) {
	offset = math.MaxInt
	for key := range t.values {
		if t.asked[key] {
			continue
		}
		if at := t.doc.offset(join(t.path, key)); at < offset || (at == offset && key < first) {
			first, offset = key, at
		}
	}
	return first, offset
}

// advice names the nearest known key: in this table, or the same key in another one.
func (t *Table) advice(key string) string {
	for _, other := range t.doc.tables {
		if other != t && other.asked[key] {
			where := "above the first heading"
			if other.path != "" {
				where = "under " + heading(other.path)
			}
			return "; it belongs " + where
		}
	}
	known := make([]string, 0, len(t.asked))
	for k := range t.asked {
		known = append(known, k)
	}
	sort.Strings(known)
	best := Nearest(key, known)
	if best == "" {
		return ""
	}
	return fmt.Sprintf("; the nearest known key is %q", best)
}

// heading writes a path as it stands in the file: [clutch], or [[session]] for an item of a list.
func heading(path string) string {
	if name, isItem := strings.CutSuffix(path, "]"); isItem {
		return "[[" + name[:strings.LastIndexByte(name, '[')] + "]]"
	}
	return "[" + path + "]"
}
