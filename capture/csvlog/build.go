package csvlog

import (
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/order"
	"flywitness/internal/parts"
)

// warning says of a column how many of its cells were left out.
func (b badCells) warning(code finding.Code, c column, cells int) finding.Finding {
	return finding.New(code, finding.Name("channel", c.channel), finding.Count("cells", cells), finding.Name("column", c.raw), finding.Name("first", b.first))
}

// log turns the collected rows into channels.
func (t *table) log() (*drive.Log, error) {
	l := &drive.Log{Path: t.name, Clocks: len(t.plan.clocks), Rows: t.rows, Skipped: t.skipped, Torn: t.torn, Warnings: t.plan.warnings}
	l.Warnings = append(l.Warnings, skippedWarning(t.name, t.skipped, t.torn, t.rows, t.why)...)
	if t.brokenOff {
		l.Warnings = append(l.Warnings, finding.New(finding.BrokenOff, finding.Name("file", t.name), finding.Count("rows", t.rows)))
	}
	if t.repeated > 0 {
		l.Warnings = append(l.Warnings, finding.New(finding.RepeatedHeadings, finding.Name("file", t.name), finding.Count("places", t.repeated)))
	}
	if t.below.line > 0 {
		l.Warnings = append(l.Warnings, finding.New(finding.AnotherTable, finding.Name("file", t.name), finding.Count("line", t.below.line),
			finding.Name("headings", t.below.headings)))
	}
	if t.rows == 0 {
		first := ""
		if len(t.why) > 0 {
			first = ": line " + t.why[0]
		}
		if strings.HasSuffix(first, "headings)") {
			first += "; put a heading above each column"
		}
		return nil, fmt.Errorf("%s: none of the %d rows under the headings can be read%s", t.name, t.skipped, first)
	}
	if err := t.cars.refuse(t.name); err != nil {
		return nil, err
	}
	sets := t.rowsets()
	var beside sync.WaitGroup
	beside.Go(func() { lookBack(sets) })
	err := settleReadings(l, sets)
	if beside.Wait(); err != nil {
		return nil, err
	}
	for k, r := range sets {
		if err := r.settleClock(l, &t.plan.clocks[k]); err != nil {
			return nil, err
		}
	}
	if err := t.refuseUnreadable(sets); err != nil {
		return nil, err
	}
	l.Warnings = append(l.Warnings, leftOutOf(t.plan.columns, t.bad)...)
	finish(l, sets, t.plan.columns, t.part)
	if t.part {
		return l, nil
	}
	return l, checkFilled(l, t.plan.columns)
}

// hexFew is how many cells of base 16 tell that the others are too.
const hexFew = 5

// refuseUnreadable is the error of an engine speed or a road speed most of whose cells are no numbers: what is left would pass for the drive.
func (t *table) refuseUnreadable(sets []*rowset) error {
	for i, b := range t.bad {
		c := t.plan.columns[i]
		if !c.essential() || b.unreadable == 0 {
			continue
		}
		if b.hex >= hexFew && 2*b.hex > b.unreadable {
			return fmt.Errorf("%s: %q (%s) holds numbers of base 16, the first: %s, and the others would be read as something else: export it in plain numbers", t.name, c.raw, c.channel, b.first)
		}
		for _, r := range sets {
			if k := r.column(c.channel); k >= 0 && b.unreadable > len(finite(r.v[k])) {
				return fmt.Errorf("%s: most cells of %q (%s) are no numbers, the first: %s: export the log with plain numbers, or name another column with --map", t.name, c.raw,
					c.channel, b.first)
			}
		}
	}
	return nil
}

// leftOutOf says how many cells of each column hold nothing that can be used.
func leftOutOf(columns []column, bad []badCells) (out []finding.Finding) {
	for i, b := range bad {
		c := columns[i]
		if b.unreadable > 0 {
			out = append(out, b.warning(finding.UnreadableCells, c, b.unreadable))
		}
		if b.absurd > 0 && !c.settled {
			out = append(out, b.warning(finding.AbsurdValues, c, b.absurd))
		}
		if c.marks > b.absurd && !c.settled {
			out = append(out, finding.New(finding.NoValueMarks, finding.Name("channel", c.channel), finding.Count("cells", c.marks), finding.Name("column", c.raw)))
		}
	}
	return out
}

// rowsets groups the columns by clock.
func (t *table) rowsets() []*rowset {
	var out []*rowset
	for k := range t.plan.clocks {
		r := &rowset{t: t.stamps[k], unit: t.plan.clocks[k].clock.unit, unsure: t.calendars[k].unsure}
		for i := range t.plan.columns {
			if t.plan.columns[i].clock == k {
				r.v, r.full = append(r.v, t.values[i]), append(r.full, !t.holes[i])
				r.usable = append(r.usable, t.bad[i].absurd == 0)
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

// finish orders the rows, of which it is known where their times step back, spreads coarse stamps, drops repeated values and fills l.Channels in the order of cols. Times then count
// from the first one, or where keepOrigin is set and they are no dates from where they did.
func finish(l *drive.Log, sets []*rowset, cols []column, keepOrigin bool) {
	setForward(l, sets)
	origin, dated := math.Inf(1), true
	fresh := make([][][]bool, len(sets))
	for k, r := range sets {
		if len(r.t) == 0 {
			continue
		}
		fresh[k] = r.settle(l)
		dated = dated && !r.unsure
		origin = min(origin, order.Least(r.t))
	}
	if dated && origin > absoluteTime && !math.IsInf(origin, 1) {
		l.Created = time.UnixMicro(int64(math.Round(origin * 1e6))).UTC()
	}
	if keepOrigin && l.Created.IsZero() {
		origin = 0
	}
	byName := map[string]*drive.Channel{}
	for k, r := range sets {
		if len(r.t) > 0 {
			r.channels(fresh[k], origin, byName)
		}
	}
	for _, c := range cols {
		if ch := byName[c.channel]; ch != nil && len(ch.T) > 0 {
			l.Channels = append(l.Channels, ch)
		}
	}
	describeStamps(l)
	describeDrawn(l, sets)
	describeSmoothed(l, sets)
	dropDeadSpeeds(l)
	turnedIntoMiles(l, cols)
}

// lookBack finds out where times step back.
func lookBack(sets []*rowset) {
	for _, r := range sets {
		r.back = r.stepsBack()
	}
}

// settle puts the stamps of r right, drops rows that are no measurements, and returns for each column the rows that are fresh, nil for all.
func (r *rowset) settle(l *drive.Log) (fresh [][]bool) {
	r.dropStrays(l)
	r.dropSummary(l)
	r.dropCopies(l)
	r.countOn(l)
	r.setBack(l)
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
	if !repeated {
		r.unbunch(l)
	}
	order.Sort(r.t) // rows stand as they arrived: a small step back is jitter of its stamps
	r.dropSpikes(l)
	if !r.unmean() {
		r.unsmooth()
	}
	fresh, held := r.freshRows()
	l.Held = l.Held || held
	if n, seconds := r.dropFrozen(held); n > 0 {
		l.Warnings = append(l.Warnings, finding.New(finding.FrozenRows, finding.Name("file", l.Path), finding.Count("rows", n), finding.Duration("lasting", seconds)))
	}
	if held {
		return fresh
	}
	if n, seconds := r.dropFilled(); n > 0 {
		l.Warnings = append(l.Warnings, finding.New(finding.FilledGaps, finding.Name("file", l.Path), finding.Count("rows", n), finding.Duration("lasting", seconds)))
	}
	r.replies(fresh)
	return fresh
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

// channels makes a channel of each column, with times that count from origin in whole microseconds. Columns that have a value in every row share
// one slice of times, and take no more memory than they had.
func (r *rowset) channels(fresh [][]bool, origin float64, byName map[string]*drive.Channel) {
	again := repeated(r.t)
	var full []*drive.Channel
	var all sync.WaitGroup
	for i, c := range r.cols {
		ch := &drive.Channel{Name: c.channel, Source: c.raw}
		if c.conv != identity {
			ch.Unit = c.unit
		}
		byName[c.channel] = ch
		switch {
		case fresh[i] == nil && r.whole(i):
			full = append(full, ch)
			all.Go(func() { ch.V = without(r.v[i], again) })
			continue
		case fresh[i] == nil:
			ch.T, ch.V = r.samples(i)
		default:
			ch.T, ch.V = r.values(i, fresh[i])
		}
		all.Go(func() {
			again := repeated(ch.T)
			ch.T, ch.V = without(ch.T, again), without(ch.V, again)
			countFrom(origin, ch.T)
		})
	}
	if len(full) > 0 {
		r.t = without(r.t, again)
		countFrom(origin, r.t)
	}
	for _, ch := range full {
		ch.T = r.t
	}
	all.Wait()
}

// repeated returns the rows that have the time of the one before: they hold a second value for the same moment.
func repeated(t []float64) []int {
	each := make([][]int, len(t)/parts.Long+1)
	parts.Each(len(t), parts.Long, func(lo, hi int) {
		var rows []int
		for i := max(1, lo); i < hi; i++ {
			if t[i] == t[i-1] {
				rows = append(rows, i)
			}
		}
		each[lo/parts.Long] = rows
	})
	return slices.Concat(each...)
}

// without takes rows out of v, whose memory it uses again.
func without(v []float64, rows []int) []float64 {
	if len(rows) == 0 {
		return v
	}
	n := rows[0]
	for i, k := range rows {
		end := len(v)
		if i+1 < len(rows) {
			end = rows[i+1]
		}
		n += copy(v[n:], v[k+1:end])
	}
	return v[:n]
}

// whole tells whether column i has a value in every row.
func (r *rowset) whole(i int) bool { return r.full != nil && r.full[i] || !order.HasNaN(r.v[i]) }

// samples returns the times and values of column i, those of the rows where it has one. They are made once and
// not changed.
func (r *rowset) samples(i int) (t, v []float64) {
	if r.whole(i) {
		return r.t, r.v[i]
	}
	if r.dense == nil {
		r.dense = make([]samples, len(r.v))
	}
	d := &r.dense[i]
	if d.v == nil {
		d.t, d.v = r.values(i, nil)
	}
	return d.t, d.v
}

// values returns the times and values of column i in its fresh rows; a nil mask takes all.
func (r *rowset) values(i int, fresh []bool) (t, v []float64) {
	cores := runtime.GOMAXPROCS(0)
	size := max(1, (len(r.t)+cores-1)/cores)
	ends := make([]int, cores+1)
	parts.Each(len(r.t), size, func(lo, hi int) { ends[lo/size+1] = r.count(i, fresh, lo, hi) })
	for part := range cores {
		ends[part+1] += ends[part]
	}
	n := ends[cores]
	t, v = order.Grow(r.spare[:0], n)[:n], order.Grow(nil, n)[:n]
	r.spare = nil
	parts.Each(len(r.t), size, func(lo, hi int) {
		n := ends[lo/size]
		for k := lo; k < hi; k++ {
			if x := r.v[i][k]; x == x && (fresh == nil || fresh[k]) {
				t[n], v[n] = r.t[k], x
				n++
			}
		}
	})
	return t, v
}

// count counts the values of column i in its fresh rows from lo up to hi; a nil mask counts all.
func (r *rowset) count(i int, fresh []bool, lo, hi int) (n int) {
	if fresh == nil && r.full != nil && r.full[i] {
		return hi - lo
	}
	for k, x := range r.v[i][lo:hi] {
		if x == x && (fresh == nil || fresh[lo+k]) { // a NaN is not itself
			n++
		}
	}
	return n
}

// countFrom makes times count from origin, in whole microseconds.
func countFrom(origin float64, t []float64) {
	parts.Each(len(t), parts.Long, func(lo, hi int) {
		for i, x := range t[lo:hi] {
			t[lo+i] = math.Round((x-origin)*1e6) / 1e6
		}
	})
}

// checkFilled refuses a log whose clock does not tell rows apart, or whose engine speed or every speed has a heading and no value.
func checkFilled(l *drive.Log, cols []column) error {
	hung := func(w finding.Finding) bool { return w.Code == finding.FrozenRows }
	switch {
	case len(l.Channels) > 0 && stands(l) && slices.ContainsFunc(l.Warnings, hung):
		return fmt.Errorf("%s: no value changes over %d rows although the car moves: the link had hung; leave this log out", l.Path, l.Rows)
	case l.Rows > 1 && len(l.Channels) > 0 && stands(l):
		return fmt.Errorf("%s: the time column stays the same over %d rows: name another with --time", l.Path, l.Rows)
	case l.StampStep == 1 && rowsASecond(l) > mostASecond:
		return fmt.Errorf("%s: %.0f rows a second by the time column: are its times hours and minutes? export the log with seconds, or name another column with --time", l.Path, rowsASecond(l))
	case l.StampStep >= 60:
		return fmt.Errorf("%s: time stamps in whole minutes tell nothing about an engine: export the log with seconds, or name another column with --time", l.Path)
	}
	if err := checkUnit(l, cols); err != nil {
		return err
	}
	speed := slices.ContainsFunc(l.Channels, func(c *drive.Channel) bool { return drive.IsRoadSpeed(c.Name) })
	for _, c := range cols {
		if c.channel == drive.EngineSpeed && l.Channel(c.channel) == nil || drive.IsRoadSpeed(c.channel) && !speed {
			return fmt.Errorf("%s: the column %q (%s) holds no value that can be used%s: was it polled?", l.Path, c.raw, c.channel, leftOut(l, c))
		}
	}
	return nil
}

// mostASecond is how many rows a second a log that was stamped in whole seconds has at most.
const mostASecond = 250.0

func rowsASecond(l *drive.Log) float64 {
	first, last := l.Span()
	return float64(l.Rows) / max(1, last-first)
}

// stands tells whether all times of a log are the same.
func stands(l *drive.Log) bool {
	first := l.Channels[0].T[0]
	return !slices.ContainsFunc(l.Channels, func(c *drive.Channel) bool {
		return slices.ContainsFunc(c.T, func(t float64) bool { return t != first })
	})
}

// neverRuns is an engine speed, rpm, below which no engine moves a car: its column has another unit.
const neverRuns = 150

// checkUnit refuses an engine speed whose unit nobody gave and that is no engine's while the car moves.
func checkUnit(l *drive.Log, cols []column) error {
	engine := l.Channel(drive.EngineSpeed)
	i := slices.IndexFunc(cols, func(c column) bool { return c.channel == drive.EngineSpeed })
	if engine == nil || i < 0 || cols[i].unit != "" {
		return nil
	}
	moves := slices.ContainsFunc(l.Channels, func(c *drive.Channel) bool { return drive.IsRoadSpeed(c.Name) && slices.Max(c.V) > 0 })
	if !moves || slices.Max(engine.V) == 0 || slices.Max(engine.V) >= neverRuns {
		return nil
	}
	return fmt.Errorf("%s: %q is at most %g while the car moves, which is no engine speed in rpm: give its unit, such as --map \"%s=%s:x1000 rpm\"", l.Path, cols[i].raw,
		slices.Max(engine.V), drive.EngineSpeed, cols[i].raw)
}

// leftOut shows the first cell of a column that was left out, "" where none was.
func leftOut(l *drive.Log, c column) string {
	for _, w := range l.Warnings {
		channel, _ := w.Value("channel")
		if first, ok := w.Value("first"); ok && channel.Text() == c.channel {
			return " (" + first.Text() + ")"
		}
	}
	return ""
}
