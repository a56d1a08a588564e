package csvlog

import (
	"regexp"
	"strconv"
	"strings"

	"flywitness/vehicle"
)

// otherSpellings are units as loggers in several languages write them; the rest is in package vehicle.
var otherSpellings = map[string]string{
	"u/min": "rpm", "upm": "rpm", "tr/min": "rpm", "tr/mn": "rpm", "t/min": "rpm", "giri/min": "rpm", "g/min": "rpm", "revs/min": "rpm", "min^-1": "rpm", "min-1": "rpm", "/min": "rpm", "omw/min": "rpm", "ot/min": "rpm", "obr/min": "rpm", "varv/min": "rpm", "o/min": "rpm", "kierr/min": "rpm", "1/perc": "rpm", "ford/perc": "rpm", "fordulat/perc": "rpm", "omdr/min": "rpm", "об/мин": "rpm", "об./мин": "rpm", "об/хв": "rpm", "rot/min": "rpm", "v/min": "rpm", "turns/min": "rpm", "min⁻¹": "rpm", "σ.α.λ.": "rpm", "gm/s": "g/s", "gm/sec": "g/s", "d/d": "rpm", "dev/dak": "rpm", "转/分": "rpm", "轉/分": "rpm", "转/分钟": "rpm", "回転/分": "rpm", "revolutions/minute": "rpm",
	"meters/second": "m/s", "metres/second": "m/s", "m/sec": "m/s", "meter/second": "m/s", "km/u": "km/h", "км/ч": "km/h", "км/час": "km/h", "км/год": "km/h", "公里/小时": "km/h", "公里/小時": "km/h", "公里/时": "km/h", "km/godz": "km/h", "km/st": "km/h", "km/tim": "km/h", "м/с": "m/s", "meter/sec": "m/s", "米/秒": "m/s", "km/std": "km/h", "km/t": "km/h", "km/ó": "km/h", "kilometers/hour": "km/h", "kilometres/hour": "km/h", "km h": "km/h", "km/hr": "km/h",
	"miles per hour": "mph", "kilometers per hour": "km/h", "meters per second": "m/s", "km per hour": "km/h",
	"prozent": "%", "pourcent": "%", "percentage": "%", "in.hg": "inHg", "in hg": "inHg", "grams/second": "g/s", "g/sec.": "g/s", "grad c": "C", "deg c": "C", "deg f": "F", "grad": "C", "usec": "us", "µs": "us", "us": "us", "microseconds": "us", "nanoseconds": "ns", "ns": "ns",
	"d": "day", "days": "day", "day": "day", "lb.ft": "lbf ft", "foot-pounds": "lbf ft",
}

// conversion turns a value as written into the channel's unit: v*factor + offset.
type conversion struct{ factor, offset float64 }

func (c conversion) apply(v float64) float64 {
	if c.factor == 1 && c.offset == 0 {
		return v
	}
	return v*c.factor + c.offset
}

var identity = conversion{factor: 1}

// factorShape is a unit of which one number stands for so many, or for such a part: "0.01 km/h", "x1000 rpm", "1/100 s".
var factorShape = regexp.MustCompile(`^[x×*]? ?([0-9]+(?:[.,][0-9]+)?)(?: ?/ ?([0-9]+))? ?[x×*]? ?([^0-9 .,].*)$`)

// factored cuts the factor off a unit; 1 where it has none.
func factored(unit string) (factor float64, rest string) {
	if unit == "" || !isDigit(unit[0]) && !strings.HasPrefix(unit, "x") && !strings.HasPrefix(unit, "×") && unit[0] != '*' {
		return 1, unit
	}
	m := factorShape.FindStringSubmatch(unit)
	if m == nil {
		return 1, unit
	}
	factor, _ = strconv.ParseFloat(strings.Replace(m[1], ",", ".", 1), 64) // digits and a point
	if m[2] != "" {
		below, _ := strconv.ParseFloat(m[2], 64)
		factor /= below
	}
	if !(factor >= leastFactor && factor <= mostFactor) {
		return 1, unit
	}
	return factor, m[3]
}

// A number stands for no more and no less than this.
const leastFactor, mostFactor = 1e-6, 1e6

// parseUnit returns the unit that text spells, among those that convert to the canonical unit of a quantity.
func parseUnit(text, canonical string) (conversion, bool) {
	text = degrees(text)
	low := strings.ToLower(text)
	if canonical == "" && low == "%" { // how far a pedal is down, where others have a switch
		return conversion{factor: 0.01}, true
	}
	if canonical == "" || text == "" {
		return identity, false
	}
	scale := 1.0
	if canonical == "rpm" { // tachometers in thousands
		scale, low = thousands(low)
	}
	if c, ok := plainUnit(low, canonical); ok || scale != 1 {
		return conversion{c.factor * scale, c.offset}, ok
	}
	factor, rest := factored(low)
	c, ok := plainUnit(rest, canonical)
	if !ok || factor != 1 && c.offset != 0 {
		return identity, false
	}
	return conversion{c.factor * factor, c.offset}, true
}

// plainUnit is parseUnit for a unit without a factor.
func plainUnit(low, canonical string) (conversion, bool) {
	if s, ok := otherSpellings[low]; ok {
		low = s
	}
	from, ok := vehicle.ParseUnit(low)
	to, _ := vehicle.ParseUnit(canonical)
	if !ok || from.Quantity != to.Quantity {
		return identity, false
	}
	if from == to {
		return identity, true
	}
	zero := to.FromSI(from.ToSI(0))
	if from.Offset == to.Offset {
		zero = 0
	}
	return conversion{factor: from.Factor / to.Factor, offset: zero}, true
}

// disagree tells whether two spellings are those of different units of one quantity.
func disagree(a, b string) bool {
	c, ok := parseUnit(strings.ToLower(a), strings.ToLower(b))
	return ok && c != identity
}

// sameUnit tells whether two spellings are those of one unit.
func sameUnit(a, b string) bool {
	a, b = strings.ToLower(degrees(a)), strings.ToLower(degrees(b))
	c, ok := parseUnit(a, b)
	return a == b || ok && c == identity
}

// A degree sign that went through a wrong encoding, and signs that are taken for one.
var brokenDegrees = strings.NewReplacer("Â°", "°", "ï¿½C", "°C", "ï¿½F", "°F", "\uFFFDC", "°C", "\uFFFDF", "°F", "ºC", "°C", "ºF", "°F", "˚C", "°C", "˚F", "°F", "&deg;", "°", "℃", "°C", "℉", "°F", "?C", "°C", "?F", "°F")

// degrees is a trimmed unit with its degree sign put right.
func degrees(unit string) string { return strings.TrimSpace(brokenDegrees.Replace(unit)) }

// isUnit tells whether text spells any unit at all, as in a row of units.
func isUnit(text string) bool {
	text = strings.Trim(degrees(text), "[](){}<>")
	low := strings.ToLower(strings.TrimSpace(text))
	if low == "" {
		return false
	}
	if _, ok := otherSpellings[low]; ok {
		return true
	}
	switch low {
	case "1000/min", "1000 1/min", "x1000/min", "-", "--", "bool", "on/off", "hh:mm:ss", "hh:mm:ss.sss", "deg", "°", "lambda", "afr", "l/h", "mg", "ma", "a", "hz", "#", "none", "n/a", "psig", "barg", "mg/stroke", "mg/hub", "m/s2", "m/s^2", "l", "km", "0/1", "ds", "cs":
		return true
	}
	if factor, rest := factored(low); factor != 1 {
		low = rest
		if _, ok := otherSpellings[low]; ok {
			return true
		}
	}
	_, ok := vehicle.ParseUnit(low)
	return ok
}

// thousandMarks stand before or behind the unit of a tachometer.
var thousandMarks = []struct {
	mark string
	of   float64
}{{"x1000", 1000}, {"x 1000", 1000}, {"1000", 1000}, {"krpm", 1000}, {"k", 1000}, {"x100", 100}, {"x 100", 100}, {"x10", 10}, {"x 10", 10}}

// thousands cuts off a unit of engine speed how many revolutions a minute one of its numbers stands for.
func thousands(low string) (scale float64, rest string) {
	for _, m := range thousandMarks {
		if !strings.HasPrefix(low, m.mark) && !strings.HasSuffix(low, m.mark) {
			continue
		}
		rest = strings.TrimSpace(strings.Trim(strings.Replace(low, m.mark, "", 1), " */x"))
		if rest == "" || rest == "min" { // of "1000/min"
			rest = "rpm"
		}
		return m.of, rest
	}
	return 1, low
}
