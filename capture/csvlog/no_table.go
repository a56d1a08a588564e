package csvlog

import (
	"bytes"
	"fmt"
	"slices"
	"strconv"
)

// NoTableError is that of a text without a table. Beside a log it may be a note.
type NoTableError struct{ message string }

func (e *NoTableError) Error() string { return e.message }

// endAt tells whether cells end at a sign of any length.
func endAt(head []textLine, delim []byte) bool {
	const stand = 0x1f
	var replaced []textLine
	for _, l := range head {
		l.text = bytes.ReplaceAll(l.text, delim, []byte{stand})
		replaced = append(replaced, l)
	}
	d, _ := try(replaced, stand)
	return d != nil && d.data > 0
}

// endsRarely says at which sign cells end.
func endsRarely(name, delim string) string {
	quoted := strconv.Quote(delim)
	if sign := []rune(delim); len(sign) == 1 {
		quoted = strconv.QuoteRune(sign[0])
	}
	return fmt.Sprintf("%s: its cells seem to end at %s: export the log with commas, semicolons or tabs between them", name, quoted)
}

// controlDelimiters are signs that were made to end cells, and hardly ever do.
var controlDelimiters = []byte{0x1f, 0x1e, 0x1d, 0x1c, 0x01}

// controlDelimiter is the one that nearly all control signs of a text are, 0 where there is none.
func controlDelimiter(text []byte) byte {
	for _, c := range controlDelimiters {
		if n := bytes.Count(text, []byte{c}); n > 0 && 10*n >= 9*control(text) {
			return c
		}
	}
	return 0
}

// rareDelimiters end the cells of tables that nobody should have to guess at.
var rareDelimiters = []string{"^", "~", ":", "/", "#", "!", "&", "\\t", "，", "；", "、", "│", "¦", "·", "=>", "--", "_"}

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
	for _, delim := range rareDelimiters {
		if endAt(head, []byte(delim)) {
			return endsRarely(name, delim)
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

// markupStarts are how texts begin that are no table whatever cells they seem to have.
var markupStarts = []string{`{"`, `{'`, "[[", "[{", `["`, "<?", "<!", "<html"}

// startsAs tells whether the first line that holds something begins in one of these ways, or is the first sign of one alone.
func startsAs(head []textLine, ways []string) bool {
	for _, l := range head {
		if t := trim(l.text); len(t) > 0 {
			return string(t) == "{" || slices.ContainsFunc(ways, func(w string) bool { return bytes.HasPrefix(t, []byte(w)) })
		}
	}
	return false
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
