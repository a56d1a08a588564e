package csvlog

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"flywitness/drive"
	"flywitness/finding"
)

const maxRows = 20_000_000

// table collects the rows of a delimited log before its time stamps are put right.
type table struct {
	name  string
	d     *dialect
	plan  *plan
	cells [][]byte
	cars  carColumn

	stamps [][]float64 // by clock and row, seconds; NaN where the cell is empty
	values [][]float64 // by column and row, in the channel's unit; NaN where there is none

	rows    int
	skipped int
	torn    int
	why     []string // the first skipped lines
	bad     []badCells
}

// badCells counts the cells of a column that were left out.
type badCells struct {
	unreadable, absurd int
	first              string // where and what
}

// Read reads one table from what Text returned; name stands in messages.
func Read(in *bufio.Reader, name string, opt Options) (*drive.Log, error) {
	lr := newLineReader(in)
	head, end, err := readHead(lr, name)
	if err != nil {
		return nil, err
	}
	d, err := detect(head, name)
	if err != nil {
		return nil, err
	}
	if long := findLong(d, head, opt); long != nil {
		return long.read(head, lr, name)
	}
	p, err := makePlan(d, head, opt, name)
	if err != nil {
		return nil, err
	}
	t := &table{name: name, d: d, plan: p, stamps: make([][]float64, len(p.clocks)), values: make([][]float64, len(p.columns)), bad: make([]badCells, len(p.columns)), cars: findCarColumn(d.headings)}
	for _, l := range head[d.data:] {
		t.row(l)
	}
	for !end {
		l, err := lr.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %w", name, l.number, err)
		}
		t.row(l)
		if t.rows > maxRows {
			return nil, fmt.Errorf("%s:%d: more than %d rows: split the log", name, l.number, maxRows)
		}
	}
	return t.log()
}

// readHead reads the lines from which the dialect is learnt; end tells that these were all.
func readHead(lr *lineReader, name string) (head []textLine, end bool, err error) {
	for len(head) < headLines {
		l, err := lr.next()
		if err == io.EOF {
			return head, true, nil
		}
		if err != nil {
			return nil, false, fmt.Errorf("%s:%d: %w", name, l.number, err)
		}
		l.text = bytes.Clone(l.text)
		head = append(head, l)
	}
	return head, false, nil
}

// makePlan chooses clocks and columns.
func makePlan(d *dialect, head []textLine, opt Options, name string) (*plan, error) {
	sample := sampleColumns(d, head)
	d.unitsInCells(sample)
	same := func(i, j int) bool { return sameCells(sample, i, j) }
	p, err := chooseColumns(d.headings, opt, name, same)
	if err != nil {
		return nil, err
	}
	if err := p.need(d, name); err != nil {
		return nil, err
	}
	return p, p.chooseClocks(d, sample, opt, name)
}

// need refuses a table without engine speed or without any speed.
func (p *plan) need(d *dialect, name string) error {
	engine, speed := false, false
	for _, c := range p.columns {
		engine = engine || c.channel == drive.EngineSpeed
		speed = speed || c.channel == drive.VehicleSpeed || c.channel == drive.GPSSpeed || c.channel == drive.UndrivenSpeed
	}
	if engine && speed {
		return nil
	}
	return missingChannels(name, engine, rawNames(d.headings))
}

// sampleColumns returns the cells of the head by column.
func sampleColumns(d *dialect, head []textLine) [][]string {
	cols := make([][]string, len(d.headings))
	var cells [][]byte
	for _, l := range head[d.data:] {
		cells = splitCells(cells[:0], l.text, d.delim)
		for i := range cols {
			s := ""
			if i < len(cells) {
				s = string(cells[i])
			}
			cols[i] = append(cols[i], s)
		}
	}
	return cols
}

func sameCells(sample [][]string, i, j int) bool {
	some := false
	for r := range sample[i] {
		if sample[i][r] != sample[j][r] {
			return false
		}
		some = some || sample[i][r] != ""
	}
	return some
}

// row takes one line of values.
func (t *table) row(l textLine) {
	if len(l.text) == 0 && !l.long {
		return
	}
	t.cells = splitCells(t.cells[:0], l.text, t.d.delim)
	if why := t.unusable(l); why != "" {
		t.skip(l, why)
		return
	}
	for i := range t.plan.clocks {
		c := &t.plan.clocks[i]
		at := math.NaN()
		if cell := t.cell(c.index); len(cell) > 0 {
			var date []byte
			if c.date >= 0 {
				date = t.cell(c.date)
			}
			v, ok := c.clock.read(cell, date)
			switch {
			case ok:
				at = v
			case len(t.plan.clocks) == 1:
				t.skip(l, fmt.Sprintf("time %q", utf8Text(cell)))
				return
			}
		}
		t.stamps[i] = push(t.stamps[i], at)
	}
	for i := range t.plan.columns {
		t.values[i] = push(t.values[i], t.value(i, l.number))
	}
	if t.cars.index >= 0 {
		t.cars.see(t.cell(t.cars.index))
	}
	t.rows++
}

// push appends x, doubling the room: append alone grows long slices by a quarter and copies them far more often.
func push(v []float64, x float64) []float64 {
	if len(v) == cap(v) {
		v = slices.Grow(v, max(4096, len(v)))
	}
	return append(v, x)
}

// unusable says what is wrong with a line as a whole, "" when nothing is.
func (t *table) unusable(l textLine) string {
	if l.long {
		return "too long"
	}
	for i := len(t.d.headings); i < len(t.cells); i++ {
		if len(t.cells[i]) > 0 {
			if len(t.cells) >= 2*len(t.d.headings)-1 && t.d.delim == ',' {
				return fmt.Sprintf("%d cells under %d headings: decimal commas between commas cannot be told apart, export with semicolons", len(t.cells), len(t.d.headings))
			}
			return fmt.Sprintf("%d cells under %d headings", len(t.cells), len(t.d.headings))
		}
	}
	if !l.whole && len(t.cells) < len(t.d.headings) {
		return "torn"
	}
	if len(t.plan.clocks) == 1 && isNothing(t.cell(t.plan.clocks[0].index)) {
		return "no time"
	}
	return ""
}

func (t *table) skip(l textLine, why string) {
	if len(bytes.Trim(l.text, ",;|\t \"")) == 0 && !l.long {
		return // a line of empty cells
	}
	t.skipped++
	if !l.whole {
		t.torn++
		return
	}
	if len(t.why) < 10 {
		t.why = append(t.why, fmt.Sprintf("%d (%s)", l.number, why))
	}
}

func (t *table) cell(i int) []byte {
	if i < len(t.cells) {
		return t.cells[i]
	}
	return nil
}

// value reads the cell of column i in the channel's unit, NaN when there is nothing to read.
func (t *table) value(i, line int) float64 {
	c := &t.plan.columns[i]
	cell := t.cell(c.index)
	if len(cell) == 0 {
		return math.NaN()
	}
	v, ok := parseCell(cell, t.d.comma)
	if !ok && c.toggle {
		v, ok = parseSwitch(cell)
	}
	if !ok {
		if !isNothing(cell) {
			t.leave(i, line, cell, &t.bad[i].unreadable)
		}
		return math.NaN()
	}
	v = c.conv.apply(v)
	if absurd(c, v) {
		t.leave(i, line, cell, &t.bad[i].absurd)
		return math.NaN()
	}
	return v
}

func (t *table) leave(i, line int, cell []byte, n *int) {
	*n++
	if t.bad[i].first == "" {
		t.bad[i].first = fmt.Sprintf("%s:%d:%d holds %.30q", t.name, line, t.plan.columns[i].index+1, utf8Text(cell))
	}
}

// absurd tells whether no car can have that value. 16383.75 rpm is a reply of all ones, which stands for "not available", and so does a
// zero of what is never near it. The limits are wider than those of a control unit (drive.Definition): other instruments log too.
func absurd(c *column, v float64) bool {
	switch c.channel {
	case drive.EngineSpeed:
		return v < 0 || v >= 16383
	case drive.VehicleSpeed, drive.GPSSpeed, drive.UndrivenSpeed:
		return v < 0 || v > 500
	}
	return math.Abs(v) > 1e9 || c.low > 0 && v < c.low
}

// skippedWarning names the first lines that were left out.
func skippedWarning(name string, skipped, torn, rows int, why []string) []finding.Finding {
	var out []finding.Finding
	if n := skipped - torn; n > 0 {
		list := strings.Join(why, ", ")
		if n > len(why) {
			list += fmt.Sprintf(" and %d more", n-len(why))
		}
		out = append(out, finding.New(finding.SkippedLines, finding.Name("file", name), finding.Count("skipped", n), finding.Count("rows", rows+n),
			finding.Name("lines", list)))
	}
	if torn > 0 {
		out = append(out, finding.New(finding.TornLine, finding.Name("file", name)))
	}
	return out
}
