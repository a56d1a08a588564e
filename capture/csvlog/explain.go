package csvlog

import (
	"bufio"
	"fmt"
	"slices"
	"strings"
)

// Understanding is how a table is read, and why.
type Understanding struct {
	Layout  string // delimiter, decimal mark, lines of headings and of the first values
	Columns []ColumnUse
	Notes   []string // what had to be assumed
	Problem error    // why the table cannot be read as it is; nil when it can
}

// ColumnUse is what one column of a table is taken for.
type ColumnUse struct {
	Heading, Unit string
	As            string // the channel, or "time"; "" when it is not used
	Why           string
}

// Explain tells how a table is read, all of it: what a column holds may show in its last rows. The error is for what is no table.
func Explain(in *bufio.Reader, name string, opt Options) (*Understanding, error) {
	in, form := asTable(in)
	cutter := newCutter(in)
	head, rest, err := readHead(cutter)
	if err != nil {
		return nil, fmt.Errorf("%s:%d: %w", name, cutter.Lines()+1, err)
	}
	d, err := detect(head, name, opt)
	if err != nil {
		return nil, err
	}
	u := &Understanding{Layout: d.describe(head)}
	if form != "" {
		u.Layout = form
	}
	if long := findLong(d, head, opt); long != nil {
		u.Layout += fmt.Sprintf("; one value to a row, named in column %q, its value in %q", d.headings[long.name].raw, d.headings[long.value].raw)
		return u, nil
	}
	p, err := makePlan(d, head, opt, name)
	if err != nil {
		u.Problem = err
		u.use(&plan{}, d)
		return u, nil
	}
	p.warnIdle(d, head, opt, name)
	notes := p.warnings
	l, err := readRows(d, p, head, rest, cutter, name, opt)
	if u.Problem = err; err == nil {
		notes = l.Warnings
	}
	u.use(p, d)
	for _, w := range notes {
		u.Notes = append(u.Notes, w.String())
	}
	return u, nil
}

// use says what a plan takes each column for.
func (u *Understanding) use(p *plan, d *dialect) {
	for _, h := range d.headings {
		u.Columns = append(u.Columns, p.use(h))
	}
}

// describe says how a table is written.
func (d *dialect) describe(head []textLine) string {
	mark := "point"
	if d.comma {
		mark = "comma"
	}
	delim := map[byte]string{'\t': "tab", ';': "semicolon", '|': "upright bar", ',': "comma", ' ': "blank"}[d.delim]
	s := fmt.Sprintf("cells end at a %s, decimals follow a %s", delim, mark)
	if d.header >= 0 {
		s += fmt.Sprintf(", headings in line %d", head[d.header].number)
	} else {
		s += ", without headings"
	}
	if d.units >= 0 {
		s += fmt.Sprintf(", units in line %d", head[d.units].number)
	}
	return s + fmt.Sprintf(", values from line %d", head[d.data].number)
}

// use says what a plan takes a column for.
func (p *plan) use(h heading) ColumnUse {
	u := ColumnUse{Heading: h.raw, Unit: h.unit}
	for _, c := range p.clocks {
		if c.index == h.index {
			u.As, u.Why = "time", c.describe()
		}
		if c.date == h.index || slices.ContainsFunc(c.also, func(a addend) bool { return a.index == h.index }) {
			u.As, u.Why = "time", fmt.Sprintf("added to %q", c.raw)
		}
	}
	for _, c := range p.columns {
		if c.index == h.index {
			u.As, u.Why = c.channel, c.describe(h)
		}
	}
	if u.As == "" {
		u.Why = p.whyNot(h)
	}
	return u
}

func (c *timeColumn) describe() string {
	if c.clock.unit == 0 {
		return "clock times"
	}
	return "numbers of " + c.unitName()
}

// unitName names the unit of a clock of numbers.
func (c *timeColumn) unitName() string {
	for name, s := range timeUnits {
		if s == c.clock.unit {
			return name
		}
	}
	return fmt.Sprintf("%g s", c.clock.unit)
}

func (c *column) describe(h heading) string {
	how := "told with --map"
	if q := lexiconOf(c.channel); q != nil {
		switch r, _, _ := h.match(q); r {
		case exact:
			how = "the channel's own name"
		case strong:
			how = "its heading can mean nothing else"
		case weak:
			how = "its heading means it, unless another does so more clearly"
		case second:
			how = "its heading names a second sensor of it"
		case doubtful:
			how = "its heading names it, with words that are not known"
		}
	}
	switch {
	case c.assumed:
		return how + "; no unit is given, and that of the channel is assumed"
	case c.unit != "" && c.conv != identity:
		return fmt.Sprintf("%s; converted from %s", how, c.unit)
	}
	return how
}

func lexiconOf(channel string) *lexicon {
	i := slices.IndexFunc(lexicons, func(q *lexicon) bool { return q.channel == channel })
	if i < 0 {
		return nil
	}
	return lexicons[i]
}

// whyNot says why a column is not used.
func (p *plan) whyNot(h heading) string {
	var could []string
	for _, q := range lexicons {
		if r, _, _ := h.match(q); r > noMatch {
			if p.has(func(channel string) bool { return channel == q.channel }) {
				return fmt.Sprintf("%s is read from another column; --map \"%s=%s\" changes it", q.channel, q.channel, h.raw)
			}
			could = append(could, q.channel)
		}
	}
	if len(could) > 0 {
		return fmt.Sprintf("could be %s; --map \"%s=%s\" says so", strings.Join(could, " or "), could[0], h.raw)
	}
	switch {
	case h.timeRank() > 0 && len(p.clocks) == 0:
		return "could be the time"
	case h.timeRank() > 0:
		return "a time, but another column tells it better; --time changes it"
	}
	for _, q := range lexicons {
		if !q.namedIn(h.words) {
			continue
		}
		if h.bracket {
			if _, ok := parseUnit(h.unit, q.unit); !ok {
				return fmt.Sprintf("would be %s, but %q is no unit of it", q.channel, h.unit)
			}
		}
		for _, w := range h.words {
			if q.not[w] {
				return fmt.Sprintf("would be %s, but %q makes it something else", q.channel, w)
			}
		}
	}
	return "names no channel that is used"
}
