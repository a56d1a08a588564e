package csvlog

import (
	"fmt"
	"slices"
)

// IdleOption is the code of the warning that an option changed nothing. Its message begins with the option as it was given.
const IdleOption = "option_without_effect"

// warnIdle warns of each --map and --time without which the table would be read in the same way: it was meant to change something.
func (p *plan) warnIdle(d *dialect, head []textLine, opt Options, name string) {
	told := plan{columns: p.columns, clocks: p.clocks, warnings: slices.Clone(p.warnings)}
	try := func(without Options, option string) {
		fresh := *d
		fresh.headings = slices.Clone(d.headings)
		q, err := makePlan(&fresh, head, without, name)
		if err == nil && q.reads(&told) {
			p.warn(IdleOption, "%s changes nothing: %s is read so without it", option, name)
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
	return slices.Equal(p.columns, q.columns) && slices.Equal(p.clocks, q.clocks) && slices.Equal(p.warnings, q.warnings)
}
