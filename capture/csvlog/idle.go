package csvlog

import (
	"fmt"
	"slices"

	"flywitness/finding"
)

// warnIdle warns of each --map and --time without which the table would be read in the same way: it was meant to change something.
func (p *plan) warnIdle(d *dialect, head []textLine, opt Options, name string) {
	told := plan{columns: p.columns, clocks: p.clocks, warnings: slices.Clone(p.warnings)}
	try := func(without Options, option string) {
		fresh := *d
		fresh.headings = slices.Clone(d.headings)
		q, err := makePlan(&fresh, head, without, name)
		if err == nil && q.reads(&told) {
			p.warn(finding.IdleOption, name, finding.Name("option", option))
		}
	}
	for i, m := range opt.Map {
		without := opt
		without.Map = slices.Delete(slices.Clone(opt.Map), i, i+1)
		try(without, fmt.Sprintf("--map %q", m))
	}
	if opt.Time != "" {
		without := opt
		without.Time = ""
		try(without, fmt.Sprintf("--time %q", opt.Time))
	}
}

// reads tells whether two plans read the same in the same way, and had to assume the same.
func (p *plan) reads(q *plan) bool {
	same := func(a, b column) bool { return a.index == b.index && a.channel == b.channel && a.conv == b.conv }
	return slices.EqualFunc(p.columns, q.columns, same) && slices.EqualFunc(p.clocks, q.clocks, timeColumn.reads) && slices.EqualFunc(p.warnings, q.warnings, finding.Finding.Equal)
}

// reads tells whether two clocks are read in the same way.
func (c timeColumn) reads(d timeColumn) bool {
	return c.index == d.index && c.date == d.date && c.clock.scale == d.clock.scale && c.clock.rate == d.clock.rate
}
