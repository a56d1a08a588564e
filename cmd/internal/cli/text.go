package cli

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// Width is the width that text is wrapped to.
const Width = 100

// Text collects the output of a command: words first, then numbers, then what was not used, then the caution.
type Text struct{ b strings.Builder }

// Line adds a paragraph, wrapped.
func (t *Text) Line(format string, args ...any) {
	t.b.WriteString(Wrap(fmt.Sprintf(format, args...), Width, ""))
}

// Heading adds an empty line and a heading.
func (t *Text) Heading(s string) {
	if t.b.Len() > 0 {
		t.b.WriteByte('\n')
	}
	t.b.WriteString(s + "\n")
}

// Item adds a bullet, wrapped with a hanging indent.
func (t *Text) Item(format string, args ...any) {
	s := Wrap(fmt.Sprintf(format, args...), Width, "    ")
	t.b.WriteString("  - " + strings.TrimPrefix(s, "    "))
}

// Numbered adds step n, wrapped with a hanging indent.
func (t *Text) Numbered(n int, format string, args ...any) {
	s := Wrap(fmt.Sprintf(format, args...), Width, "     ")
	t.b.WriteString(fmt.Sprintf(" %2d. ", n) + strings.TrimPrefix(s, "     "))
}

// Pairs adds rows of a name and a value, the values aligned; a long value is wrapped under its beginning.
func (t *Text) Pairs(rows [][2]string) {
	w := 0
	for _, r := range rows {
		w = max(w, utf8.RuneCountInString(r[0]))
	}
	for _, r := range rows {
		indent := strings.Repeat(" ", w+4)
		s := Wrap(r[1], Width, indent)
		t.b.WriteString("  " + pad(r[0], w) + "  " + strings.TrimPrefix(s, indent))
	}
}

// Table adds a table; the first column is left-aligned, the others right-aligned.
func (t *Text) Table(head []string, rows [][]string) {
	w := make([]int, len(head))
	for i, h := range head {
		w[i] = utf8.RuneCountInString(h)
		for _, r := range rows {
			if i < len(r) {
				w[i] = max(w[i], utf8.RuneCountInString(r[i]))
			}
		}
	}
	for _, r := range append([][]string{head}, rows...) {
		var line strings.Builder
		for i := range head {
			cell := ""
			if i < len(r) {
				cell = r[i]
			}
			if i == 0 {
				line.WriteString("  " + pad(cell, w[0]))
			} else {
				line.WriteString("  " + strings.Repeat(" ", w[i]-utf8.RuneCountInString(cell)) + cell)
			}
		}
		t.b.WriteString(strings.TrimRight(line.String(), " ") + "\n")
	}
}

// WriteTo writes what was collected.
func (t *Text) WriteTo(w io.Writer) (int64, error) {
	n, err := io.WriteString(w, t.b.String())
	return int64(n), err
}

func pad(s string, w int) string {
	return s + strings.Repeat(" ", max(0, w-utf8.RuneCountInString(s)))
}

// Wrap breaks s at spaces so that no line is wider than width where words allow; every line begins with indent and
// ends with a line end.
func Wrap(s string, width int, indent string) string {
	var b strings.Builder
	column := 0
	for _, word := range strings.Fields(s) {
		n := utf8.RuneCountInString(word)
		switch {
		case column == 0:
			b.WriteString(indent)
			column = utf8.RuneCountInString(indent)
		case column+1+n > width:
			b.WriteString("\n" + indent)
			column = utf8.RuneCountInString(indent)
		default:
			b.WriteByte(' ')
			column++
		}
		b.WriteString(word)
		column += n
	}
	b.WriteByte('\n')
	return b.String()
}

// Verbatim adds lines as they are, to be copied.
func (t *Text) Verbatim(s string) {
	for line := range strings.Lines(s) {
		t.b.WriteString("  " + strings.TrimRight(line, "\n") + "\n")
	}
}
