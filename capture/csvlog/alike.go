package csvlog

import (
	"bytes"
	"encoding/binary"
	"math"
)

// Most rows of a log are laid out as one before: digits stand where digits stood, and every other byte is the same.
// Such a row is told by looking at eight bytes at a time, and where its numbers lie needs no looking for their ends. Rows alike follow each other: a column
// of them is read at a time.

const (
	wordBytes  = 8 // that are looked at together
	zeros      = 0x3030303030303030
	highBits   = 0x8080808080808080
	digitSlack = 0x7f - 9 // added to how far a byte is from '0', it sets the high bit unless that is a digit
	exactSlack = 0x7f     // the same for a byte that must not differ at all
	mostWhole  = 8        // digits before the decimal mark
	mostPart   = 7        // and behind it: together they are a whole number that a float64 holds exactly
)

// alike is the layout of a row; its length is 0 where none is known.
type alike struct {
	length  int // bytes, line end included
	words   []layoutWord
	numbers []layoutNumber
	others  []layoutCell
}

const (
	mostLayouts  = 8  // are known at a time: numbers grow and lose digits all the time, and then are what they were
	mostTogether = 64 // rows that are read together; were there more, many would be looked at in vain where each is for the careful way
)

// layouts are those of rows that were read the long way.
type layouts struct {
	known [mostLayouts]alike
	last  int // of the row before
	next  int // place that the next one takes
}

// rows is as of one layout: that of the row before, or another. It returns the length of a row, too.
func (l *layouts) rows(sinks []sink, n int, text []byte) (rows, length int) {
	if rows = l.known[l.last].rows(sinks, n, text); rows > 0 {
		return rows, l.known[l.last].length
	}
	for k := range l.known {
		if rows = l.known[k].rows(sinks, n, text); rows > 0 {
			l.last = k
			return rows, l.known[k].length
		}
	}
	return 0, 0
}

// learn takes on the layout of a row that was read.
func (l *layouts) learn(sinks []sink, row []byte, delim, mark byte) {
	l.last = l.next
	l.next = (l.next + 1) % mostLayouts
	l.known[l.last].learn(sinks, row, delim, mark)
}

// layoutWord is what eight bytes of the row must be.
type layoutWord struct {
	at        int
	is, slack uint64
}

// layoutNumber is a cell with a number of up to eight digits.
type layoutNumber struct {
	column int
	digits digits
	scale  float64 // that they are divided by
}

// layoutCell is a cell with a clock time, nothing, or a longer number: (whole * power + part) / scale.
type layoutCell struct {
	column      int
	from, to    int // of a clock time
	empty       bool
	whole, part digits
	power       int64
	scale       float64
}

// digits are up to eight digits.
type digits struct {
	at     int
	before uint64 // all bits of the bytes before a decimal mark among them
	unused int    // bits behind the last one in eight bytes, without the mark
}

// read returns the number that the digits of the row at text[row] are.
func (d digits) read(text []byte, row int) int64 {
	at := row + d.at
	x := binary.LittleEndian.Uint64(text[at:at+wordBytes]) ^ zeros
	x = (x&d.before | x>>8&^d.before) << (d.unused & 63)
	x = x*10 + x>>8 // every other byte is a number of two digits; then they are weighed, all at once
	return int64(((x&0x000000ff_000000ff)*(100+1_000_000<<32) + (x>>16&0x000000ff_000000ff)*(1+10_000<<32)) >> 32)
}

// rows reads the rows at the start of text that have this layout as rows n and on, one column after another. It returns how many; the next one is laid
// out otherwise, or for the careful way.
func (a *alike) rows(sinks []sink, n int, text []byte) int {
	rows := a.run(text)
	for i := range a.numbers {
		c := &a.numbers[i]
		rows = c.read(&sinks[c.column], n, rows, text, a.length)
	}
	for i := range a.others {
		c := &a.others[i]
		rows = c.read(&sinks[c.column], n, rows, text, a.length)
	}
	return rows
}

// run is how many rows at the start of text have this layout.
func (a *alike) run(text []byte) (rows int) {
	for rows < mostTogether && a.length > 0 && len(text) >= a.length+wordBytes && a.fits(text) {
		text = text[a.length:]
		rows++
	}
	return rows
}

// fits tells whether the row at the start of text has this layout.
func (a *alike) fits(text []byte) bool {
	differ := uint64(0)
	for i := range a.words {
		w := &a.words[i]
		x := binary.LittleEndian.Uint64(text[w.at:w.at+wordBytes]) ^ w.is
		differ |= x | (x + w.slack)
	}
	return differ&highBits == 0
}

// read reads the cells of rows of a length as those of rows n and on. It returns of how many: the next one is for the careful way.
func (c *layoutNumber) read(s *sink, n, rows int, text []byte, length int) int {
	digits, scale, conv, lo, hi := c.digits, c.scale, s.conv, s.lo, s.hi
	to := s.to[n : n+rows]
	for k := range to {
		v := conv.apply(float64(digits.read(text, k*length)) / scale)
		if to[k] = v; !(v >= lo && v <= hi) {
			return k
		}
	}
	return rows
}

// read is as of a number.
func (c *layoutCell) read(s *sink, n, rows int, text []byte, length int) int {
	for k := range rows {
		if !c.readOne(s, n+k, text, k*length) {
			return k
		}
	}
	return rows
}

func (c *layoutCell) readOne(s *sink, n int, text []byte, row int) bool {
	switch {
	case c.to > 0:
		return s.stamp(n, text[row+c.from:row+c.to])
	case c.empty:
		s.to[n], *s.holes = math.NaN(), true
		return true
	}
	return s.take(n, float64(c.whole.read(text, row)*c.power+c.part.read(text, row))/c.scale)
}

// learn takes on the layout of a row that was read.
func (a *alike) learn(sinks []sink, row []byte, delim, mark byte) {
	*a = alike{words: a.words[:0], numbers: a.numbers[:0], others: a.others[:0]}
	if len(row) < wordBytes {
		return
	}
	line := row[:bytes.IndexAny(row, "\r\n")]
	from := 0
	for k := range sinks {
		to := len(line)
		if i := bytes.IndexByte(line[from:], delim); i >= 0 {
			to = from + i
		}
		if sinks[k].to != nil && !a.learnCell(&sinks[k], k, line, from, to, mark) {
			return
		}
		from = min(to+1, len(line))
	}
	for at := 0; at < len(row); at += wordBytes {
		at = min(at, len(row)-wordBytes)
		a.words = append(a.words, wordOf(row, at))
	}
	a.length = len(row)
}

// wordOf returns what the eight bytes of the row from at on must be in those that are laid out as it.
func wordOf(row []byte, at int) layoutWord {
	w := layoutWord{at: at}
	for k, c := range row[at : at+wordBytes] {
		is, slack := c, exactSlack
		if isDigit(c) {
			is, slack = '0', digitSlack
		}
		w.is |= uint64(is) << (8 * k)
		w.slack |= uint64(slack) << (8 * k)
	}
	return w
}

// learnCell takes on where the number of a cell lies; false where it is not for here.
func (a *alike) learnCell(s *sink, column int, line []byte, from, to int, mark byte) bool {
	if s.clock != nil {
		a.others = append(a.others, layoutCell{column: column, from: from, to: to})
		return true
	}
	for from < to && line[from] == ' ' {
		from++
	}
	for from < to && line[to-1] == ' ' {
		to--
	}
	if from == to {
		a.others = append(a.others, layoutCell{column: column, empty: true})
		return true
	}
	sign := 1.0
	if line[from] == '-' {
		sign = -1
		from++
	}
	whole, part := to-from, 0
	if i := bytes.IndexByte(line[from:to], mark); i >= 0 {
		whole, part = i, to-from-i-1
	}
	scale := sign * math.Pow10(part)
	switch {
	case whole == 0 || whole > mostWhole || part > mostPart:
		return false
	case to-from <= wordBytes:
		number := digits{from, 1<<(8*whole) - 1, 8 * (wordBytes - whole - part)}
		a.numbers = append(a.numbers, layoutNumber{column, number, scale})
		return true
	case part == 0:
		return false
	}
	a.others = append(a.others, layoutCell{column: column, power: int64(math.Pow10(part)), scale: scale,
		whole: digits{from, math.MaxUint64, 8 * (wordBytes - whole)},
		part:  digits{from + whole + 1, math.MaxUint64, 8 * (wordBytes - part)}})
	return true
}
