package csvlog

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"time"

	"flywitness/drive"
	"flywitness/internal/order"
)

const timeWords = "time times timestamp stamp ts elapsed seconds second sec secs millis milliseconds millisecond zeit zeitstempel temps tempo tiempo datetime date datum uhrzeit hora heure ora tijd tid czas cas время aika clock " +
	"t epoch unix session run runtime uptime device local utc gmt system s ms relative total start engine since start"

// timeNot makes a heading with "time" in it something else than the clock of the log.
const timeNot = "mil trip lap injection to remaining delay travel spark dwell open warm warmup cleared codes code trouble dtc idle response reply rise fall ignition valve duration latency sync reset zone boost glow cruise gear shift " +
	"delta dt diff interval period distance speed rpm throttle temp temperature pressure load"

var notTime, knownTime = wordSet(timeNot), wordSet(timeWords + " " + plainWords)

// timePhrases are the names of a clock column, best first.
var timePhrases = strings.Fields("time_s timestamp ts time datetime elapsed seconds zeit zeitstempel uhrzeit temps tempo tiempo hora heure ora tijd tid czas cas время aika clock millis milliseconds sec secs epoch utc t runtime uptime date datum s ms")

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
	for i, p := range timePhrases {
		if strings.EqualFold(h.raw, p) {
			return 1 + i
		}
	}
	for i, p := range timePhrases {
		if len(p) > 2 && containsAll(words, []string{p}) {
			return 100 + i + 100*len(words) + 10000*unknown
		}
	}
	return 0
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
	unit  float64 // seconds of one unit of a number; 0 when the cells are clock times
	comma bool    // numbers have a decimal comma
	rate  float64 // lines a second, where there is no column and lines are counted; else 0
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

// spreadsheetEpoch is 1970-01-01 in the day count of spreadsheets, whose day 0 is 1899-12-30.
const spreadsheetEpoch = 25569

// read returns the seconds that a cell says: for a clock time those of its day, which comes beside. date is the cell of a date column, nil
// without one.
func (c *clock) read(cell, date []byte) (seconds float64, on day, ok bool) {
	if c.unit > 0 {
		v, ok := parseCell(cell, c.comma)
		return c.seconds(v), day{}, ok
	}
	n, s, sure, ok := parseDateTime(cell)
	if ok && date != nil {
		n, sure, ok = parseDate(date)
	}
	return s, day{int32(n), sure}, ok
}

// seconds converts a number of the column.
func (c *clock) seconds(v float64) float64 {
	if c.unit == 86400 && v > 20000 {
		v -= spreadsheetEpoch
	}
	return v * c.unit
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

// parseDateTime reads "12:34:56.789", "2026-05-09T12:34:56Z", "09.05.2026 12:34:56", "09-May-2026 12:34:56.789", ... day counts from
// 1970-01-01 and is 0 without a date; sure is false without a date or when its day and month could be the other way round.
func parseDateTime(b []byte) (day int, seconds float64, sure, ok bool) {
	colon := bytes.IndexByte(b, ':')
	if colon < 0 {
		return 0, 0, false, false
	}
	if days, rest, ok := elapsedDays(b); ok {
		s, _, ok := parseClock(rest, true)
		return 0, days*86400 + s, false, ok
	}
	cut := bytes.LastIndexAny(b[:colon], " Tt_")
	if cut >= 0 {
		if day, sure, ok = parseDate(bytes.TrimRight(b[:cut], " ,")); !ok {
			return 0, 0, false, false
		}
	}
	s, zone, ok := parseClock(b[cut+1:], cut >= 0)
	return day, s - zone, sure, ok
}

// elapsedDays cuts off the days of "0 days 00:00:00.062", an elapsed time as data tools write it.
func elapsedDays(b []byte) (days float64, clock []byte, ok bool) {
	count, rest, ok := bytes.Cut(b, []byte(" day"))
	if !ok {
		return 0, nil, false
	}
	if days, ok = drive.ParseNumber(count); !ok {
		return 0, nil, false
	}
	return days, bytes.TrimLeft(bytes.TrimPrefix(rest, []byte("s")), " ,+"), true
}

// parseClock reads h:m:s with a fraction after a point or comma, m:s.f, an optional AM or PM and an optional zone.
// Two parts are minutes and seconds, behind a date hours and minutes.
func parseClock(b []byte, dated bool) (seconds, zone float64, ok bool) {
	b = trim(b)
	n := len(b)
	pm := 0.0
	twelve := false
	if n > 2 && (b[n-1]|0x20) == 'm' && (b[n-2]|0x20 == 'a' || b[n-2]|0x20 == 'p') {
		twelve = true
		if b[n-2]|0x20 == 'p' {
			pm = 12
		}
		b = trim(b[:n-2])
	}
	if len(b) > 0 && (b[len(b)-1] == 'Z' || b[len(b)-1] == 'z') {
		b = b[:len(b)-1]
	} else if i := bytes.LastIndexAny(b, "+-"); i > 4 {
		z, ok := parseZone(b[i:])
		if !ok {
			return 0, 0, false
		}
		zone, b = z, trim(b[:i])
	}
	var parts [3]float64
	count := 0
	for len(b) > 0 {
		i := bytes.IndexByte(b, ':')
		piece := b
		if i >= 0 {
			piece = b[:i]
		}
		if count == 3 { // 12:34:56:789
			f, ok := drive.ParseNumber(piece)
			if !ok || i >= 0 || f < 0 {
				return 0, 0, false
			}
			parts[2] += f / math.Pow(10, float64(len(piece)))
			b = nil
			break
		}
		v, ok := parseCell(piece, bytes.IndexByte(piece, ',') >= 0)
		if !ok || v < 0 || len(piece) == 0 || piece[0] == '-' {
			return 0, 0, false
		}
		parts[count] = v
		count++
		if i < 0 {
			break
		}
		b = b[i+1:]
	}
	switch {
	case count == 2 && !dated: // 34:56.7; hours and minutes alone are no clock for a log
		return parts[0]*60 + parts[1], zone, parts[1] < 60
	case count < 2:
		return 0, 0, false
	}
	if twelve {
		parts[0] = math.Mod(parts[0], 12) + pm
	}
	if parts[1] >= 60 || parts[2] >= 61 {
		return 0, 0, false
	}
	return parts[0]*3600 + parts[1]*60 + parts[2], zone, true
}

func parseZone(b []byte) (float64, bool) {
	sign := 1.0
	if b[0] == '-' {
		sign = -1
	}
	digits := bytes.ReplaceAll(b[1:], []byte(":"), nil)
	v, ok := drive.ParseNumber(digits)
	if !ok || v < 0 || v > 1500 {
		return 0, false
	}
	if len(digits) <= 2 {
		return sign * v * 3600, true
	}
	return sign * (math.Trunc(v/100)*3600 + math.Mod(v, 100)*60), true
}

var months = []string{"jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"}

// parseDate reads a date as days since 1970-01-01. sure is false when day and month could be the other way round.
func parseDate(b []byte) (day int, sure, ok bool) {
	var field [3]int
	n, digits, month := 0, 0, 0
	for i := 0; i <= len(b); i++ {
		switch {
		case i < len(b) && b[i] >= '0' && b[i] <= '9':
			if n > 2 || digits > 7 {
				return 0, false, false
			}
			field[n] = field[n]*10 + int(b[i]-'0')
			digits++
		case i+3 <= len(b) && isLetter(b[i]) && month == 0:
			for m, name := range months {
				if strings.EqualFold(string(b[i:i+3]), name) {
					month = m + 1
				}
			}
			for i+1 < len(b) && isLetter(b[i+1]) {
				i++
			}
			fallthrough
		default:
			if digits == 8 && n == 0 { // 20260509
				field = [3]int{field[0] / 10000, field[0] / 100 % 100, field[0] % 100}
				n, digits = 3, 0
			}
			if digits > 0 {
				n++
			}
			digits = 0
		}
	}
	y, m, d := 0, 0, 0
	sure = true
	switch {
	case n == 2 && month > 0 && field[0] > 31:
		y, m, d = field[0], month, field[1]
	case n == 2 && month > 0:
		y, m, d = field[1], month, field[0]
	case n != 3:
		return 0, false, false
	case field[0] > 31:
		y, m, d = field[0], field[1], field[2]
	case field[1] > 12:
		y, m, d = field[2], field[0], field[1]
	default:
		y, m, d = field[2], field[1], field[0]
		sure = field[0] > 12 || field[0] == field[1] || bytes.IndexByte(b, '/') < 0
	}
	if y < 100 {
		y += 2000
	}
	if y < 1970 || y > 2200 || m < 1 || m > 12 || d < 1 || d > 31 {
		return 0, false, false
	}
	return int(time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC).Unix() / 86400), sure, true
}

func isLetter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' }

// timeUnits are the units that --time takes and that a heading can carry, in seconds.
var timeUnits = map[string]float64{"s": 1, "ms": 1e-3, "us": 1e-6, "ns": 1e-9, "min": 60, "h": 3600, "day": 86400}

// timeUnit returns the seconds of one unit of a spelling.
func timeUnit(text string) (float64, bool) {
	low := strings.ToLower(strings.TrimSpace(text))
	if s, ok := otherSpellings[low]; ok {
		low = s
	}
	if f, ok := timeUnits[low]; ok {
		return f, true
	}
	c, ok := parseUnit(low, "s")
	if !ok {
		return 0, false
	}
	return c.factor, true
}

// guessUnit finds the unit of a numeric clock without one from its values: epochs by their size, the rest by a step that a logger can have.
func guessUnit(values []float64) (unit, step float64) {
	first := values[0]
	switch {
	case first > 1e17:
		return 1e-9, 0
	case first > 1e14:
		return 1e-6, 0
	case first > 1e11:
		return 1e-3, 0
	case first > 1e9:
		return 1, 0
	}
	sorted := slices.Clone(values) // rows may stand in any order
	slices.Sort(sorted)
	step = medianStep(sorted)
	switch {
	case step == 0:
		return 1, 0
	case step < 5e-4:
		return 86400, step
	case step > 5000:
		return 1e-6, step
	case step > 4:
		return 1e-3, step
	}
	return 1, 0
}

// medianStep returns the median of the steps of v that are not zero, 0 when there is none. It writes over v.
func medianStep(v []float64) float64 {
	steps := v[:0]
	for i := 1; i < len(v); i++ {
		if d := math.Abs(v[i] - v[i-1]); d > 0 {
			steps = append(steps, d)
		}
	}
	return order.Median(steps)
}
