package csvlog

import (
	"strconv"
	"strings"

	"flywitness/vehicle"
)

// otherSpellings are units as loggers in several languages write them; the rest is in package vehicle.
var otherSpellings = map[string]string{
	"u/min": "rpm", "upm": "rpm", "tr/min": "rpm", "t/min": "rpm", "giri/min": "rpm", "g/min": "rpm", "revs/min": "rpm", "min^-1": "rpm", "min-1": "rpm", "/min": "rpm", "omw/min": "rpm", "ot/min": "rpm", "obr/min": "rpm", "varv/min": "rpm", "o/min": "rpm", "kierr/min": "rpm", "об/мин": "rpm", "revolutions/minute": "rpm",
	"meters/second": "m/s", "metres/second": "m/s", "m/sec": "m/s", "meter/second": "m/s", "km/u": "km/h", "км/ч": "km/h", "km/std": "km/h", "kilometers/hour": "km/h", "kilometres/hour": "km/h", "km h": "km/h", "km/hr": "km/h",
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

// parseUnit returns the unit that text spells, among those that convert to the canonical unit of a quantity.
func parseUnit(text, canonical string) (conversion, bool) {
	text = degrees(text)
	if canonical == "" || text == "" {
		return identity, false
	}
	scale := 1.0
	low := strings.ToLower(text)
	if canonical == "rpm" { // tachometers in thousands
		for _, k := range []string{"x1000", "x 1000", "1000", "krpm", "k", "x100", "x 100", "x10", "x 10"} {
			if strings.HasPrefix(low, k) || strings.HasSuffix(low, k) {
				scale, low = thousands(k), strings.TrimSpace(strings.Trim(strings.Replace(low, k, "", 1), " */x"))
				if low == "" || low == "min" { // of "1000/min"
					low = "rpm"
				}
				break
			}
		}
	}
	if s, ok := otherSpellings[low]; ok {
		low = s
	}
	from, ok := vehicle.ParseUnit(low)
	to, _ := vehicle.ParseUnit(canonical)
	if !ok || from.Quantity != to.Quantity {
		return identity, false
	}
	if from == to {
		return conversion{factor: scale}, true
	}
	zero := to.FromSI(from.ToSI(0))
	if from.Offset == to.Offset {
		zero = 0
	}
	return conversion{factor: scale * from.Factor / to.Factor, offset: zero}, true
}

// A degree sign that went through a wrong encoding, and signs that are taken for one.
var brokenDegrees = strings.NewReplacer("Â°", "°", "ï¿½C", "°C", "ï¿½F", "°F", "\uFFFDC", "°C", "\uFFFDF", "°F", "ºC", "°C", "ºF", "°F", "˚C", "°C", "˚F", "°F", "&deg;", "°", "?C", "°C", "?F", "°F")

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
	case "1000/min", "1000 1/min", "x1000/min", "-", "--", "bool", "on/off", "hh:mm:ss", "hh:mm:ss.sss", "deg", "°", "lambda", "afr", "l/h", "mg", "ma", "a", "hz", "#", "none", "n/a", "lb/min", "m/s2", "m/s^2", "l", "km", "0/1":
		return true
	}
	if _, ok := timeUnit(low); ok && isDigit(low[0]) {
		return true
	}
	_, ok := vehicle.ParseUnit(low)
	return ok
}

// thousands is how many revolutions one of a tachometer's numbers stands for.
func thousands(mark string) float64 {
	if n, err := strconv.ParseFloat(strings.Trim(mark, "x "), 64); err == nil {
		return n
	}
	return 1000
}
