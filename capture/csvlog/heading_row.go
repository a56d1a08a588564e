package csvlog

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"
)

// noHeadingsError is that of a table without headings. The user may name the columns by number.
type noHeadingsError struct{ message string }

func (e *noHeadingsError) Error() string { return e.message }

// nameByNumber heads the columns of a table without headings "#1", "#2" and so on.
func (d *dialect) nameByNumber(head []textLine) {
	d.header = -1
	for i := range splitCells(nil, head[d.data].text, d.delim) {
		d.headings = append(d.headings, parseHeading(i, fmt.Sprintf("#%d", i+1), ""))
	}
}

// findHeadings finds the heading row above the first row of values: the row that names most quantities, else the last one that is no row of units.
func (d *dialect) findHeadings(head []textLine, name string) error {
	best, bestScore := -1, 0
	lastUnits := -1
	var cells [][]byte
	for i := d.data - 1; i >= 0; i-- {
		cells = splitCells(cells[:0], head[i].text, d.delim)
		if len(cells) < 2 {
			continue
		}
		score := 1 + namedIn(cells)
		if unitsRow(cells) {
			score = 0
			if lastUnits < 0 && best < 0 {
				lastUnits = i
			}
		}
		if score > bestScore {
			best, bestScore = i, score
		}
	}
	if best < 0 && lastUnits >= 0 { // "s,rpm,km/h" alone is a heading row
		best, lastUnits = lastUnits, -1
	}
	if best < 0 && d.headingsBelow(head) {
		return nil
	}
	if best < 0 && transposed(head, d.delim) {
		return fmt.Errorf("%s: the channels stand in rows and time runs across: turn rows into columns (transpose) in a spreadsheet and save that as CSV", name)
	}
	if best < 0 && d.otherDelimiter(head) != 0 {
		return fmt.Errorf("%s: headings end at %q and values at %q: put the same sign between both", name, d.otherDelimiter(head), d.delim)
	}
	if best < 0 {
		return &noHeadingsError{fmt.Sprintf("%s:%d: no heading row above the first row of numbers: put one there that names the columns, such as \"Time (s),Engine RPM,Speed (km/h)\", "+
			"or name them by number, such as --time \"#1:s\" --map \"engine_speed_rpm=#2\" --map \"vehicle_speed_kmh=#3:km/h\"", name, head[d.data].number)}
	}
	d.header = best
	if lastUnits > best {
		d.units = lastUnits
	}
	d.rate = rateSaid(head[:best])
	d.joinRows(head)
	d.readHeadings(head)
	return nil
}

// rateShape is how many rows a second there are, as people write it.
var rateShape = regexp.MustCompile(`(?i)\b([0-9]+(?:[.,][0-9]+)?) ?(?:hz|samples/s|samples per second)\b`)

// rateSaid returns how many rows a second the lines above the headings speak of, 0 where they speak of none.
func rateSaid(above []textLine) float64 {
	for _, l := range above {
		if m := rateShape.FindSubmatch(l.text); m != nil {
			if v, ok := parseOddCell(m[1], false); ok && IsRate(v) {
				return v
			}
		}
	}
	return 0
}

// withRate is the option that says how many rows a second there are.
func (d *dialect) withRate() string {
	rate := d.rate
	if rate == 0 {
		rate = 20 // an example
	}
	return "--rate " + plain(rate)
}

// joinRows takes the headings from two rows, one above the other, where together they name more than either: "Engine" and "Vehicle" above "speed" and "speed". A word above
// stands for all cells up to the next one, as merged cells are written.
func (d *dialect) joinRows(head []textLine) {
	own := splitCells(nil, head[d.header].text, d.delim)
	for _, at := range []int{d.header - 1, d.header + 1} {
		if at < 0 || at >= d.data || at == d.units {
			continue
		}
		other := splitCells(nil, head[at].text, d.delim)
		upper, lower := other, own
		if at > d.header {
			upper, lower = own, other
		}
		if len(other) < 2 || looksLikeData(other) || unitsRow(other) {
			continue
		}
		if joined := oneAboveTheOther(upper, lower); channelsIn(joined) > max(channelsIn(upper), channelsIn(lower)) {
			d.joined, d.header = joined, max(at, d.header)
			return
		}
	}
}

// oneAboveTheOther puts the cells of two rows together.
func oneAboveTheOther(upper, lower [][]byte) [][]byte {
	var out [][]byte
	var above []byte
	for i := range max(len(upper), len(lower)) {
		var below []byte
		if i < len(upper) && len(upper[i]) > 0 {
			above = upper[i]
		}
		if i < len(lower) {
			below = lower[i]
		}
		if len(below) == 0 && (i >= len(upper) || len(upper[i]) == 0) {
			out = append(out, nil)
			continue
		}
		out = append(out, bytes.TrimSpace(slices.Concat(above, []byte(" "), below)))
	}
	return out
}

// channelsIn counts the channels that cells name, and the clock.
func channelsIn(cells [][]byte) int {
	named := map[string]bool{}
	for i, c := range cells {
		h := parseHeading(i, utf8Text(c), "")
		if h.isClock() {
			named["time"] = true
		}
		for _, q := range lexicons {
			if r, _, _ := h.match(q); r > second {
				named[q.channel] = true
			}
		}
	}
	return len(named)
}

// unitsJoined puts units that were cut off their headings back in brackets behind them: "Speed, km/h" without quotes makes two cells. What is left must
// be as many headings as there are values.
func unitsJoined(names [][]byte, values int) [][]byte {
	var out [][]byte
	for i, c := range names {
		if i > 0 && isUnit(utf8Text(c)) {
			out[len(out)-1] = fmt.Appendf(nil, "%s (%s)", out[len(out)-1], c)
		} else {
			out = append(out, c)
		}
	}
	if len(names) <= values || len(out) != values {
		return names
	}
	return out
}

// namedIn counts the cells that name a quantity or a clock.
func namedIn(cells [][]byte) (n int) {
	for i, c := range cells {
		h := parseHeading(i, utf8Text(c), "")
		if h.timeRank() > 0 {
			n++
		}
		if slices.ContainsFunc(lexicons, func(q *lexicon) bool { r, _, _ := h.match(q); return r > second }) {
			n++
		}
	}
	return n
}

// tableAbove is how many rows of values stand above the headings, at least, that are a table of their own and no preamble.
const tableAbove = 10

// rowsAbove counts the rows of nothing but values above the headings.
func (d *dialect) rowsAbove(head []textLine) (n int) {
	var cells [][]byte
	for _, l := range head[:max(0, d.header)] {
		cells = splitCells(cells[:0], l.text, d.delim)
		if len(cells) > 1 && !slices.ContainsFunc(cells, func(c []byte) bool { return len(c) > 0 && !looksLikeValue(c) }) {
			n++
		}
	}
	return n
}

// headingsBelow finds the headings below rows that look like values: a preamble of numbers. They name a clock or a quantity in two cells.
func (d *dialect) headingsBelow(head []textLine) bool {
	var cells [][]byte
	for i := d.data + 1; i < len(head); i++ {
		cells = splitCells(cells[:0], head[i].text, d.delim)
		if looksLikeData(cells) || namedIn(cells) < 2 {
			continue
		}
		if below, _ := try(head[i:], d.delim); below != nil && below.data > 0 {
			d.data = i + below.data
			return d.findHeadings(head, "") == nil
		}
	}
	return false
}

// otherDelimiter returns the sign at which the headings above the first row of values end, where that is not the one of the values; else 0.
func (d *dialect) otherDelimiter(head []textLine) byte {
	if d.data == 0 {
		return 0
	}
	for _, delim := range []byte("\t;|,") {
		if delim != d.delim && namedIn(splitCells(nil, head[d.data-1].text, delim)) > 1 {
			return delim
		}
	}
	return 0
}

// transposed tells whether rows, not columns, begin with the names of quantities, and go on with values.
func transposed(head []textLine, delim byte) bool {
	names := 0
	var cells [][]byte
	for _, l := range head {
		cells = splitCells(cells[:0], l.text, delim)
		if len(cells) > 2 && looksLikeData(cells[1:]) && namedIn(cells[:1]) > 0 {
			names++
		}
	}
	return names >= 2
}

func (d *dialect) readHeadings(head []textLine) {
	names := d.joined
	if names == nil {
		names = splitCells(nil, head[d.header].text, d.delim)
	}
	if d.delim == ' ' && len(names) > 1 && !bytes.ContainsFunc(names[0], func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }) {
		names = names[1:] // the mark of a comment
	}
	names = unitsJoined(names, len(splitCells(nil, head[d.data].text, d.delim)))
	var units [][]byte
	if d.units >= 0 {
		units = splitCells(nil, head[d.units].text, d.delim)
	}
	for i, c := range names {
		unit := ""
		if i < len(units) {
			unit = utf8Text(units[i])
		}
		d.headings = append(d.headings, parseHeading(i, utf8Text(c), unit))
	}
}

// unitsInCells takes the unit of a column from cells such as "62 mph", or from the column of units behind it, where the heading has none.
func (d *dialect) unitsInCells(sample [][]string) {
	for i := range d.headings {
		h := &d.headings[i]
		if h.unit != "" {
			continue
		}
		h.unit = unitOfCells(sample[i])
		if i+1 < len(d.headings) && h.unit == "" && d.headings[i+1].isOnly(unitWords) {
			h.unit = onlyUnit(sample[i+1])
		}
		h.bracket = h.unit != ""
	}
}

// unitWords head a column of units.
var unitWords = wordSet("unit units einheit unite unidad unita eenheid jednostka")

// onlyUnit is the unit that all cells hold, "" where they do not hold one and the same.
func onlyUnit(cells []string) string {
	if len(cells) == 0 || !isUnit(cells[0]) || slices.ContainsFunc(cells, func(s string) bool { return s != cells[0] }) {
		return ""
	}
	return cells[0]
}

// unitOfCells returns the unit that stands behind the number in all cells that hold one, "" when there is none.
func unitOfCells(cells []string) (unit string) {
	for _, s := range cells {
		if isNothing([]byte(s)) {
			continue
		}
		if _, ok := parseOddCell([]byte(s), strings.Contains(s, ",")); !ok {
			return ""
		}
		tail := tailOf(s)
		if tail == "" || unit != "" && tail != unit || !isUnit(tail) {
			return ""
		}
		unit = tail
	}
	return unit
}

// tailOf returns what stands behind the number in a cell.
func tailOf(cell string) string { return strings.TrimSpace(strings.TrimLeft(cell, "+-0123456789.,' ")) }

// unitsRow tells whether most cells that hold something are units.
func unitsRow(cells [][]byte) bool {
	units, other := 0, 0
	for _, c := range cells {
		switch {
		case len(c) == 0:
		case isUnit(utf8Text(c)):
			units++
		default:
			other++
		}
	}
	return units >= 2 && units > 2*other || units == 1 && other == 0
}
