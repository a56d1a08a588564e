package csvlog

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"flywitness/drive"
)

// stamp is what a cell says by its layout.
type stamp struct {
	dates [3]int     // numbers of the date, in the order in which they stand
	n     int        // how many
	month int        // that was named, from 1; 0: none was
	slash bool       // between them
	clock [5]float64 // days, hours, minutes, seconds, and the fraction behind them
	given [5]bool
	half  byte    // 'a' or 'p', 0 without one
	zone  float64 // s
}

// time reads a clock time, with or without a date: the seconds of its day, or those that have passed.
func (l layout) time(cell []byte) (seconds float64, on day, ok bool) {
	s, ok := l.read(cell)
	if !ok {
		if s, ok = layoutOf(cell).read(cell); !ok {
			return 0, day{}, false
		}
	}
	if s.n > 0 {
		if on, ok = s.day(); !ok {
			return 0, day{}, false
		}
	}
	seconds, ok = s.seconds()
	return seconds, on, ok
}

// date reads a date.
func (l layout) date(cell []byte) (on day, ok bool) {
	s, ok := l.read(cell)
	if !ok {
		if s, ok = dateLayoutOf(cell).read(cell); !ok {
			return day{}, false
		}
	}
	return s.day()
}

// read reads a cell that is written in this layout.
func (l layout) read(b []byte) (s stamp, ok bool) {
	i := 0
	for _, f := range l {
		if i = s.take(f, b, i); i < 0 {
			return s, false
		}
	}
	return s, i == len(b) && len(l) > 0
}

// take reads a field at b[i] and returns where it ends, -1 when something else stands there.
func (s *stamp) take(f field, b []byte, i int) (end int) {
	switch {
	case i == len(b):
		return -1
	case f.kind >= days && f.kind <= dateNumber:
		return s.number(f, b, i)
	case f.kind == word, f.kind == month, f.kind == half:
		return s.word(f, b, i)
	case f.kind == zone:
		return s.offset(b, i)
	case f.kind == blanks && blankAt(b, i) > 0:
		return blanksEnd(b, i)
	case b[i] != f.kind:
		return -1
	}
	s.slash = s.slash || f.kind == '/'
	return i + 1
}

// number reads a number of a kind.
func (s *stamp) number(f field, b []byte, i int) (end int) {
	v, end := f.value(b, i)
	switch {
	case end < 0 || f.kind == dateNumber && s.n == len(s.dates):
		return -1
	case f.kind == dateNumber:
		s.dates[s.n] = int(min(v, math.MaxInt32))
		s.n++
	case f.kind == fraction && f.count > 0:
		s.clock[fraction-days] = v / math.Pow10(f.count)
	case f.kind == fraction:
		s.clock[fraction-days] = v / math.Pow10(end-i)
	default:
		s.clock[f.kind-days], s.given[f.kind-days] = v, true
	}
	return end
}

// value reads a number as the field says.
func (f field) value(b []byte, i int) (v float64, end int) {
	whole := digitsEnd(b, i)
	if f.width > 0 && whole > i+f.width {
		whole = i + f.width
	}
	switch {
	case whole == i || whole < i+f.width:
		return 0, -1
	case f.decimals && f.count > 0 && whole < len(b) && (b[whole] == '.' || b[whole] == ','):
		if v, end = drive.PlainNumber(b[:whole], i, '.'); end >= 0 {
			end = digitsEnd(b, whole+1)
			v = counted(v, b[whole+1:end], f.count)
		}
		return v, end
	case f.decimals && whole < len(b) && (b[whole] == '.' || b[whole] == ','):
		return drive.PlainNumber(b, i, b[whole])
	}
	return drive.PlainNumber(b[:whole], i, '.')
}

// word reads a word of a kind.
func (s *stamp) word(f field, b []byte, i int) (end int) {
	end = lettersEnd(b, i)
	w := b[i:end]
	ok := len(w) > 0
	switch {
	case !ok:
	case f.kind == half:
		s.half = 'a'
		if slices.Contains(afternoons, string(bytes.ToLower(w))) {
			s.half = 'p'
		}
		sign, _ := wordKind(w)
		ok = sign == half
	case f.kind == month:
		s.month = monthOf(w)
		ok = s.month > 0
	case f.text != "":
		ok = strings.EqualFold(string(w), f.text)
	default:
		sign, _ := wordKind(w)
		ok = sign == word
	}
	if !ok {
		return -1
	}
	return end
}

// offset reads an offset from UTC: +2, +0200, -07:00.
func (s *stamp) offset(b []byte, i int) (end int) {
	end = digitsEnd(b, i+1)
	if end > i+1 && end < len(b) && b[end] == ':' {
		if minutes := digitsEnd(b, end+1); minutes > end+1 {
			end = minutes
		}
	}
	v, ok := drive.ParseNumber(bytes.ReplaceAll(b[i+1:end], []byte(":"), nil))
	switch {
	case !ok || v > 1500 || b[i] != '+' && b[i] != '-':
		return -1
	case end-i <= 3:
		v *= 100
	}
	s.zone = math.Trunc(v/100)*3600 + math.Mod(v, 100)*60
	if b[i] == '-' {
		s.zone = -s.zone
	}
	return end
}

// seconds are those of the day, or those that have passed.
func (s *stamp) seconds() (v float64, ok bool) {
	d, h, m, sec := s.clock[0], s.clock[1], s.clock[2], s.clock[3]+s.clock[4]
	if s.half != 0 {
		h = math.Mod(h, 12)
	}
	if s.half == 'p' {
		h += 12
	}
	// a second may be a leap second, but not of a count of minutes
	hasHours, hasMinutes := s.given[hours-days], s.given[minutes-days]
	if hasHours && (m >= 60 || sec >= 61) || !hasHours && hasMinutes && sec >= 60 {
		return 0, false
	}
	return d*86400 + (h*3600 + m*60 + sec) - s.zone, true
}

// day is the date as days since 1970-01-01.
func (s *stamp) day() (on day, ok bool) {
	a, b, c := s.dates[0], s.dates[1], s.dates[2]
	if s.n == 1 && s.month == 0 && a > 1e7 { // 20260509
		a, b, c = a/10000, a/100%100, a%100
		s.n = 3
	}
	y, m, d := c, b, a
	sure := true
	switch {
	case s.n == 2 && s.month > 0 && a > 31:
		y, m, d = a, s.month, b
	case s.n == 2 && s.month > 0:
		y, m, d = b, s.month, a
	case s.n != 3 || s.month > 0:
		return day{}, false
	case a > 31:
		y, m, d = a, b, c
	case b > 12:
		y, m, d = c, a, b
	default:
		sure = a > 12 || a == b || !s.slash
	}
	if y < 100 {
		y += 2000
	}
	if y < 1970 || y > 2200 || m < 1 || m > 12 || d < 1 || d > 31 {
		return day{}, false
	}
	return day{int32(time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC).Unix() / 86400), sure}, true
}

// months are the names of the twelve months in several languages, by the letters that tell them.
var months = [12]string{"jan ene gen", "feb fev fév", "mar mär mae mrz maa mrt", "apr avr abr", "may mai mag mei maj", "jun juin giu", "jul juil lug", "aug aou aoû ago", "sep set",
	"oct okt ott out", "nov", "dec dez dic déc"}

var monthNames = func() map[string]int {
	m := map[string]int{}
	for i, names := range months {
		for name := range strings.FieldsSeq(names) {
			m[name] = i + 1
		}
	}
	return m
}()

// monthOf returns the number of the month that a word names, from 1; 0 for another word.
func monthOf(w []byte) int {
	var low [4]byte
	n := copy(low[:], w)
	for i, c := range low[:n] {
		if c >= 'A' && c <= 'Z' {
			low[i] = c | 0x20
		}
	}
	if m := monthNames[string(low[:n])]; m > 0 {
		return m
	}
	return monthNames[string(low[:min(n, 3)])]
}

// digitsEnd, lettersEnd and blanksEnd return where the digits, letters or blanks from b[i] on end.
func digitsEnd(b []byte, i int) int {
	for i < len(b) && isDigit(b[i]) {
		i++
	}
	return i
}

func lettersEnd(b []byte, i int) int {
	for i < len(b) && isLetter(b[i]) && (b[i] < utf8.RuneSelf || blankAt(b, i) == 0) {
		i++
	}
	return i
}

func blanksEnd(b []byte, i int) int {
	for i < len(b) && blankAt(b, i) > 0 {
		i += blankAt(b, i)
	}
	return i
}

// blankAt is how many bytes at b[i] are a blank, be it one that does not break the line; 0 where there is none.
func blankAt(b []byte, i int) int {
	switch {
	case b[i] == blanks:
		return 1
	case b[i] == 0xc2 && i+1 < len(b) && b[i+1] == 0xa0:
		return 2
	case b[i] == 0xe2 && i+2 < len(b) && b[i+1] == 0x80 && b[i+2] == 0xaf:
		return 3
	}
	return 0
}

func isLetter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' || c >= 0x80 }
