package csvlog

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"

	"flywitness/drive"
	"flywitness/finding"
)

// part is the rows of a stretch of lines. It knows nothing of the lines before it, so parts are read side by side.
type part struct {
	name  string
	d     *dialect
	plan  *plan
	cells [][]byte
	bytes int     // of its text
	sinks []sink  // for the quick way; nil where there is none
	alike layouts // of rows that were read

	own    [][]float64 // memory for stamps and values where they have no place in the table yet
	stamps [][]float64 // as table.stamps; of a clock of texts the seconds of the day
	days   [][]day     // by clock and row; empty for a clock of numbers
	values [][]float64
	holes  []bool // by column: a value is missing
	tally
}

// tally is what is counted beside the values.
type tally struct {
	rows     int
	skipped  int
	torn     int
	repeated int // heading rows in between
	below    below
	why      []string // the first skipped lines
	bad      []badCells
	cars     carColumn
}

// below is another table that begins under the rows; its line is 0 without one.
type below struct {
	line     int
	headings string
}

// badCells counts the cells of a column that were left out.
type badCells struct {
	unreadable, absurd int
	hex                int    // of the unreadable: numbers of base 16
	first              string // where and what
}

// whyShown is how many skipped lines are named.
const whyShown = 10

func newTally(d *dialect, p *plan) tally {
	return tally{bad: make([]badCells, len(p.columns)), cars: findCarColumn(d.headings)}
}

// add counts what a later part counted.
func (t *tally) add(p *tally) {
	t.rows, t.skipped, t.torn = t.rows+p.rows, t.skipped+p.skipped, t.torn+p.torn
	t.repeated += p.repeated
	t.below = p.below
	t.why = append(t.why, p.why[:min(len(p.why), whyShown-len(t.why))]...)
	for i, b := range p.bad {
		t.bad[i].unreadable += b.unreadable
		t.bad[i].absurd += b.absurd
		t.bad[i].hex += b.hex
		if t.bad[i].first == "" {
			t.bad[i].first = b.first
		}
	}
	for _, name := range p.cars.names {
		t.cars.see([]byte(name))
	}
}

// reset empties p and makes room for the rows of n lines, of which this is the first.
func (p *part) reset(t *table, line, n int) {
	p.name, p.d, p.plan, p.bytes = t.name, t.d, t.plan, 0
	p.tally = tally{bad: make([]badCells, len(t.plan.columns)), cars: carColumn{index: t.cars.index, raw: t.cars.raw}}
	clocks := len(t.plan.clocks)
	columns := t.placesOf(line, n)
	if columns == nil {
		p.own = room(p.own, clocks+len(t.plan.columns), n)
		columns = p.own
	}
	p.stamps, p.values = columns[:clocks], columns[clocks:]
	p.days = room(p.days, clocks, n)
	p.holes = make([]bool, len(t.plan.columns))
	p.sinks = p.quickSinks(n)
}

// room returns columns empty columns with room for n rows.
func room[T any](v [][]T, columns, n int) [][]T {
	if v == nil {
		v = make([][]T, columns)
	}
	for i := range v {
		v[i] = slices.Grow(v[i][:0], n)
	}
	return v
}

// rowsOf takes all lines, down to another table.
func (p *part) rowsOf(l *lines) {
	for p.below.line == 0 {
		if p.quickRows(l); !l.next() {
			break
		}
		p.row(l.line)
	}
}

// row takes one line of values.
func (p *part) row(l textLine) {
	if len(l.text) == 0 && !l.long {
		return
	}
	p.cells = splitCells(p.cells[:0], l.text, p.d.delim)
	if !l.whole && !bytes.HasSuffix(l.text, []byte{'"'}) && len(p.cells) >= len(p.d.headings) {
		p.cells[len(p.cells)-1] = nil // it may go on: 11 of 119
	}
	if p.isHeading() {
		p.repeated++
		return
	}
	if why := p.unusable(l); why != "" {
		p.skip(l, why)
		return
	}
	for i := range p.plan.clocks {
		c := &p.plan.clocks[i]
		at, on := math.NaN(), day{}
		if c.clock.rate > 0 {
			p.stamps[i] = append(p.stamps[i], float64(l.number)/c.clock.rate)
			continue
		}
		if cell := p.cell(c.index); len(cell) > 0 {
			v, d, ok := p.time(c)
			switch {
			case ok:
				at, on = v, d
			case len(p.plan.clocks) == 1:
				p.skip(l, fmt.Sprintf("time %q", utf8Text(cell)))
				return
			}
		}
		p.stamps[i] = append(p.stamps[i], at)
		if c.clock.unit == 0 {
			p.days[i] = append(p.days[i], on)
		}
	}
	for i := range p.plan.columns {
		v := p.value(i, l.number)
		p.values[i], p.holes[i] = append(p.values[i], v), p.holes[i] || math.IsNaN(v)
	}
	if p.cars.index >= 0 {
		p.cars.see(p.cell(p.cars.index))
	}
	p.rows++
}

// time reads the time of the row.
func (p *part) time(c *timeColumn) (at float64, on day, ok bool) {
	at, on, ok = c.clock.read(p.cell(c.index), p.cell(c.date))
	for _, a := range c.also {
		if v, number := parseCell(p.cell(a.index), p.d.comma); number {
			at += v * a.seconds
		}
	}
	return at, on, ok
}

// isHeading tells whether the row is the heading row once more, as of tables that were put one behind the other.
func (p *part) isHeading() bool {
	if len(p.cells) < len(p.d.headings) || p.more() {
		return false
	}
	for i := range p.d.headings {
		c := p.cells[i]
		if len(c) > 0 && isDigit(c[0]) || utf8Text(c) != p.d.headings[i].raw {
			return false
		}
	}
	return true
}

// more tells whether the row has cells under no heading that hold something.
func (p *part) more() bool {
	return slices.ContainsFunc(p.cells[min(len(p.cells), len(p.d.headings)):], func(c []byte) bool { return len(c) > 0 })
}

// sameHeadings tells whether the row is the heading row in all but how it is written, as with the mark at the start of a text before it.
func (p *part) sameHeadings() bool {
	if len(p.cells) < len(p.d.headings) || len(p.cells[0]) > 0 && looksLikeValue(p.cells[0]) || p.more() {
		return false
	}
	for i, h := range p.d.headings {
		again := parseHeading(i, utf8Text(p.cells[i]), "")
		if !slices.Equal(again.words, h.words) || again.unit != "" && h.unit != "" && !sameUnit(again.unit, h.unit) {
			return false
		}
	}
	return true
}

// otherUnits tells whether the row is a row of units that are not those of the headings.
func (p *part) otherUnits() bool {
	if !unitsRow(p.cells) {
		return false
	}
	for i, h := range p.d.headings {
		if unit := strings.Trim(utf8Text(p.cell(i)), "[](){}<>"); isUnit(unit) && h.unit != "" && !sameUnit(unit, h.unit) {
			return true
		}
	}
	return false
}

// isOtherHeading tells whether the row is the headings of another table: words alone, one of which names a clock. Units alone may stand below
// headings once more.
func (p *part) isOtherHeading() bool {
	words, clock := 0, false
	for _, c := range p.cells {
		if len(c) == 0 {
			continue
		}
		if looksLikeValue(c) {
			return false
		}
		words++
		clock = clock || parseHeading(0, utf8Text(c), "").isClock()
	}
	return words > 1 && clock && !unitsRow(p.cells)
}

// headingsShown is how many headings of another table are named.
const headingsShown = 4

// textsOf returns the first cells that hold something.
func textsOf(cells [][]byte, most int) (out []string) {
	for _, c := range cells {
		if len(c) > 0 && len(out) < most {
			out = append(out, utf8Text(c))
		}
	}
	return out
}

// unusable says what is wrong with a line as a whole, "" when nothing is.
func (p *part) unusable(l textLine) string {
	if l.long {
		return "too long"
	}
	for i := len(p.d.headings); i < len(p.cells); i++ {
		if len(p.cells[i]) > 0 {
			if len(p.cells) >= 2*len(p.d.headings)-1 && p.d.delim == ',' {
				return fmt.Sprintf("%d cells under %d headings: decimal commas between commas cannot be told apart, export with semicolons", len(p.cells), len(p.d.headings))
			}
			return fmt.Sprintf("%d cells under %d headings", len(p.cells), len(p.d.headings))
		}
	}
	if !l.whole && len(p.cells) < len(p.d.headings) {
		return "torn"
	}
	if len(p.plan.clocks) == 1 && p.plan.clocks[0].clock.rate == 0 && isNothing(p.cell(p.plan.clocks[0].index)) {
		return "no time"
	}
	return ""
}

func (p *part) skip(l textLine, why string) {
	if p.sameHeadings() {
		p.repeated++
		return
	}
	if p.isOtherHeading() || p.otherUnits() {
		p.below = below{l.number, quoteList(textsOf(p.cells, headingsShown))}
		return
	}
	if len(bytes.Trim(l.text, ",;|\t \"")) == 0 && !l.long {
		return // a line of empty cells
	}
	p.skipped++
	if !l.whole {
		p.torn++
		return
	}
	if len(p.why) < whyShown {
		p.why = append(p.why, fmt.Sprintf("%d (%s)", l.number, why))
	}
}

// cell returns the cell of a column, nil where there is none.
func (p *part) cell(i int) []byte {
	if i >= 0 && i < len(p.cells) {
		return p.cells[i]
	}
	return nil
}

// value reads the cell of column i in the channel's unit, NaN when there is nothing to read.
func (p *part) value(i, line int) float64 {
	c := &p.plan.columns[i]
	cell := p.cell(c.index)
	if len(cell) == 0 {
		return math.NaN()
	}
	v, ok := parseCell(cell, p.d.comma)
	if !ok && c.toggle {
		v, ok = parseSwitch(cell)
	}
	if !ok {
		if !isNothing(cell) {
			p.leave(i, line, cell, &p.bad[i].unreadable)
			if isHex(cell) {
				p.bad[i].hex++
			}
		}
		return math.NaN()
	}
	v = c.convOf(cell).apply(v)
	if absurd(c, v) {
		p.leave(i, line, cell, &p.bad[i].absurd)
		if !c.essential() && c.given {
			return math.NaN()
		}
	}
	return v
}

// essential tells whether the column is engine speed or a road speed. Values that no car has tell their unit (settleReadings), and so do those of other columns without
// one (settleBare).
func (c *column) essential() bool {
	return c.channel == drive.EngineSpeed || drive.IsRoadSpeed(c.channel)
}

// convOf is how the number in a cell is turned into the channel's unit: by the unit that stands behind it, where it is another one than that of the column.
func (c *column) convOf(cell []byte) conversion {
	if isDigit(cell[len(cell)-1]) {
		return c.conv
	}
	unit := tailOf(utf8Text(cell))
	if unit == "" || unit == c.unit {
		return c.conv
	}
	if q := lexiconOf(c.channel); q != nil {
		if conv, ok := parseUnit(unit, q.unit); ok {
			return conv
		}
	}
	return c.conv
}

func (p *part) leave(i, line int, cell []byte, n *int) {
	*n++
	if p.bad[i].first == "" {
		p.bad[i].first = p.where(line, p.plan.columns[i].index, cell)
	}
}

// where says where a cell stands and what it holds.
func (p *part) where(line, column int, cell []byte) string {
	return fmt.Sprintf("%s:%d:%d holds %.30q", p.name, line, column+1, utf8Text(cell))
}

// absurd tells whether no car can have that value.
func absurd(c *column, v float64) bool {
	lo, hi := c.limits()
	return v < lo || v > hi
}

// limits returns the least and the greatest value that a column can hold. 16383.75 rpm is a reply of all ones, which stands for "not
// available", and so does a zero of what is never near it. The limits lie by as much beyond those of a control unit (drive.Definition) as those lie apart:
// other instruments log too, but none shows a throttle of 9999 %.
func (c *column) limits() (lo, hi float64) {
	switch {
	case c.channel == drive.EngineSpeed:
		return 0, math.Nextafter(16383, 0)
	case drive.IsRoadSpeed(c.channel):
		return 0, 500
	case c.low > 0 && c.toggle:
		return c.low, 1e9
	case c.toggle:
		return -1e9, 1e9
	case c.low > 0:
		return c.low, 2*c.high - c.low
	}
	return 2*c.low - c.high, 2*c.high - c.low
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
