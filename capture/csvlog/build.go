package csvlog

import (
	"fmt"
	"math"
	"time"

	"flywitness/drive"
	"flywitness/finding"
)

// warning says of a column how many of its cells were left out.
func (b badCells) warning(code finding.Code, c column, cells int) finding.Finding {
	return finding.New(code, finding.Name("channel", c.channel), finding.Count("cells", cells), finding.Name("column", c.raw), finding.Name("first", b.first))
}

// log turns the collected rows into channels.
func (t *table) log() (*drive.Log, error) {
	l := &drive.Log{Path: t.name, Rows: t.rows, Skipped: t.skipped, Torn: t.torn, Warnings: t.plan.warnings}
	l.Warnings = append(l.Warnings, skippedWarning(t.name, t.skipped, t.torn, t.rows, t.why)...)
	for i, b := range t.bad {
		c := t.plan.columns[i]
		if b.unreadable > 0 {
			l.Warnings = append(l.Warnings, b.warning(finding.UnreadableCells, c, b.unreadable))
		}
		if b.absurd > 0 {
			l.Warnings = append(l.Warnings, b.warning(finding.AbsurdValues, c, b.absurd))
		}
	}
	if t.rows == 0 {
		first := ""
		if len(t.why) > 0 {
			first = ": line " + t.why[0]
		}
		return nil, fmt.Errorf("%s: none of the %d rows under the headings can be read%s", t.name, t.skipped, first)
	}
	if err := t.cars.refuse(t.name); err != nil {
		return nil, err
	}
	finish(l, t.rowsets(), t.plan.columns)
	return l, checkFilled(l, t.plan.columns)
}

// rowsets groups the columns by clock.
func (t *table) rowsets() []*rowset {
	var out []*rowset
	for k := range t.plan.clocks {
		r := &rowset{t: t.stamps[k], unsure: t.plan.clocks[k].clock.unsure}
		for i := range t.plan.columns {
			if t.plan.columns[i].clock == k {
				r.v = append(r.v, t.values[i])
				r.cols = append(r.cols, &t.plan.columns[i])
			}
		}
		if len(t.plan.clocks) > 1 {
			keep := make([]bool, len(r.t))
			for i := range keep {
				keep[i] = !math.IsNaN(r.t[i]) && !math.IsNaN(r.v[0][i])
			}
			r.keep(keep)
		}
		out = append(out, r)
	}
	return out
}

// absoluteTime is a time in seconds since 1970 that no clock counting from its own start reaches.
const absoluteTime = 3e8

// finish orders the rows, spreads coarse stamps, drops repeated values and fills l.Channels in the order of cols. Times then count from the first one.
func finish(l *drive.Log, sets []*rowset, cols []column) {
	origin, dated := math.Inf(1), true
	byName := map[string]*drive.Channel{}
	for _, r := range sets {
		if len(r.t) == 0 {
			continue
		}
		l.Warnings = append(l.Warnings, r.order(r.t[0] > absoluteTime, l.Path)...)
		step, repeated := r.stampStep()
		if repeated {
			r.spread(step)
		} else if n := r.dropDuplicates(); n > 0 {
			l.Warnings = append(l.Warnings, finding.New(finding.DuplicateRows, finding.Name("file", l.Path), finding.Count("rows", n)))
		}
		if step > l.StampStep {
			l.StampStep = step
		}
		fresh, held := r.freshRows()
		l.Held = l.Held || held
		if n, seconds := r.dropFrozen(held); n > 0 {
			l.Warnings = append(l.Warnings, finding.New(finding.FrozenRows, finding.Name("file", l.Path), finding.Count("rows", n), finding.Duration("lasting", seconds)))
		}
		dated = dated && !r.unsure
		for i, c := range r.cols {
			byName[c.channel] = r.channel(i, fresh[i])
		}
		for _, at := range r.t {
			origin = min(origin, at)
		}
	}
	if dated && origin > absoluteTime && !math.IsInf(origin, 1) {
		l.Created = time.UnixMicro(int64(math.Round(origin * 1e6))).UTC()
	}
	for _, c := range cols {
		ch := byName[c.channel]
		if ch == nil || len(ch.T) == 0 {
			continue
		}
		for i := range ch.T {
			ch.T[i] = math.Round((ch.T[i]-origin)*1e6) / 1e6
		}
		l.Channels = append(l.Channels, ch)
	}
	describeStamps(l)
}

// describeStamps tells the user what was done to the times.
func describeStamps(l *drive.Log) {
	if l.StampStep > 0 {
		l.Warnings = append(l.Warnings, finding.New(finding.CoarseStamps, finding.Name("file", l.Path), finding.Duration("step", l.StampStep)))
	}
	if c := l.Channel(drive.EngineSpeed); l.Held && c != nil {
		l.Warnings = append(l.Warnings, finding.New(finding.SampleAndHold, finding.Name("file", l.Path), finding.Count("fresh", c.Len()), finding.Count("rows", l.Rows)))
	}
}

// channel returns column i with its fresh rows; a nil mask takes all.
func (r *rowset) channel(i int, fresh []bool) *drive.Channel {
	c := r.cols[i]
	n := 0
	for k, v := range r.v[i] {
		if !math.IsNaN(v) && (fresh == nil || fresh[k]) {
			n++
		}
	}
	ch := &drive.Channel{Name: c.channel, Source: c.raw, T: make([]float64, 0, n), V: make([]float64, 0, n)}
	if c.conv != identity {
		ch.Unit = c.unit
	}
	for k, v := range r.v[i] {
		if math.IsNaN(v) || fresh != nil && !fresh[k] {
			continue
		}
		if m := len(ch.T); m > 0 && ch.T[m-1] == r.t[k] {
			continue // a second value for the same moment
		}
		ch.T, ch.V = append(ch.T, r.t[k]), append(ch.V, v)
	}
	return ch
}

// checkFilled refuses a log whose clock does not tell rows apart, or whose engine speed or every speed has a heading and no value.
func checkFilled(l *drive.Log, cols []column) error {
	switch first, last := l.Span(); {
	case l.Rows > 1 && first == last && len(l.Channels) > 0:
		return fmt.Errorf("%s: the time column stays the same over %d rows: name another with --time", l.Path, l.Rows)
	case l.StampStep >= 60:
		return fmt.Errorf("%s: time stamps in whole minutes tell nothing about an engine: export the log with seconds, or name another column with --time", l.Path)
	}
	speed := false
	for _, name := range []string{drive.VehicleSpeed, drive.GPSSpeed, drive.UndrivenSpeed} {
		speed = speed || l.Channel(name) != nil
	}
	for _, c := range cols {
		isSpeed := c.channel == drive.VehicleSpeed || c.channel == drive.GPSSpeed || c.channel == drive.UndrivenSpeed
		if c.channel == drive.EngineSpeed && l.Channel(c.channel) == nil || isSpeed && !speed {
			return fmt.Errorf("%s: the column %q (%s) holds no value that can be used: was it polled?", l.Path, c.raw, c.channel)
		}
	}
	return nil
}
