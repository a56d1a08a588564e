package csvlog

import (
	"bytes"
	"fmt"
)

// NoTableError is that of a text without a table. Beside a log it may be a note.
type NoTableError struct{ message string }

func (e *NoTableError) Error() string { return e.message }

// rareDelimiters end the cells of tables that nobody should have to guess at.
const rareDelimiters = "^~:/#"

// noTable says what a text is that holds no table, and what to do.
func noTable(head []textLine, name string) string {
	if kind := markup(head); kind != "" {
		return fmt.Sprintf("%s is %s, not a table: export the log as CSV", name, kind)
	}
	written := 0
	for _, l := range head {
		if len(trim(l.text)) > 0 {
			written++
		}
	}
	if written < 3 {
		return name + " holds no row of numbers: nothing was logged, or the file was not copied in full"
	}
	if quotedRows(head) {
		return name + ": each row stands in quotes as one cell: export the log again, or take the quotes off"
	}
	for _, delim := range []byte(rareDelimiters) {
		if d, _ := try(head, delim); d != nil && d.data > 0 {
			return fmt.Sprintf("%s: its cells seem to end at %q: export the log with commas, semicolons or tabs between them", name, delim)
		}
	}
	return name + ": no table found: a log has a row of headings and rows of numbers, separated by comma, semicolon, tab, | or blanks"
}

// quotedRows tells whether whole rows stand in quotes.
func quotedRows(head []textLine) bool {
	n := 0
	for _, l := range head {
		if t := trim(l.text); len(t) > 2 && t[0] == '"' && bytes.IndexByte(t[1:], '"') == len(t)-2 {
			n++
		}
	}
	return n > len(head)/2
}

// markup names another form of text that data come in, "" for none.
func markup(head []textLine) string {
	for _, l := range head {
		switch t := trim(l.text); {
		case len(t) == 0:
		case t[0] == '{' || t[0] == '[':
			return "JSON"
		case t[0] == '<':
			return "a web page or XML"
		default:
			return ""
		}
	}
	return ""
}
