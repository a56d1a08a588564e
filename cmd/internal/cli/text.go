package cli

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"flywitness/figure"
)

// Text collects the output of a command: words first, then numbers, then what was not used, then the caution. It is laid
// out when it is written, for the width of where it goes.
type Text struct {
	pieces []func(b *strings.Builder, l layout)
}

func (t *Text) add(f func(b *strings.Builder, l layout)) { t.pieces = append(t.pieces, f) }

// Line adds a paragraph, wrapped.
func (t *Text) Line(format string, args ...any) {
	s := fmt.Sprintf(format, args...)
	t.add(func(b *strings.Builder, l layout) { b.WriteString(Wrap(s, l.width, "")) })
}

// Answer adds a paragraph that stands out where the output has colour. The words say everything; the colour repeats it.
func (t *Text) Answer(tone Tone, s string) {
	t.add(func(b *strings.Builder, l layout) {
		for line := range strings.Lines(Wrap(s, l.width, "")) {
			b.WriteString(l.paint(tone, strings.TrimRight(line, "\n")) + "\n")
		}
	})
}

// Heading adds an empty line and a heading.
func (t *Text) Heading(s string) {
	t.add(func(b *strings.Builder, l layout) {
		if b.Len() > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(l.paint(Strong, s) + "\n")
	})
}

// Item adds a bullet, wrapped with a hanging indent.
func (t *Text) Item(format string, args ...any) {
	s := fmt.Sprintf(format, args...)
	t.add(func(b *strings.Builder, l layout) {
		b.WriteString("  - " + strings.TrimPrefix(Wrap(s, l.width, "    "), "    "))
	})
}

// Numbered adds step n, wrapped with a hanging indent.
func (t *Text) Numbered(n int, format string, args ...any) {
	s := fmt.Sprintf(format, args...)
	t.add(func(b *strings.Builder, l layout) {
		fmt.Fprintf(b, " %2d. %s", n, strings.TrimPrefix(Wrap(s, l.width, "     "), "     "))
	})
}

// narrowest is how much room a value needs beside its name; with less it goes below.
const narrowest = 24

// Pairs adds rows of a name and a value, the values aligned; a long value is wrapped under its beginning.
func (t *Text) Pairs(rows [][2]string) {
	w := 0
	for _, r := range rows {
		w = max(w, utf8.RuneCountInString(r[0]))
	}
	t.add(func(b *strings.Builder, l layout) {
		for _, r := range rows {
			if l.width < w+4+narrowest {
				b.WriteString(Wrap(r[0], l.width, "  ") + Wrap(r[1], l.width, "      "))
				continue
			}
			indent := strings.Repeat(" ", w+4)
			b.WriteString("  " + pad(r[0], w) + "  " + strings.TrimPrefix(Wrap(r[1], l.width, indent), indent))
		}
	})
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
	t.add(func(b *strings.Builder, _ layout) {
		for _, r := range append([][]string{head}, rows...) {
			b.WriteString(tableLine(r, w) + "\n")
		}
	})
}

func tableLine(row []string, w []int) string {
	var line strings.Builder
	for i := range w {
		cell := ""
		if i < len(row) {
			cell = row[i]
		}
		if i == 0 {
			line.WriteString("  " + pad(cell, w[0]))
		} else {
			line.WriteString("  " + strings.Repeat(" ", w[i]-utf8.RuneCountInString(cell)) + cell)
		}
	}
	return strings.TrimRight(line.String(), " ")
}

// Verbatim adds lines as they are, to be copied.
func (t *Text) Verbatim(s string) {
	t.add(func(b *strings.Builder, _ layout) {
		for line := range strings.Lines(s) {
			b.WriteString("  " + strings.TrimRight(line, "\n") + "\n")
		}
	})
}

// String returns what was collected as it is written to a file.
func (t *Text) String() string { return t.render(layout{width: width}) }

func (t *Text) render(l layout) string {
	var b strings.Builder
	for _, piece := range t.pieces {
		piece(&b, l)
	}
	return b.String()
}

// WriteTo writes what was collected, laid out for w.
func (t *Text) WriteTo(w io.Writer) (int64, error) {
	n, err := io.WriteString(w, t.render(layoutFor(w)))
	return int64(n), err
}

func pad(s string, w int) string {
	return s + strings.Repeat(" ", max(0, w-utf8.RuneCountInString(s)))
}

// pieces are the words of a text, with what belongs together in one: a number and its unit are never torn apart.
func pieces(s string) []string {
	const bond = "\x00" // no text has it
	s = figure.Together(strings.ReplaceAll(s, bond, ""), bond)
	words := strings.Fields(s)
	for i := range words {
		words[i] = strings.ReplaceAll(words[i], bond, " ")
	}
	return words
}

// Wrap breaks s at spaces so that no line is wider than width where words allow; every line begins with indent and
// ends with a line end.
func Wrap(s string, width int, indent string) string {
	var b strings.Builder
	column := 0
	for _, word := range pieces(s) {
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
