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

// millisBeside returns the column of the milliseconds of a second, which falls back where the second ends; -1 without one.
func millisBeside(hs []heading, sample [][]string, comma bool) int {
	for _, h := range hs {
		if h.isOnly(milliWords) && allBelow(sample[h.index], 1000, comma) && fallsBack(sample[h.index], comma) {
			return h.index
		}
	}
	return -1
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
func (p *plan) addSplit(hs []heading, millis int, d *dialect) {
	c := timeColumn{index: hs[0].index, date: -1, raw: hs[0].raw, clock: clock{scale: scale{unit: 1}, comma: d.comma},
		also: []addend{{hs[1].index, 60}, {hs[2].index, 3600}}}
	if millis >= 0 {
		c.also = append(c.also, addend{millis, 1e-3})
	}
	p.clocks = append(p.clocks, c)
}
