package csvlog

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
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
	rate     float64  // rows a second, as the lines above the headings say; 0: they do not
	joined   [][]byte // the headings of two rows, nil where they stand in one
}

// detect learns the dialect from the first lines. Delimiters that can hardly stand inside a number come first, so that a decimal comma
// is not taken for one.
func detect(head []textLine, name string, opt Options) (*dialect, error) {
	if startsAs(head, markupStarts) {
		return nil, &NoTableError{noTable(head, name)}
	}
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

// beforeTabs tells whether a comma stands before each tab.
func beforeTabs(line []byte) bool {
	return bytes.Count(line, []byte(",\t")) == bytes.Count(line, []byte("\t"))
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
