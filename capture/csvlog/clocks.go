package csvlog

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"sort"
	"strconv"
	"strings"

	"flywitness/finding"
)

// chooseClocks finds the time column, or the one beside each channel, and how its cells are read. sample holds the first cells of every column.
func (p *plan) chooseClocks(d *dialect, sample [][]string, opt Options, name string) error {
	taken := map[int]bool{}
	for _, c := range p.columns {
		taken[c.index] = true
	}
	if opt.Rate > 0 {
		return p.countLines(d, opt, name)
	}
	if opt.Time != "" {
		h, unit, err := findHeading("--time", opt.Time, d.headings, name)
		if err != nil {
			return err
		}
		return p.addClock(h, -1, unit, d, sample, name)
	}
	parts := partsBeside(d.headings, sample, d.comma)
	if split := splitClock(d.headings, sample, d.comma); split != nil {
		p.addSplit(split, parts, d)
		return nil
	}
	var cands []timeCandidate
	for _, h := range d.headings {
		if r := h.timeRank(); r > 0 && !taken[h.index] && h.index != parts.index {
			cands = append(cands, timeCandidate{heading: h, rank: r, distinct: advancing(sample[h.index])})
		}
	}
	if pairs := p.pairs(cands, d); pairs != nil {
		for i, h := range pairs {
			if err := p.addClock(h, -1, "", d, sample, name); err != nil {
				return err
			}
			p.columns[i].clock = i
		}
		return nil
	}
	if len(cands) == 0 {
		for _, h := range d.headings {
			if h.misspeltTime() && !taken[h.index] {
				p.warn(finding.AssumedTime, name, finding.Name("column", h.raw))
				cands = append(cands, timeCandidate{heading: h, rank: 1, distinct: advancing(sample[h.index])})
			}
		}
	}
	if len(cands) == 0 {
		cands = p.byUnit(d, sample, taken, name)
	}
	if len(cands) == 0 {
		cands = p.epochs(d, sample, taken, name)
	}
	if len(cands) == 0 {
		cands = p.unnamed(d, sample, name)
	}
	if len(cands) == 0 {
		return fmt.Errorf("%s: no time column among %s: name it with --time \"Heading:s\", or say how many rows a second there are with %s", name,
			quoteList(rawNames(d.headings)), d.withRate())
	}
	best := finest(cands)
	if err := p.addClock(best.heading, dateBeside(best.heading, d, sample), "", d, sample, name); err != nil {
		return err
	}
	if c := &p.clocks[0]; parts.index >= 0 && (c.clock.unit == 0 || c.clock.unit == 1) && wholeSeconds(sample[c.index], d.comma) {
		c.also = []addend{parts}
	}
	p.compareClocks(cands, d, sample, name)
	return nil
}

// countLines makes the clock of a table whose rows come at an even pace.
func (p *plan) countLines(d *dialect, opt Options, name string) error {
	if opt.Time != "" {
		return fmt.Errorf("--time and --rate: a table has a time column or its rows are counted, not both")
	}
	for _, h := range d.headings {
		if h.timeRank() > 0 {
			p.warn(finding.TimeNotUsed, name, finding.Name("column", h.raw), finding.Number("rate", opt.Rate))
			break
		}
	}
	p.clocks = append(p.clocks, timeColumn{index: -1, date: -1, clock: clock{scale: scale{unit: 1}, rate: opt.Rate}})
	return nil
}

// byUnit returns the one column that has a unit of time and rises all the way, whatever its heading is.
func (p *plan) byUnit(d *dialect, sample [][]string, taken map[int]bool, name string) (cands []timeCandidate) {
	for _, h := range d.headings {
		other := slices.ContainsFunc(h.words, func(w string) bool { return notTime[w] })
		if !taken[h.index] && !other && h.bracket && h.timeUnit() > 0 && rises(sample[h.index], d.comma) {
			cands = append(cands, timeCandidate{heading: h, rank: 1, distinct: advancing(sample[h.index])})
		}
	}
	if len(cands) != 1 {
		return nil
	}
	p.warn(finding.AssumedTime, name, finding.Name("column", cands[0].raw))
	return cands
}

// rises tells whether numbers never fall and mostly rise.
func rises(cells []string, comma bool) bool {
	last, up, n := math.Inf(-1), 0, 0
	for _, s := range cells {
		v, ok := parseCell([]byte(s), comma)
		if !ok {
			continue
		}
		if v < last {
			return false
		}
		if v > last {
			up++
		}
		last = v
		n++
	}
	return n > 1 && 2*up > n
}

// epochs returns the column that holds times since 1970 whatever its heading is: so large and rising numbers are nothing else.
func (p *plan) epochs(d *dialect, sample [][]string, taken map[int]bool, name string) []timeCandidate {
	for _, h := range d.headings {
		if !taken[h.index] && risingEpochs(sample[h.index], d.comma) {
			p.warn(finding.AssumedTime, name, finding.Name("column", h.raw), finding.Flag("epoch", true))
			return []timeCandidate{{heading: h, rank: 1, distinct: advancing(sample[h.index])}}
		}
	}
	return nil
}

// unnamed returns the first column where it has no heading and holds times, as data tools write them. Whole numbers there count rows.
func (p *plan) unnamed(d *dialect, sample [][]string, name string) []timeCandidate {
	h := d.headings[0]
	if h.raw != "" || advancing(sample[0]) < len(sample[0])/2 || wholeSeconds(sample[0], d.comma) && !strings.Contains(sample[0][0], ":") {
		return nil
	}
	h.raw = "#1"
	p.warn(finding.AssumedTime, name, finding.Name("column", h.raw))
	return []timeCandidate{{heading: h, rank: 1, distinct: advancing(sample[0])}}
}

// risingEpochs tells whether cells are times since 1970 in s, ms, us or ns: between the years 2000 and 2100, and never falling.
func risingEpochs(cells []string, comma bool) bool {
	last, n := 0.0, 0
	for _, s := range cells {
		if isNothing([]byte(s)) {
			continue
		}
		v, ok := parseCell([]byte(s), comma)
		_, dated := epochOf(v)
		if !ok || !dated || v < last {
			return false
		}
		last = v
		n++
	}
	return n > 1
}

// roundedBySpreadsheet returns a cell such as 1.52E+12, if most cells are so: written with so few digits that they lie seconds apart.
func roundedBySpreadsheet(cells []string, unit float64) (cell string, ok bool) {
	rounded := 0
	for _, s := range cells {
		mantissa, exponent, found := strings.Cut(strings.ToUpper(s), "E+")
		power, err := strconv.Atoi(exponent)
		if !found || err != nil {
			continue
		}
		_, decimals, _ := strings.Cut(strings.Replace(mantissa, ",", ".", 1), ".")
		if unit*math.Pow10(power-len(decimals)) >= 1 {
			rounded++
			cell = s
		}
	}
	return cell, rounded*2 > len(cells)
}

// timeCandidate is a heading that may be the clock; distinct counts its different cells in the sample, 0 when they are no times.
type timeCandidate struct {
	heading
	rank, distinct int
}

// finest returns the best named candidate, unless another one tells much finer times.
func finest(cands []timeCandidate) timeCandidate {
	sort.SliceStable(cands, func(i, j int) bool { return cands[i].rank < cands[j].rank })
	best := cands[0]
	for _, c := range cands[1:] {
		if c.distinct > best.distinct+best.distinct/2 {
			best = c
		}
	}
	return best
}

// advancing counts the different times in cells, 0 when most of them cannot be read.
func advancing(cells []string) int {
	seen := map[string]bool{}
	filled, bad := 0, 0
	for _, s := range cells {
		if s == "" {
			continue
		}
		filled++
		if !looksLikeTime(s) {
			bad++
		}
		seen[s] = true
	}
	if bad*2 > filled {
		return 0
	}
	return len(seen)
}

func looksLikeTime(s string) bool {
	if _, ok := parseOddCell([]byte(s), true); ok {
		return true
	}
	_, _, ok := layout(nil).time([]byte(s))
	return ok
}

// pairs returns for each column the time column that stands directly beside it, nil when the table is not laid out so.
func (p *plan) pairs(cands []timeCandidate, d *dialect) []heading {
	if len(p.columns) < 2 {
		return nil
	}
	at := map[int]bool{}
	for _, c := range cands {
		at[c.index] = true
	}
	for _, side := range []int{-1, 1} {
		var out []heading
		for _, c := range p.columns {
			if i := c.index + side; at[i] || i >= 0 && i < len(d.headings) && d.headings[i].isClockOf(d.headings[c.index], lexiconOf(c.channel)) {
				out = append(out, d.headings[i])
			}
		}
		if len(out) == len(p.columns) {
			return out
		}
	}
	return nil
}

var dateWords = wordSet("date datum fecha data")

// dateBeside returns the column of dates that belongs to a column of clock times, -1 when there is none.
func dateBeside(h heading, d *dialect, sample [][]string) int {
	for _, s := range sample[h.index] {
		if s == "" {
			continue
		}
		if _, on, ok := layout(nil).time([]byte(s)); !ok || on.n != 0 {
			return -1
		}
		break
	}
	for _, o := range d.headings {
		named := slices.ContainsFunc(o.words, func(w string) bool { return dateWords[w] })
		if o.index == h.index || len(o.words) > 2 || !named {
			continue
		}
		if firstDate(sample[o.index]) != nil {
			return o.index
		}
	}
	return -1
}

// firstDate is the layout of the first cell that holds something, nil where that is no date.
func firstDate(cells []string) layout {
	for _, s := range cells {
		if s == "" {
			continue
		}
		if _, ok := layout(nil).date([]byte(s)); ok {
			return dateLayoutOf([]byte(s))
		}
		break
	}
	return nil
}

// afterEpochs is more than any time since 1970 in milliseconds, and 20260509094103 is more still. Microseconds have other numbers of digits than
// dates that are written as one number.
const afterEpochs = 1e13

// addClock adds the time column h and learns from its first cells how to read them. unit is what the user said, "" for what the log says.
func (p *plan) addClock(h heading, date int, unit string, d *dialect, sample [][]string, name string) error {
	c := timeColumn{index: h.index, date: date, raw: h.raw, clock: clock{comma: d.comma}}
	if date >= 0 {
		c.clock.dates = firstDate(sample[date])
	}
	numbers, texts, hex, shown := []float64(nil), 0, 0, ""
	for _, s := range sample[h.index] {
		if isNothing([]byte(s)) {
			continue
		}
		v, number := parseCell([]byte(s), d.comma)
		_, _, text := c.clock.written.time([]byte(s))
		switch {
		case text && !(number && v < afterEpochs):
			texts++
			c.clock.written = layoutOf([]byte(s))
		case number:
			numbers = append(numbers, v)
		case shown == "":
			shown = s
		}
		if !text && !number && isHexTime(s) {
			hex++
		}
	}
	switch {
	case hex >= hexFew && texts == 0:
		return fmt.Errorf("%s: the time column %q holds numbers of base 16 (%.30q), and the others would be read as something else: export it in plain numbers, or name another with --time",
			name, h.raw, shown)
	case len(numbers) == 0 && texts == 0:
		return fmt.Errorf("%s: the time column %q holds no time (%.30q): name another with --time, or say how many rows a second there are with %s", name, h.raw, shown, d.withRate())
	case texts > len(numbers) && countsFrames(sample[h.index]):
		return fmt.Errorf("%s: the times in %q count pictures behind their seconds (%.30q): export them with decimals of a second, or name another with --time", name, h.raw, sample[h.index][0])
	case texts > len(numbers):
		if _, ok := timeUnit(unit); unit != "" && !ok {
			return unknownTimeUnit(unit)
		}
		if n := unpadded(sample[h.index]); n > 0 {
			c.clock.written = c.clock.written.counts(n)
		}
		p.clocks = append(p.clocks, c)
		return nil
	}
	c.clock.written, c.clock.count = nil, unpadded(sample[h.index])
	var ok bool
	switch {
	case unit != "":
		if c.clock.unit, ok = timeUnit(unit); !ok {
			return unknownTimeUnit(unit)
		}
	case h.timeUnit() > 0:
		c.clock.unit = h.timeUnit()
	default:
		var step float64
		_, dated := epochOf(numbers[0])
		c.assumed = !dated
		if c.clock.scale, step = guessScale(numbers); step > 0 {
			p.warn(finding.AssumedTimeUnit, name, finding.Name("column", h.raw), finding.Flag("days", c.clock.unit > 1),
				finding.Flag("micro", c.clock.unit == 1e-6), finding.Flag("nano", c.clock.unit == 1e-9), finding.Number("step", step))
		}
	}
	if c.clock.unit == spreadsheet.unit {
		c.clock.scale = daysFrom(numbers[0])
	}
	if cell, ok := roundedBySpreadsheet(sample[h.index], c.clock.unit); ok {
		return fmt.Errorf("%s: the times in %q are rounded to %s, as a spreadsheet does when it saves a table: export the log again without opening it there", name, h.raw, cell)
	}
	p.clocks = append(p.clocks, c)
	return nil
}

// framesShape is a clock time with two digits behind another colon.
var framesShape = regexp.MustCompile(`\d:\d\d:\d\d[:;](\d\d)$`)

const (
	framesMost = 30 // pictures a second
	framesFew  = 50 // stamps that tell: as hundredths, so many would not all be so small
)

// countsFrames tells whether clock times count the pictures of a film behind their seconds.
func countsFrames(cells []string) bool {
	n := 0
	seen := map[string]bool{}
	for _, s := range cells {
		if s == "" {
			continue
		}
		m := framesShape.FindStringSubmatch(s)
		if m == nil || m[1] >= strconv.Itoa(framesMost) {
			return false
		}
		seen[m[1]] = true
		n++
	}
	return n >= framesFew && len(seen) >= 5
}

func unknownTimeUnit(unit string) error {
	return fmt.Errorf("--time: %q is no unit of time: use s, ms, us, min, h or day", unit)
}

// timeUnit returns the unit that the heading of a time column says, in seconds; 0 when it says none.
func (h heading) timeUnit() float64 {
	if h.bracket {
		u, _ := timeUnit(h.unit)
		return u
	}
	words := h.words
	if n := len(words); n > 2 && words[n-2] == "of" { // "seconds of day"
		words = words[:n-2]
	}
	if len(words) == 0 {
		return 0
	}
	switch w := words[len(words)-1]; w {
	case "t":
	case "millis":
		return 1e-3
	default:
		u, _ := timeUnit(w)
		return u
	}
	return 0
}
