package csvlog

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"

	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/blocks"
	"flywitness/internal/order"
)

const (
	maxRows = 20_000_000
	maxHead = 8 << 20 // bytes looked at to learn the dialect, when lines are very long
)

// table is a delimited log before its time stamps are put right. Its rows are read in parts, on all cores.
type table struct {
	name      string
	d         *dialect
	plan      *plan
	eol       byte
	brokenOff bool  // the packed file's end is missing
	part      bool  // of a drive: Options.Partial
	left      int64 // bytes of text that are still to come, about; 0: nobody knows

	calendars []calendar  // by clock
	stamps    [][]float64 // by clock and row, seconds; NaN where the cell is empty
	values    [][]float64 // by column and row, in the channel's unit; NaN where there is none
	holes     []bool      // by column: there is such a row

	places [][]float64 // room behind stamps and values for the rows of lines that are still to come,
	line   int         // from this one on
	tally
}

// Read reads one table from what Text returned; name stands in messages.
func Read(in *bufio.Reader, name string, opt Options) (*drive.Log, error) {
	if opt.Rate != 0 && !IsRate(opt.Rate) {
		return nil, fmt.Errorf("--rate %g: rows a second lie between 0.1 and 1000", opt.Rate)
	}
	in, _ = asTable(in)
	cutter := newCutter(in)
	head, rest, err := readHead(cutter)
	if err != nil {
		return nil, fmt.Errorf("%s:%d: %w", name, cutter.Lines()+1, err)
	}
	d, err := detect(head, name, opt)
	if err != nil {
		return nil, err
	}
	if long := findLong(d, head, opt); long != nil {
		return long.read(head, rest, cutter, name)
	}
	p, err := makePlan(d, head, opt, name)
	if err != nil {
		return nil, err
	}
	p.warnIdle(d, head, opt, name)
	return readRows(d, p, head, rest, cutter, name, opt)
}

// readRows reads the rows of a table of which the plan is made; head and rest are what was read of it.
func readRows(d *dialect, p *plan, head []textLine, rest *blocks.Block, cutter *blocks.Cutter, name string, opt Options) (*drive.Log, error) {
	t := newTable(name, d, p, cutter.EOL)
	t.part = opt.Partial
	first := &part{}
	first.reset(t, 0, len(head))
	for _, l := range head[d.data:] {
		if first.row(l); first.below.line > 0 {
			break
		}
	}
	if err := t.take(first); err != nil {
		return nil, err
	}
	t.parse(rest, first)
	t.left = opt.Size - int64(len(rest.Text))
	if err := t.take(first); err != nil {
		return nil, err
	}
	t.place(cutter.Lines() + 1)
	err := blocks.Each(cutter, t.parse, t.take)
	t.places = nil // they may be of memory that the columns have outgrown
	if t.brokenOff = errors.Is(err, ErrBrokenOff); err != nil && !t.brokenOff {
		return nil, fmt.Errorf("%s:%d: %w", name, cutter.Lines()+1, err)
	}
	return t.log()
}

func newTable(name string, d *dialect, p *plan, eol byte) *table {
	return &table{name: name, d: d, plan: p, eol: eol, calendars: make([]calendar, len(p.clocks)), stamps: make([][]float64, len(p.clocks)),
		values: make([][]float64, len(p.columns)), holes: make([]bool, len(p.columns)), tally: newTally(d, p)}
}

// readHead reads the lines from which the dialect is learnt; rest is what was read behind them.
func readHead(c *blocks.Cutter) (head []textLine, rest *blocks.Block, err error) {
	seen := 0
	for len(head) < headLines && seen < maxHead {
		rest = &blocks.Block{}
		if err := c.Next(rest); err == io.EOF || errors.Is(err, ErrBrokenOff) {
			return head, rest, nil
		} else if err != nil {
			return nil, nil, err
		}
		seen += len(rest.Text)
		l := linesOf(rest, c.EOL)
		for len(head) < headLines && l.next() {
			head = append(head, l.line)
		}
		rest = &blocks.Block{Text: l.text, Line: l.number, Lines: bytes.Count(l.text, []byte{c.EOL})}
	}
	return head, rest, nil
}

// parse reads the lines of a block.
func (t *table) parse(b *blocks.Block, p *part) {
	lines := b.Lines
	if !bytes.HasSuffix(b.Text, []byte{t.eol}) {
		lines++
	}
	p.reset(t, b.Line, lines)
	p.bytes = len(b.Text)
	p.rowsOf(linesOf(b, t.eol))
}

// take adds the rows of the next part.
func (t *table) take(p *part) error {
	if t.below.line > 0 {
		return nil // what follows belongs to another table
	}
	t.reserve(p)
	for i, days := range p.days {
		if t.plan.clocks[i].clock.unit == 0 {
			t.calendars[i].place(p.stamps[i], days)
		}
		t.stamps[i] = join(t.stamps[i], p.stamps[i])
	}
	for i := range t.values {
		t.values[i] = join(t.values[i], p.values[i])
		t.holes[i] = t.holes[i] || p.holes[i]
	}
	t.add(&p.tally)
	if t.rows > maxRows {
		return fmt.Errorf("more than %d rows: split the log", maxRows)
	}
	return nil
}

// join puts values behind those of a column, where they may stand already: see placesOf.
func join(column, more []float64) []float64 {
	n := len(column)
	if len(more) > 0 && n+len(more) <= cap(column) && &column[:n+1][n] == &more[0] {
		return column[:n+len(more)]
	}
	return append(column, more...)
}

// place makes room that is there for the rows of all lines from one on known to those who read them.
func (t *table) place(line int) {
	t.line = line
	for _, c := range slices.Concat(t.stamps, t.values) {
		t.places = append(t.places, c[len(c):cap(c)])
	}
}

// placesOf is where the rows of so many lines go in all columns if each line is a row, as are those before them; nil where there is no room. Were they fewer,
// they are moved up when they are taken.
func (t *table) placesOf(line, lines int) (places [][]float64) {
	from := line - t.line
	for _, c := range t.places {
		if from+lines > len(c) {
			return nil
		}
		places = append(places, c[from:from:from+lines])
	}
	return places
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
	if err := p.need(d, name); err != nil && !opt.Partial {
		return nil, err
	}
	if err := p.chooseClocks(d, sample, opt, name); err != nil {
		return nil, err
	}
	if err := d.refuseTorn(head, p, name); err != nil {
		return nil, err
	}
	if n := d.rowsAbove(head); n >= tableAbove {
		p.warn(finding.TableAbove, name, finding.Count("rows", n), finding.Count("line", head[d.header].number))
	}
	return p, nil
}

// need refuses a table without engine speed or without any speed.
func (p *plan) need(d *dialect, name string) error {
	engine := p.has(func(channel string) bool { return channel == drive.EngineSpeed })
	speed := p.has(drive.IsRoadSpeed)
	if engine && speed {
		return nil
	}
	return missingChannels(name, engine, speed, d.headings)
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

// sameCells tells whether two columns hold the same, and something.
func sameCells(sample [][]string, i, j int) bool {
	some := false
	for r := range sample[i] {
		if sample[i][r] != sample[j][r] {
			return false
		}
		some = some || !isNothing([]byte(sample[i][r]))
	}
	return some
}

// reserve makes room for a part: for the whole text, where its length tells how many rows are still to come, else for twice as many as
// now. Room that stays empty costs no memory.
func (t *table) reserve(p *part) {
	t.left -= int64(p.bytes)
	have := len(t.stamps[0])
	if have+p.rows <= cap(t.stamps[0]) {
		return
	}
	more := max(have, p.rows)
	if t.left > 0 && p.bytes > 0 {
		more = p.rows + int(1.02*float64(t.left)/float64(p.bytes)*float64(p.rows)) + 1000
	}
	for _, columns := range [][][]float64{t.stamps, t.values} {
		for i := range columns {
			columns[i] = order.Grow(columns[i], more)
		}
	}
}
