package csvlog

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"

	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/blocks"
)

// longTable is a log with one value to a row: time, name, value and perhaps a unit.
type longTable struct {
	d                 *dialect
	opt               Options
	name, value, unit int // columns; unit is -1 without one
}

// valueWords head the column of values.
var valueWords = wordSet("value wert valeur valor valore reading val raw")

// maxNames is how many different names a log of one value to a row may have.
const maxNames = 500

// longOfWords is the dialect of a table of one value to a row with more words than values in it, nil where it is none.
func longOfWords(head []textLine, name string, opt Options) *dialect {
	for _, delim := range []byte{'\t', ';', '|', ','} {
		d, _ := tryFor(head, delim, holdsValues)
		if d == nil {
			continue
		}
		d.comma = decimalComma(head[d.data:], delim)
		if d.findHeadings(head, name) == nil && findLong(d, head, opt) != nil {
			return d
		}
	}
	return nil
}

// holdsValues tells whether two of the cells are values: a time and another one.
func holdsValues(cells [][]byte) bool {
	values := 0
	for _, c := range cells {
		if len(c) > 0 && looksLikeValue(c) && !isNothing(c) {
			values++
		}
	}
	return values >= 2
}

// findLong recognises a log of one value to a row: no heading names engine speed, but the cells of one column do. nil when it is not one.
func findLong(d *dialect, head []textLine, opt Options) *longTable {
	for _, h := range d.headings {
		if r, _, _ := h.match(lexicons[0]); r > noMatch {
			return nil
		}
	}
	sample := sampleColumns(d, head)
	l := &longTable{d: d, opt: opt, name: -1, value: -1, unit: -1}
	for i, h := range d.headings {
		for _, w := range h.words {
			switch {
			case valueWords[w]:
				l.value = i
			case unitWords[w]:
				l.unit = i
			}
		}
	}
	l.name = slices.IndexFunc(sample, func(cells []string) bool { return namesEngine(cells, false) })
	if l.name < 0 { // "rpm" may be a name, where it is no unit
		l.name = slices.IndexFunc(sample, func(cells []string) bool { return namesEngine(cells, true) })
	}
	if l.value < 0 {
		l.value = onlyNumbers(d, sample)
	}
	if l.name < 0 || l.value < 0 || l.name == l.unit || l.name == l.value {
		return nil
	}
	return l
}

// namesEngine tells whether one of the cells names engine speed, by its unit too where that is let pass.
func namesEngine(cells []string, byUnit bool) bool {
	return slices.ContainsFunc(cells, func(s string) bool {
		r, _, _ := parseHeading(0, s, "").match(lexicons[0])
		return r >= weak && (byUnit || !isUnit(s))
	})
}

// onlyNumbers returns the one column of numbers that is no clock, -1 where there is none or more than one.
func onlyNumbers(d *dialect, sample [][]string) int {
	found := -1
	for i, h := range d.headings {
		odd := slices.ContainsFunc(sample[i], func(s string) bool {
			_, ok := parseCell([]byte(s), d.comma)
			return !ok && !isNothing([]byte(s))
		})
		switch {
		case odd || h.timeRank() > 0:
		case found >= 0:
			return -1
		default:
			found = i
		}
	}
	return found
}

// series is the values of one name.
type series struct {
	t, v []float64
	bad  badCells
}

// longReader collects the values of a log of one value to a row by name.
type longReader struct {
	*longTable
	part      part
	calendar  calendar
	names     map[string]int
	headings  []heading
	all       []series
	brokenOff bool // the packed file's end is missing
}

// read collects the rows by name, then chooses among the names as among headings.
func (l *longTable) read(head []textLine, rest *blocks.Block, c *blocks.Cutter, name string) (*drive.Log, error) {
	if l.opt.Rate > 0 {
		return nil, fmt.Errorf("%s: --rate counts rows, and this log has one value to a row: it needs its time column", name)
	}
	p := &plan{columns: []column{{index: l.value}, {index: l.name}}}
	if err := p.chooseClocks(l.d, sampleColumns(l.d, head), l.opt, name); err != nil {
		return nil, err
	}
	r := &longReader{longTable: l, part: part{name: name, d: l.d, plan: p, tally: newTally(l.d, p)}, names: map[string]int{}}
	for _, line := range head[l.d.data:] {
		if err := r.row(line); err != nil {
			return nil, err
		}
	}
	for b := rest; ; {
		for in := linesOf(b, c.EOL); in.next(); {
			if err := r.row(in.line); err != nil {
				return nil, err
			}
		}
		err := c.Next(b)
		if r.brokenOff = errors.Is(err, ErrBrokenOff); r.brokenOff || err == io.EOF {
			return r.log()
		}
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %w", name, c.Lines()+1, err)
		}
	}
}

// row takes one line.
func (l *longReader) row(line textLine) error {
	name, at, v, ok := l.cells(line)
	if !ok {
		return nil
	}
	k, known := l.names[name]
	if !known {
		if k = len(l.all); k == maxNames {
			return fmt.Errorf("%s:%d: more than %d names in column %q", l.part.name, line.number, maxNames, l.d.headings[l.name].raw)
		}
		unit := ""
		if l.unit >= 0 {
			unit = utf8Text(l.part.cell(l.unit))
		} else {
			unit = unitOfCells([]string{utf8Text(l.part.cell(l.value))})
		}
		l.names[name] = k
		l.headings = append(l.headings, parseHeading(k, name, unit))
		l.all = append(l.all, series{})
	}
	s := &l.all[k]
	if math.IsNaN(v) {
		if cell := l.part.cell(l.value); !isNothing(cell) {
			if s.bad.unreadable++; s.bad.first == "" {
				s.bad.first = l.part.where(line.number, l.value, cell)
			}
		}
		return nil
	}
	s.t, s.v = append(s.t, at), append(s.v, v)
	return nil
}

// cells reads the cells of one line.
func (l *longReader) cells(line textLine) (name string, at, v float64, ok bool) {
	if len(line.text) == 0 && !line.long {
		return
	}
	p := &l.part
	p.cells = splitCells(p.cells[:0], line.text, l.d.delim)
	c := &p.plan.clocks[0]
	why := p.unusable(line)
	if why == "" {
		if at, ok = l.at(c); !ok {
			why = fmt.Sprintf("time %q", utf8Text(p.cell(c.index)))
		}
	}
	if why != "" {
		p.skip(line, why)
		return "", 0, 0, false
	}
	p.rows++
	if v, ok = parseCell(p.cell(l.value), l.d.comma); !ok {
		v = math.NaN()
	}
	return utf8Text(p.cell(l.name)), at, v, true
}

// at returns the time of the line.
func (l *longReader) at(c *timeColumn) (float64, bool) {
	at, on, ok := l.part.time(c)
	if ok && c.clock.unit == 0 {
		one := []float64{at}
		l.calendar.place(one, []day{on})
		at = one[0]
	}
	return at, ok
}

func (l *longReader) log() (*drive.Log, error) {
	t, all := &l.part, l.all
	p, err := chooseColumns(l.headings, l.opt, t.name, func(i, j int) bool { return false })
	if err != nil {
		return nil, err
	}
	if err := p.need(&dialect{headings: l.headings}, t.name); err != nil {
		return nil, err
	}
	var sets []*rowset
	var bad []badCells
	for i := range p.columns {
		c := &p.columns[i]
		s := all[c.index]
		r := &rowset{cols: []*column{c}, v: [][]float64{nil}, unit: t.plan.clocks[0].clock.unit}
		for k, v := range s.v {
			v = c.conv.apply(v)
			if absurd(c, v) {
				if s.bad.absurd++; s.bad.first == "" {
					s.bad.first = fmt.Sprintf("%g", s.v[k])
				}
				if !c.essential() && c.given {
					continue
				}
			}
			r.t, r.v[0] = append(r.t, s.t[k]), append(r.v[0], v)
		}
		sets = append(sets, r)
		bad = append(bad, s.bad)
	}
	out := &drive.Log{Path: t.name, Rows: t.rows, Skipped: t.skipped, Torn: t.torn, Warnings: append(t.plan.warnings, p.warnings...)}
	out.Warnings = append(out.Warnings, skippedWarning(t.name, t.skipped, t.torn, t.rows, t.why)...)
	if l.brokenOff {
		out.Warnings = append(out.Warnings, finding.New(finding.BrokenOff, finding.Name("file", t.name), finding.Count("rows", t.rows)))
	}
	if err := settleReadings(out, sets); err != nil {
		return nil, err
	}
	out.Warnings = append(out.Warnings, leftOutOf(p.columns, bad)...)
	lookBack(sets)
	finish(out, sets, p.columns, false)
	return out, checkFilled(out, p.columns)
}
