package csvlog

import (
	"math"
	"slices"
	"strings"
)

const timeWords = "time times timestamp stamp ts elapsed seconds second sec secs millis milliseconds millisecond zeit zeitstempel temps tempo tiempo datetime date datum uhrzeit hora heure ora tijd tid czas cas время aika clock 时间 時間 時刻 시간 zaman ido timp χρονος час време vrijeme laufzeit fahrzeit messzeit tpo sekunden secondes secondi segundos 时刻 時刻 " +
	"t us ns usec microseconds nanoseconds day midnight epoch unix session run runtime uptime device local utc gmt system s ms relative total start engine since start"

// timeNot makes a heading with "time" in it something else than the clock of the log.
const timeNot = "mil trip lap injection to remaining delay travel spark dwell open warm warmup cleared codes code trouble dtc idle response reply rise fall ignition valve duration latency sync reset zone boost glow cruise gear shift " +
	"delta dt diff interval period distance speed rpm throttle temp temperature pressure load"

var notTime, knownTime = wordSet(timeNot), wordSet(timeWords + " " + plainWords)

// timePhrases are the names of a clock column, best first.
var timePhrases = strings.Fields("time_s timestamp ts time datetime elapsed seconds zeit zeitstempel uhrzeit temps tempo tiempo hora heure ora tijd tid czas cas время aika clock 时间 時間 時刻 시간 zaman ido timp χρονος час време vrijeme laufzeit fahrzeit messzeit tpo 时刻 sekunden secondes secondi segundos millis milliseconds sec secs epoch utc t runtime uptime date datum s ms")

// timeRank says how well a heading names the clock of the log; 0 is not at all, lower positive is better.
func (h heading) timeRank() int {
	words := h.words
	unknown := 0
	for _, w := range words {
		if notTime[w] {
			return 0
		}
		if !knownTime[w] {
			unknown++
		}
	}
	bare := strings.Join(h.bareClock(), " ")
	for i, p := range timePhrases {
		if strings.EqualFold(h.name, p) || bare == p {
			return 1 + i
		}
	}
	for i, p := range timePhrases {
		if len(p) > 2 && containsAll(words, []string{p}, false) {
			return 100 + i + 100*len(words) + unknownWord*unknown
		}
	}
	return 0
}

// bareClock is the words of the name without a unit behind them: "t / s", "t in s", "ts_ms".
func (h heading) bareClock() []string {
	words := h.words
	if n := len(words); n > 1 && slices.Contains([]string{"s", "ms", "us", "ns"}, words[n-1]) {
		words = words[:n-1]
		if n > 2 && words[n-2] == "in" {
			words = words[:n-2]
		}
	}
	return words
}

// unknownWord is what each word that nobody knows adds to the rank of a clock.
const unknownWord = 10000

// isClock tells whether the heading names a clock and nothing else.
func (h heading) isClock() bool { r := h.timeRank(); return r > 0 && r < unknownWord }

// isClockOf tells whether the heading names a clock and the column of a channel that it belongs to: "t_rpm" beside "RPM" or "Engine speed".
func (h heading) isClockOf(o heading, q *lexicon) bool {
	own := heading{unit: h.unit, bracket: h.bracket, words: slices.DeleteFunc(slices.Clone(h.words), func(w string) bool {
		return slices.Contains(o.words, w) || q != nil && !knownTime[w] && slices.ContainsFunc(q.phrases, func(p phrase) bool { return p.has[w] })
	})}
	own.name = strings.Join(own.words, " ")
	return len(own.words) > 0 && len(own.words) < len(h.words) && own.isClock()
}

// misspeltTime tells whether the heading is the name of a clock but for one letter.
func (h heading) misspeltTime() bool {
	name := strings.Join(strings.FieldsFunc(fold(h.name), func(r rune) bool { return r == '_' || r == ' ' || r == '-' }), " ")
	for _, p := range []string{"engine run time", "elapsed time", "run time", "time stamp", "timestamp", "session time", "device time", "log time"} {
		if len(p) == len(name) && differ(p, name) == 1 {
			return true
		}
	}
	return false
}

func differ(a, b string) int {
	n := 0
	for i := range len(a) {
		if a[i] != b[i] {
			n++
		}
	}
	return n
}

// clock says how the cells of a time column are read.
type clock struct {
	scale           // of numbers; its unit is 0 when the cells are clock times
	comma   bool    // numbers have a decimal comma
	rate    float64 // lines a second, where there is no column and lines are counted; else 0
	written layout  // of clock times
	count   int     // of numbers: as field.count
	dates   layout  // of the column of dates beside it
}

// day counts from 1970-01-01 and is 0 without a date; sure is false without one, or when its day and month could be the other way round.
type day struct {
	n    int32
	sure bool
}

// calendar puts the clock times of one column on one count of seconds.
type calendar struct {
	first   int     // the first day that a cell told
	passed  int     // midnights since
	last    float64 // last clock time of the day, s
	started bool
	unsure  bool // day and month of the dates could be the other way round
}

// read returns the seconds that a cell says: for a clock time those of its day, which comes beside. date is the cell of a date column, nil
// without one.
func (c *clock) read(cell, date []byte) (seconds float64, on day, ok bool) {
	if c.unit > 0 {
		v, ok := parseCell(cell, c.comma)
		if c.count > 0 {
			v, ok = parseCounted(cell, c.count)
		}
		return (v - c.epoch) * c.unit, day{}, ok
	}
	seconds, on, ok = c.written.time(cell)
	if ok && len(date) > 0 {
		on, ok = c.dates.date(date)
	}
	return seconds, on, ok
}

// place turns seconds of days, in the order of rows, into seconds since 1970-01-01. A clock time without a date, or with one whose day and month
// could be the other way round, counts on over midnight.
func (k *calendar) place(seconds []float64, days []day) {
	for i, on := range days {
		s := seconds[i]
		if math.IsNaN(s) {
			continue
		}
		if k.first == 0 {
			k.first, k.unsure = int(on.n), on.n != 0 && !on.sure
		}
		if on.sure {
			seconds[i] = float64(on.n)*86400 + s
			continue
		}
		switch {
		case k.started && s < k.last-43200:
			k.passed++
		case k.started && s > k.last+43200:
			k.passed--
		}
		k.started, k.last = true, s
		seconds[i] = float64(k.first+k.passed)*86400 + s
	}
}

// timeUnits are the units that --time takes and that a heading can carry, in seconds.
var timeUnits = map[string]float64{"s": 1, "ms": 1e-3, "us": 1e-6, "ns": 1e-9, "min": 60, "h": 3600, "day": 86400}

// timeUnit returns the seconds of one unit of a spelling, which may be so many of another or a part of it: "10 ms", "1/100 s".
func timeUnit(text string) (float64, bool) {
	factor, low := factored(strings.ToLower(strings.TrimSpace(text)))
	if s, ok := otherSpellings[low]; ok {
		low = s
	}
	switch low {
	case "ds":
		factor, low = factor/10, "s"
	case "cs":
		factor, low = factor/100, "s"
	}
	if f, ok := timeUnits[low]; ok {
		return f * factor, true
	}
	c, ok := plainUnit(low, "s")
	if !ok {
		return 0, false
	}
	return c.factor * factor, true
}
