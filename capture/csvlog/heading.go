package csvlog

import (
	"slices"
	"strings"
)

// heading is one cell of the heading row, taken apart.
type heading struct {
	index   int
	raw     string   // as written
	name    string   // without its bracketed unit
	unit    string   // in brackets, or from the row of units; "" when there is none
	bracket bool     // unit holds what was written as a unit, so it decides
	strange string   // what stands in brackets as a unit does, and is none that is known
	words   []string // of name
	whole   string   // raw in small letters
	known   bool     // one of the words is known
}

// longestHeading is how many bytes of a heading are looked at; what follows is a text.
const longestHeading = 400

// parseHeading takes a heading apart: "Speed (OBD) [km/h]" is the name "Speed OBD" and the unit "km/h".
func parseHeading(index int, raw, unitCell string) heading {
	h := heading{index: index, raw: raw}
	if len(raw) > longestHeading {
		raw = strings.ToValidUTF8(raw[:longestHeading], "")
	}
	raw = repaired(raw)
	h.whole = strings.ToLower(strings.TrimSpace(raw))
	name := strings.TrimLeft(raw, "#%/='\" \ufeff")
	for {
		open := strings.IndexAny(name, "([{")
		if open < 0 {
			break
		}
		length := strings.IndexAny(name[open:], ")]}")
		if length < 0 {
			break
		}
		inner := strings.TrimSpace(name[open+1 : open+length])
		switch {
		case inner == "" || inner == "-":
			inner = ""
		case isUnit(inner) && h.unit == "":
			h.unit, h.bracket, inner = inner, true, ""
		case h.bracket && disagree(h.unit, inner):
			h.unit, h.bracket, h.strange, inner = "", false, h.unit+" and "+inner, ""
		default:
			if unit, rest := qualifiedUnit(inner); unit != "" && h.unit == "" {
				h.unit, h.bracket, inner = unit, true, rest
			} else if strings.Contains(inner, "/") {
				h.strange = inner
			}
		}
		name = name[:open] + " " + inner + " " + name[open+length+1:]
	}
	h.name = strings.Join(strings.Fields(name), " ")
	h.words = wordsOf(h.name)
	h.known = slices.ContainsFunc(h.words, func(w string) bool { return vocabulary[w] })
	h.takeUnit(strings.Trim(strings.TrimSpace(unitCell), "[](){}<>"))
	return h
}

// takeUnit takes the unit that stands below a heading which has none.
func (h *heading) takeUnit(cell string) {
	switch {
	case cell == "" || h.unit != "" || cell == "-" || cell == "--":
	case isUnit(cell):
		h.unit, h.bracket = cell, true
	case strings.Contains(cell, "/"):
		h.strange = cell
	default:
		if unit, rest := qualifiedUnit(cell); unit != "" {
			h.unit, h.bracket = unit, true
			h.words = append(h.words, wordsOf(rest)...)
		}
	}
}

// qualifiedUnit cuts "mbar abs." into a unit and known words that say more of its quantity; "" where it is no such thing.
func qualifiedUnit(text string) (unit, rest string) {
	unit, rest, _ = strings.Cut(text, " ")
	more := wordsOf(rest)
	if len(unit) < 2 || len(more) == 0 || !isUnit(unit) || slices.ContainsFunc(more, func(w string) bool { return !vocabulary[w] }) {
		return "", ""
	}
	return unit, rest
}

// longestUnit is how many letters a unit has that stands for a heading.
const longestUnit = 12

// unitWord is the unit of a quantity as a word of its headings.
var unitWord = map[string]string{"rpm": "rpm", "km/h": "kmh"}

// match says how well the heading names q, and in which unit. given is false when it does not say a unit.
func (h heading) match(q *lexicon) (r rank, unit conversion, given bool) {
	if h.whole == q.channel {
		return exact, identity, true
	}
	words, whole := h.words, h.whole
	if h.bracket {
		unit, given = parseUnit(h.unit, q.unit)
		if !given {
			return noMatch, identity, false
		}
		r = q.rankOf(words, whole, true) // the unit bears out a word that is cut short
		// "Engine (rpm)" and "Vehicle (km/h)" are named by their unit, but a unit does not explain a word that nobody knows.
		if byUnit := q.rankOf(append(slices.Clip(words), unitWord[q.unit]), whole, false); byUnit > second {
			r = max(r, byUnit)
		}
		return r, unit, true
	}
	if !h.known || !q.namedIn(words) {
		if word := unitWord[q.unit]; word != "" && len(h.name) <= longestUnit { // "km/h" and nothing else
			if unit, given = parseUnit(h.name, q.unit); given {
				return q.rankOf([]string{word}, whole, false), unit, true
			}
		}
		return noMatch, identity, false
	}
	r = q.rankOf(words, whole, false)
	if q.unit == "" && strings.HasSuffix(h.name, "%") {
		unit, given = parseUnit("%", q.unit)
		return r, unit, given
	}
	if tail, n := tailUnit(h.name, words, q.unit); n > 0 {
		unit, given = parseUnit(tail, q.unit)
		return max(r, q.rankOf(words[:len(words)-n], whole, false)), unit, given
	}
	return r, identity, false
}

// prefixMost is how many letters of a multiple stand before its unit: "k", "da".
const prefixMost = 2

// tailUnit returns the unit at the end of a name without brackets ("VSS km/h", "Speed_kmh", "flow_g_s"), and how many words it takes.
func tailUnit(name string, words []string, canonical string) (unit string, n int) {
	if canonical == "" || len(words) == 0 {
		return "", 0
	}
	last := len(words) - 1
	if tail := strings.Trim(name[strings.LastIndexAny(name, " _-,;:/.")+1:], "<>«»"); tail != name { // "kPa" is one unit, and no "k" and "Pa"
		if n := len(wordsOf(tail)); n <= last {
			if _, ok := parseUnit(tail, canonical); ok {
				return tail, n
			}
		}
		if cut := len(tail) - len(words[last]); cut > 0 && cut <= prefixMost {
			return "", 0 // a multiple that is not known is no unit
		}
	}
	if last >= 1 {
		two := words[last-1] + "/" + words[last]
		if _, ok := parseUnit(two, canonical); ok {
			return two, 2
		}
	}
	if strings.HasSuffix(name, "%") && canonical == "%" {
		return "%", 0
	}
	if _, ok := parseUnit(words[last], canonical); ok {
		return words[last], 1
	}
	return "", 0
}
