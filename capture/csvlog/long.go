package csvlog

import (
	"fmt"
	"io"
	"math"

	"flywitness/drive"
)

// longTable is a log with one value to a row: time, name, value and perhaps a unit.
type longTable struct {
	d                 *dialect
	opt               Options
	name, value, unit int // columns; unit is -1 without one
}

// maxNames is how many different names a log of one value to a row may have.
const maxNames = 500

// findLong recognises a log of one value to a row: no heading names engine speed, but the cells of one column do. nil when it is not one.
func findLong(d *dialect, head []textLine, opt Options) *longTable {
	engine := lexicons[0]
	for _, h := range d.headings {
		if r, _, _ := h.match(engine); r > noMatch {
			return nil
		}
	}
	sample := sampleColumns(d, head)
	l := &longTable{d: d, opt: opt, name: -1, value: -1, unit: -1}
	for i, cells := range sample {
		for _, s := range cells {
			if r, _, _ := parseHeading(0, s, "").match(engine); r >= weak && !isUnit(s) {
				l.name = i
				break
			}
		}
		if l.name >= 0 {
			break
		}
	}
	if l.name < 0 {
		return nil
	}
	for i, h := range d.headings {
		for _, w := range wordsOf(h.name) {
			switch w {
			case "value", "wert", "valeur", "valor", "valore", "reading", "val":
				l.value = i
			case "unit", "units", "einheit", "unite", "unidad":
				l.unit = i
			}
		}
	}
	if l.value < 0 {
		return nil
	}
	return l
}

// series is the values of one name.
type series struct {
	t, v []float64
}

// read collects the rows by name, then chooses among the names as among headings.
func (l *longTable) read(head []textLine, lr *lineReader, name string) (*drive.Log, error) {
	p := &plan{columns: []column{{index: l.value}, {index: l.name}}}
	if err := p.chooseClocks(l.d, sampleColumns(l.d, head), l.opt, name); err != nil {
		return nil, err
	}
	t := &table{name: name, d: l.d, plan: p}
	names := map[string]int{}
	var hs []heading
	var all []series
	take := func(line textLine) error {
		i, at, v, ok := l.cells(t, line)
		if !ok {
			return nil
		}
		k, known := names[i]
		if !known {
			if k = len(all); k == maxNames {
				return fmt.Errorf("%s:%d: more than %d names in column %q", name, line.number, maxNames, l.d.headings[l.name].raw)
			}
			unit := ""
			if l.unit >= 0 {
				unit = utf8Text(t.cell(l.unit))
			}
			names[i] = k
			hs = append(hs, parseHeading(k, i, unit))
			all = append(all, series{})
		}
		all[k].t, all[k].v = append(all[k].t, at), append(all[k].v, v)
		return nil
	}
	for _, line := range head[l.d.data:] {
		if err := take(line); err != nil {
			return nil, err
		}
	}
	for {
		line, err := lr.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %w", name, line.number, err)
		}
		if err := take(line); err != nil {
			return nil, err
		}
	}
	return l.log(t, hs, all)
}

// cells reads one row.
func (l *longTable) cells(t *table, line textLine) (name string, at, v float64, ok bool) {
	if len(line.text) == 0 && !line.long {
		return
	}
	t.cells = splitCells(t.cells[:0], line.text, l.d.delim)
	why := t.unusable(line)
	if why == "" {
		c := &t.plan.clocks[0]
		var date []byte
		if c.date >= 0 {
			date = t.cell(c.date)
		}
		if at, ok = c.clock.read(t.cell(c.index), date); !ok {
			why = fmt.Sprintf("time %q", utf8Text(t.cell(c.index)))
		}
	}
	if why != "" {
		t.skip(line, why)
		return "", 0, 0, false
	}
	t.rows++
	v, ok = parseCell(t.cell(l.value), l.d.comma)
	return utf8Text(t.cell(l.name)), at, v, ok
}

func (l *longTable) log(t *table, hs []heading, all []series) (*drive.Log, error) {
	p, err := chooseColumns(hs, l.opt, t.name, func(i, j int) bool { return false })
	if err != nil {
		return nil, err
	}
	if err := p.need(&dialect{headings: hs}, t.name); err != nil {
		return nil, err
	}
	var sets []*rowset
	for i := range p.columns {
		c := &p.columns[i]
		s := all[c.index]
		r := &rowset{cols: []*column{c}, v: [][]float64{nil}}
		for k, v := range s.v {
			if v = c.conv.apply(v); !absurd(c, v) && !math.IsNaN(v) {
				r.t, r.v[0] = append(r.t, s.t[k]), append(r.v[0], v)
			}
		}
		sets = append(sets, r)
	}
	out := &drive.Log{Path: t.name, Rows: t.rows, Skipped: t.skipped, Torn: t.torn, Warnings: append(t.plan.warnings, p.warnings...)}
	out.Warnings = append(out.Warnings, skippedWarning(t.name, t.skipped, t.torn, t.rows, t.why)...)
	finish(out, sets, p.columns)
	return out, checkFilled(out, p.columns)
}
