package csvlog

import (
	"math"
	"slices"
)

// Some loggers write a time in several columns: hour, minute and second, or a clock time and the milliseconds of its second.

// addend is a column whose numbers count so many seconds each, on top of the clock's own.
type addend struct {
	index   int
	seconds float64
}

var (
	hourWords   = wordSet("hour hours hh stunde stunden heure heures hora horas ora uur")
	minuteWords = wordSet("minute minutes min mm minuten minuto minutos minuti")
	secondWords = wordSet("second seconds sec ss sekunde sekunden seconde secondes segundo segundos secondi")
	milliWords  = wordSet("ms milli millis msec millisecond milliseconds millisekunde millisekunden milliseconde millisecondes milisegundo milisegundos")
	microWords  = wordSet("us usec micros microsecond microseconds mikrosekunden microsecondes microsegundos")
	nanoWords   = wordSet("ns nsec nanos nanosecond nanoseconds")
)

// splitClock returns the columns of seconds, of minutes and of hours that together are a clock, nil where the table has none.
func splitClock(hs []heading, sample [][]string, comma bool) []heading {
	var out []heading
	for _, part := range []struct {
		names map[string]bool
		below float64
	}{{secondWords, 61}, {minuteWords, 60}, {hourWords, 24}} {
		i := slices.IndexFunc(hs, func(h heading) bool { return h.isOnly(part.names) && allBelow(sample[h.index], part.below, comma) })
		if i < 0 {
			return nil
		}
		out = append(out, hs[i])
	}
	return out
}

// partsOfSecond are the columns that may count the parts of a second, and how many there are of them.
var partsOfSecond = []struct {
	names map[string]bool
	in    float64
}{{milliWords, 1e3}, {microWords, 1e6}, {nanoWords, 1e9}}

// partsBeside returns the column of the parts of a second, which falls back where the second ends; its index is -1 without one.
func partsBeside(hs []heading, sample [][]string, comma bool) addend {
	for _, part := range partsOfSecond {
		for _, h := range hs {
			if h.endsIn(part.names) && allBelow(sample[h.index], part.in, comma) && fallsBack(sample[h.index], comma) {
				return addend{h.index, 1 / part.in}
			}
		}
	}
	return addend{index: -1}
}

// endsIn tells whether a heading is one of these words, alone or behind one that nobody knows: "tv_usec".
func (h heading) endsIn(names map[string]bool) bool {
	n := len(h.words)
	return n > 0 && names[h.words[n-1]] && (n == 1 || n == 2 && !vocabulary[h.words[0]])
}

// isOnly tells whether a heading is one of these words and nothing else.
func (h heading) isOnly(names map[string]bool) bool { return len(h.words) == 1 && names[h.words[0]] }

// allBelow tells whether cells hold numbers from 0 to below a limit, and nothing else.
func allBelow(cells []string, limit float64, comma bool) bool {
	return !slices.ContainsFunc(cells, func(s string) bool {
		v, ok := parseCell([]byte(s), comma)
		return s != "" && (!ok || v < 0 || v >= limit)
	})
}

// fallsBack tells whether a number in cells is smaller than the one before.
func fallsBack(cells []string, comma bool) bool {
	last := 0.0
	return slices.ContainsFunc(cells, func(s string) bool {
		v, _ := parseCell([]byte(s), comma)
		down := v < last
		last = v
		return down
	})
}

// wholeSeconds tells whether times have no fraction of a second.
func wholeSeconds(cells []string, comma bool) bool {
	return !slices.ContainsFunc(cells, func(s string) bool {
		v, ok := parseCell([]byte(s), comma)
		if !ok {
			v, _, ok = layout(nil).time([]byte(s))
		}
		return ok && v != math.Trunc(v)
	})
}

// addSplit adds a clock of columns of seconds, minutes and hours.
func (p *plan) addSplit(hs []heading, parts addend, d *dialect) {
	c := timeColumn{index: hs[0].index, date: -1, raw: hs[0].raw, clock: clock{scale: scale{unit: 1}, comma: d.comma},
		also: []addend{{hs[1].index, 60}, {hs[2].index, 3600}}}
	if parts.index >= 0 {
		c.also = append(c.also, parts)
	}
	p.clocks = append(p.clocks, c)
}
