package csvlog

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// mostColumns is more than any logger writes; their headings are looked up one by one.
const mostColumns = 60_000

// headLines is how many lines are looked at to learn the dialect.
const headLines = 400

// dialect is how a table is written.
type dialect struct {
	delim    byte
	comma    bool // decimal comma
	header   int  // index in the head of the heading row
	units    int  // of the row of units, -1 without one
	data     int  // of the first row of values
	headings []heading
}

// detect learns the dialect from the first lines. Delimiters that can hardly stand inside a number come first, so that a decimal comma
// is not taken for one.
func detect(head []textLine, name string, opt Options) (*dialect, error) {
	forced := separatorLine(head)
	var best *dialect
	bestShare := 0.0
	for _, delim := range []byte{'\t', ';', '|', ','} {
		if forced != 0 && delim != forced {
			continue
		}
		d, share := try(head, delim)
		if d != nil && share > bestShare+0.2 {
			best, bestShare = d, share
		}
	}
	if best == nil {
		best, _ = try(head, ' ')
	}
	if best != nil && best.delim == '\t' && beforeTabs(head[best.data].text) {
		best, _ = try(head, ',')
	}
	if best == nil {
		if long := longOfWords(head, name, opt); long != nil {
			return long, nil
		}
		return nil, &NoTableError{noTable(head, name)}
	}
	if n := len(splitCells(nil, head[best.data].text, best.delim)); n > mostColumns {
		return nil, fmt.Errorf("%s:%d: %d columns: no log has so many; export those of engine speed, road speed and the time", name, head[best.data].number, n)
	}
	best.comma = decimalComma(head[best.data:], best.delim)
	if err := best.findHeadings(head, name); err != nil {
		if blank := blankTable(head, best, name); blank != nil {
			return blank, nil
		}
		if _, none := err.(*noHeadingsError); !none || len(opt.Map) == 0 {
			return nil, err
		}
		best.nameByNumber(head)
	}
	best.fromTheFirst(head)
	return best, nil
}

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

// fromTheFirst moves the first row of values up over rows of nothing but values that are of another width: they are read, or counted as left out.
func (d *dialect) fromTheFirst(head []textLine) {
	var cells [][]byte
	for d.data-1 > max(d.header, d.units) {
		cells = splitCells(cells[:0], head[d.data-1].text, d.delim)
		if slices.ContainsFunc(cells, func(c []byte) bool { return len(c) > 0 && !looksLikeValue(c) }) {
			return
		}
		d.data--
	}
}

// blankTable is the dialect of columns below each other whose decimal commas were taken for delimiters, nil where it is none.
func blankTable(head []textLine, d *dialect, name string) *dialect {
	if d.delim != ',' {
		return nil
	}
	blank, _ := try(head, ' ')
	if blank == nil {
		return nil
	}
	blank.comma = decimalComma(head[blank.data:], blank.delim)
	if !blank.comma || blank.findHeadings(head, name) != nil {
		return nil
	}
	return blank
}

// NoTableError is that of a text without a table. Beside a log it may be a note.
type NoTableError struct{ message string }

func (e *NoTableError) Error() string { return e.message }

// rareDelimiters end the cells of tables that nobody should have to guess at.
const rareDelimiters = "^~:/#"

// noTable says what a text is that holds no table, and what to do.
func noTable(head []textLine, name string) string {
	if kind := markup(head); kind != "" {
		return fmt.Sprintf("%s is %s, not a table: export the log as CSV", name, kind)
	}
	written := 0
	for _, l := range head {
		if len(trim(l.text)) > 0 {
			written++
		}
	}
	if written < 3 {
		return name + " holds no row of numbers: nothing was logged, or the file was not copied in full"
	}
	if quotedRows(head) {
		return name + ": each row stands in quotes as one cell: export the log again, or take the quotes off"
	}
	for _, delim := range []byte(rareDelimiters) {
		if d, _ := try(head, delim); d != nil && d.data > 0 {
			return fmt.Sprintf("%s: its cells seem to end at %q: export the log with commas, semicolons or tabs between them", name, delim)
		}
	}
	return name + ": no table found: a log has a row of headings and rows of numbers, separated by comma, semicolon, tab, | or blanks"
}

// beforeTabs tells whether a comma stands before each tab.
func beforeTabs(line []byte) bool {
	return bytes.Count(line, []byte(",\t")) == bytes.Count(line, []byte("\t"))
}

// quotedRows tells whether whole rows stand in quotes.
func quotedRows(head []textLine) bool {
	n := 0
	for _, l := range head {
		if t := trim(l.text); len(t) > 2 && t[0] == '"' && bytes.IndexByte(t[1:], '"') == len(t)-2 {
			n++
		}
	}
	return n > len(head)/2
}

// separatorLine returns the delimiter of a first line "sep=;", as spreadsheets write it.
func separatorLine(head []textLine) byte {
	if len(head) > 0 {
		if t := strings.ToLower(string(bytes.Trim(trim(head[0].text), `"`))); len(t) == 5 && strings.HasPrefix(t, "sep=") {
			return t[4]
		}
	}
	return 0
}

// markup names another form of text that data come in, "" for none.
func markup(head []textLine) string {
	for _, l := range head {
		switch t := trim(l.text); {
		case len(t) == 0:
		case t[0] == '{' || t[0] == '[':
			return "JSON"
		case t[0] == '<':
			return "a web page or XML"
		default:
			return ""
		}
	}
	return ""
}

// try cuts the head at delim. share is the part of its lines, from the first row of values on, that are rows of values of the usual width.
func try(head []textLine, delim byte) (d *dialect, share float64) {
	return tryFor(head, delim, looksLikeData)
}

// tryFor does so with rows of values that are told by isData.
func tryFor(head []textLine, delim byte, isData func(cells [][]byte) bool) (d *dialect, share float64) {
	widths := map[int]int{}
	width := make([]int, len(head))
	var cells [][]byte
	for i, l := range head {
		cells = splitCells(cells[:0], l.text, delim)
		if isData(cells) {
			width[i] = len(cells)
			widths[len(cells)]++
		}
	}
	usual, most := 0, 0
	for w, n := range widths {
		if n > most || n == most && w > usual {
			usual, most = w, n
		}
	}
	if usual < 2 {
		return nil, 0
	}
	fits := func(i int) bool { return width[i] > 1 && width[i] >= usual-2 && width[i] <= usual+1 }
	first := firstRow(head, width, usual, fits)
	if first < 0 {
		return nil, 0
	}
	fit, lines := 0, 0
	for i := first; i < len(head); i++ {
		if len(head[i].text) > 0 {
			lines++
			if fits(i) {
				fit++
			}
		}
	}
	return &dialect{delim: delim, data: first, units: -1}, float64(fit) / float64(lines)
}

// firstRow returns the index of the first row of values, -1 without one: a row that fits, followed by rows that fit, most of them of the
// usual width. A line of a preamble ("Date;1.2.2026") may fit, but the heading row that follows does not.
func firstRow(head []textLine, width []int, usual int, fits func(int) bool) int {
	const look = 4
	for i := range head {
		if !fits(i) {
			continue
		}
		seen, exact := 0, 0
		for j := i; j < len(head) && seen < look; j++ {
			if len(head[j].text) == 0 {
				continue
			}
			if !fits(j) {
				exact = -look
			}
			seen++
			if width[j] == usual {
				exact++
			}
		}
		if 2*exact >= seen {
			return i
		}
	}
	return -1
}

// looksLikeData tells whether at least half of the cells that hold something are values.
func looksLikeData(cells [][]byte) bool {
	if len(cells) < 2 {
		return false
	}
	values, text := 0, 0
	for _, c := range cells {
		switch {
		case len(c) == 0:
		case looksLikeValue(c):
			values++
		default:
			text++
		}
	}
	return values > 0 && values >= text
}

func looksLikeValue(c []byte) bool {
	if c[0]|0x20 >= 'a' && c[0]|0x20 <= 'z' {
		return isNothing(c)
	}
	if _, ok := parseOddCell(c, bytes.IndexByte(c, ',') >= 0); ok {
		return true
	}
	if _, _, ok := layout(nil).time(c); ok {
		return true
	}
	_, ok := layout(nil).date(c)
	return ok || isNothing(c)
}

// decimalComma tells whether numbers have a decimal comma. "2,345" alone could be thousands; a comma before another number of digits, a leading
// zero, or no point anywhere settles it.
func decimalComma(rows []textLine, delim byte) bool {
	commas, points, proof := 0, 0, 0
	var cells [][]byte
	for _, l := range rows {
		cells = splitCells(cells[:0], l.text, delim)
		for _, c := range cells {
			i := bytes.IndexByte(c, ',')
			switch {
			case bytes.IndexByte(c, ':') >= 0:
			case i >= 0 && bytes.IndexByte(c, '.') < i && looksLikeValue(c):
				commas++
				if !threeDigits(c[i+1:]) || bytes.HasPrefix(bytes.TrimLeft(c, "-"), []byte("0,")) {
					proof++
				}
			case bytes.Count(c, []byte{'.'}) == 1 && looksLikeValue(c):
				points++
			}
		}
	}
	return proof > 0 && proof >= points || commas > 0 && points == 0
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
	d.readHeadings(head)
	return nil
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
	names := splitCells(nil, head[d.header].text, d.delim)
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

// unitsInCells takes the unit of a column from cells such as "62 mph" where the heading has none.
func (d *dialect) unitsInCells(sample [][]string) {
	for i := range d.headings {
		if h := &d.headings[i]; h.unit == "" {
			h.unit = unitOfCells(sample[i])
			h.bracket = h.unit != ""
		}
	}
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
