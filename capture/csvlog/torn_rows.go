package csvlog

import (
	"bytes"
	"fmt"
)

// Rows that were torn by what wrote or carried them: cut off at a length, or put on two lines each. Read as they are, they hold 10 km/h for 103.4.

const (
	cutFew     = 5  // numbers that lost decimals at one length of line,
	wholeFew   = 5  // and rows that are shorter and lost none
	onTwoLines = 20 // lines at least, in turn of two kinds that together fill a row
)

// numberCut says at which length lines end in the middle of a number, and of which column; 0 where none do. A number that loses decimals only where its line is as long as
// any did not lose them by itself.
func (d *dialect) numberCut(head []textLine) (length, column int, cell string) {
	rows := head[d.data:]
	for _, l := range rows {
		length = max(length, len(l.text))
	}
	most := map[int]int{} // decimals of each column
	var cells [][]byte
	whole := 0
	for _, l := range rows {
		cells = splitCells(cells[:0], l.text, d.delim)
		if len(l.text) == length {
			cells = cells[:len(cells)-1]
		} else if l.whole {
			whole++
		}
		for i, c := range cells {
			most[i] = max(most[i], d.decimals(c))
		}
	}
	cut, column := 0, -1
	for _, l := range rows {
		cells = splitCells(cells[:0], l.text, d.delim)
		last := len(cells) - 1
		if last < 0 || len(cells[last]) == 0 || !isDigit(cells[last][0]) || d.decimals(cells[last]) >= most[last] {
			continue
		}
		if len(l.text) < length {
			return 0, 0, ""
		}
		if cut++; column < 0 {
			column, cell = last, utf8Text(cells[last])
		}
	}
	if cut < cutFew || whole < wholeFew {
		return 0, 0, ""
	}
	return length, column, cell
}

// decimals is how many digits a number has behind its mark.
func (d *dialect) decimals(cell []byte) int {
	mark := byte('.')
	if d.comma {
		mark = ','
	}
	i := bytes.IndexByte(cell, mark)
	if i < 0 || digitsEnd(cell, i+1) != len(cell) {
		return 0
	}
	return len(cell) - i - 1
}

// rowsOnTwoLines tells whether each row was put on two lines.
func (d *dialect) rowsOnTwoLines(head []textLine) bool {
	var width [2]int
	var cells [][]byte
	lines := 0
	for _, l := range head[d.data:] {
		cells = splitCells(cells[:0], l.text, d.delim)
		n := len(cells)
		if len(bytes.TrimSpace(l.text)) == 0 {
			continue
		}
		if n >= len(d.headings) {
			return false
		}
		if len(cells[n-1]) == 0 {
			n-- // the row goes on
		}
		if lines < 2 {
			width[lines] = n
		} else if width[lines%2] != n {
			return false
		}
		lines++
	}
	return lines >= onTwoLines && width[0]+width[1] == len(d.headings)
}

// refuseTorn is the error of a table whose rows were torn where something is read from them.
func (d *dialect) refuseTorn(head []textLine, p *plan, name string) error {
	if d.rowsOnTwoLines(head) {
		return fmt.Errorf("%s: each row stands on two lines: put the cells of one moment on one line, as the headings are", name)
	}
	length, column, cell := d.numberCut(head)
	if length == 0 || p.use(d.headings[min(column, len(d.headings)-1)]).As == "" {
		return nil
	}
	return fmt.Errorf("%s: its lines end after %d characters, in the middle of %q (%.20q): export the log again with whole lines, or without that column", name, length,
		d.headings[min(column, len(d.headings)-1)].raw, cell)
}
