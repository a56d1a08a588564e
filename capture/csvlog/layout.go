package csvlog

import (
	"bytes"
	"regexp"
	"slices"
)

// layout is how a time stamp is written. It is settled once, from the first stamps of a log; the others are read by it.
type layout []field

// field is one part of a time stamp.
type field struct {
	kind     byte   // below, or the sign itself that stands there
	width    int    // digits of a number that another one follows without a sign; 0: all there are
	decimals bool   // a fraction may follow
	count    int    // the fraction counts parts of so many decimals: 7 is 0.007 where it is 3; 0: it is a fraction
	text     string // of a word that means something: a unit, the T between date and clock
}

// Kinds of fields that are no signs.
const (
	days = 0x80 + iota // of the clock: those that have passed
	hours
	minutes
	seconds
	fraction   // digits of the second behind a sign that is no decimal mark, or behind none
	dateNumber // day, month or year, in the order in which they stand
	zone       // an offset from UTC
	nothing    // read with the field before
)

// Kinds of fields that are signs of a shape too.
const (
	number = '0' // whose meaning is not settled yet
	month  = 'b' // by its name
	half   = 'p' // of the day: AM or PM
	word   = 'w' // that says nothing: a weekday, a unit, the name of a zone
	blanks = ' '
)

// A shape has one sign for each token of a stamp: 0 for a number, that of words below for a word, else the sign itself.
const (
	dateForm = `(?:w[., ]+)?([0b](?:[-/., ]*[0b])*)`
	zoneForm = ` ?(?:z|w?(?:([-+]0(?::0)?)(?: w)?)?)(?:\[w(?:[/_]w)*\])?`
	tailForm = `((?:[.,]0?)?)`
)

var (
	clockShape    = regexp.MustCompile(`^[\[#+]?(?:` + dateForm + `(?:[ t_,-]+|\. ))?(?:p ?)?(?:(0) ?d[ ,+]*)?(0:0(?::0(?::0)?)?|0\.0\.0(?:\.0)?)` + tailForm + `s?(?: ?p(?:\. ?m\.?)?)?` + zoneForm + `(?: (0))?[\]#]?$`)
	runShape      = regexp.MustCompile(`^(?:(0)[ t_-])?(0)(_0)?` + tailForm + zoneForm + `$`)
	durationShape = regexp.MustCompile(`^[qp]?(?:(0) ?d[ ,]*)?t?(?:(0) ?h[ ,]*)?(?:(0) ?m[ ,]*)?(?:(0)` + tailForm + ` ?s)? ?(?:(0) ?k)?$`)
	dateShape     = regexp.MustCompile(`^` + dateForm + `$`)
)

var words = map[string]byte{"am": 'p', "pm": 'p', "a": 'p', "p": 'p', "t": 't', "z": 'z', "pt": 'q', "d": 'd', "dt": 'd', "day": 'd', "days": 'd', "h": 'h', "m": 'm', "min": 'm',
	"s": 's', "sec": 's', "ms": 'k', "年": '-', "月": '-', "日": ',', "时": ':', "時": ':', "点": ':', "分": ':', "秒": 's', "오전": 'p', "오후": 'p', "上午": 'p', "下午": 'p', "午前": 'p', "午後": 'p'}

// afternoons are the words for the second half of the day.
var afternoons = []string{"p", "pm", "오후", "下午", "午後"}

// layoutOf finds out how a stamp is written; nil when the cell is none.
func layoutOf(cell []byte) layout {
	l, shape := tokens(cell)
	if m := clockShape.FindSubmatchIndex(shape); m != nil {
		return l.clock(m)
	}
	if m := runShape.FindSubmatchIndex(shape); m != nil {
		return l.runs(m)
	}
	if m := durationShape.FindSubmatchIndex(shape); m != nil && len(shape) > 1 {
		l.numbers(m[2], m[3], days)
		l.numbers(m[4], m[5], hours)
		l.numbers(m[6], m[7], minutes)
		l.numbers(m[8], m[9], seconds)
		for i := m[12]; i >= 0 && i < m[13]; i++ {
			l[i] = field{kind: fraction, count: 3} // ms
		}
		if l[0].kind == half { // of "P0DT0H1M"
			l[0] = field{kind: word, text: string(cell[:lettersEnd(cell, 0)])}
		}
		return l.decimals(m[10], m[11]).whole()
	}
	return nil
}

// dateLayoutOf finds out how a date without a clock time is written; nil when the cell is none.
func dateLayoutOf(cell []byte) layout {
	l, shape := tokens(cell)
	m := dateShape.FindSubmatchIndex(shape)
	if m == nil {
		return nil
	}
	l.numbers(m[2], m[3], dateNumber)
	return l.whole()
}

// clock is the layout of "09.05.2026 12:34:56.789", "12:34:56 PM", "34:56.7" and the like. Two parts are minutes and seconds, behind a date or
// before PM hours and minutes.
func (l layout) clock(m []int) layout {
	l.numbers(m[2], m[3], dateNumber)
	l.numbers(m[4], m[5], days)
	if m[7]-m[6] == 3 && m[2] < 0 && m[4] < 0 && !slices.ContainsFunc(l, func(f field) bool { return f.kind == half }) {
		l.numbers(m[6], m[7], minutes, seconds)
	} else {
		l.numbers(m[6], m[7], hours, minutes, seconds, fraction)
	}
	l.decimals(m[8], m[9])
	l.zone(m[10], m[11])
	if m[2] < 0 && m[12] >= 0 && l[m[12]].width == 3 && l[m[7]-1].kind == seconds {
		l.numbers(m[12], m[13], fraction) // "10:11:12 300"
	}
	l.numbers(m[12], m[13], dateNumber)
	return l.whole()
}

// runs is the layout of "20260509T123456.789Z", "20260509123456789" and the like.
func (l layout) runs(m []int) layout {
	last := l[m[4]].width
	switch {
	case m[2] >= 0 && (l[m[2]].width != 8 || last != 6 && last != 9), m[2] < 0 && last != 14 && last != 17:
		return nil
	}
	l.numbers(m[6], m[7], fraction)
	l.decimals(m[8], m[9])
	l.zone(m[10], m[11])
	clock := []field{{kind: hours, width: 2}, {kind: minutes, width: 2}, {kind: seconds, width: 2, decimals: l[m[4]].decimals}}
	if last == 9 || last == 17 {
		clock = append(clock, field{kind: fraction, width: 3})
	}
	date := []field{{kind: dateNumber, width: 4}, {kind: dateNumber, width: 2}, {kind: dateNumber, width: 2}}
	return slices.Concat(date, l[min(m[4], 1):m[4]], clock, l[m[4]+1:]).whole()
}

// mostTokens is more than any stamp has: a longer text is none.
const mostTokens = 40

// tokens cuts a cell into fields of kinds that are not settled yet.
func tokens(cell []byte) (l layout, shape []byte) {
	for i := 0; i < len(cell) && len(l) < mostTokens; {
		f, sign := field{kind: cell[i]}, cell[i]
		end := i + 1
		switch {
		case isDigit(sign):
			end = digitsEnd(cell, i)
			sign, f = number, field{kind: number, width: end - i}
		case blankAt(cell, i) > 0:
			end = blanksEnd(cell, i)
			sign, f = blanks, field{kind: blanks}
		case isLetter(sign):
			end = lettersEnd(cell, i)
			if sign, f.kind = wordKind(cell[i:end]); f.kind == word && sign != word {
				f.text = string(cell[i:end])
			}
		}
		l, shape = append(l, f), append(shape, sign)
		i = end
	}
	return l, shape
}

// wordKind returns the sign of a word in a shape and the kind of its field.
func wordKind(w []byte) (sign, kind byte) {
	sign, known := words[string(bytes.ToLower(w))]
	switch {
	case sign == half:
		return half, half
	case known:
		return sign, word
	case monthOf(w) > 0:
		return month, month
	}
	return word, word
}

// numbers makes the numbers among fields [lo, hi) those of kinds, the last of which goes on.
func (l layout) numbers(lo, hi int, kinds ...byte) {
	for i := lo; i >= 0 && i < hi; i++ {
		if l[i].kind == number {
			l[i] = field{kind: kinds[0]}
			kinds = kinds[min(1, len(kinds)-1):]
		}
	}
}

// decimals lets the number before lo have a fraction, which [lo, hi) is here.
func (l layout) decimals(lo, hi int) layout {
	if lo > 0 && l[lo-1].kind != fraction {
		l[lo-1].decimals = true
	}
	return l.drop(lo, hi)
}

// zone makes fields [lo, hi) one offset from UTC.
func (l layout) zone(lo, hi int) {
	if lo >= 0 {
		l[lo].kind = zone
		l.drop(lo+1, hi)
	}
}

func (l layout) drop(lo, hi int) layout {
	for i := lo; i >= 0 && i < hi; i++ {
		l[i].kind = nothing
	}
	return l
}

// whole is the layout without what was dropped.
func (l layout) whole() layout {
	return slices.DeleteFunc(l, func(f field) bool { return f.kind == nothing })
}
