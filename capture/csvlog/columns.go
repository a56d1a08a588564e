package csvlog

import (
	"fmt"
	"regexp"
	"slices"
	"sort"
	"strconv"
	"strings"

	"flywitness/drive"
	"flywitness/finding"
)

// column is a column that is read into a channel.
type column struct {
	index   int
	clock   int // of plan.clocks
	channel string
	raw     string // heading as written
	unit    string // as written, "" when it is the channel's own
	conv    conversion
	toggle  bool    // a switch, which may be written in words
	low     float64 // the least that a car shows,
	high    float64 // and the most
	given   bool    // the heading or the user says the unit
	assumed bool    // no unit was given, and the channel's own was taken
	unsure  bool    // words of the heading are not known
	settled bool    // by what the car can be, after its values were read
	marks   int     // numbers that stood for no value
}

// timeColumn is a column that holds a clock; date is the index of a date column beside it, -1 without one.
type timeColumn struct {
	index, date int
	raw         string
	clock       clock
	also        []addend
	assumed     bool // its unit was told by its steps
}

// plan is what will be read out of the table.
type plan struct {
	clocks   []timeColumn
	columns  []column
	warnings []finding.Finding
}

func (p *plan) warn(code finding.Code, file string, values ...finding.Value) {
	p.warnings = append(p.warnings, finding.New(code, append([]finding.Value{finding.Name("file", file)}, values...)...))
}

// candidate is a heading that may be a channel.
type candidate struct {
	heading
	rank  rank
	conv  conversion
	given bool // the heading says the unit
}

// chooseColumns assigns headings to channels: what the user mapped, then the best heading for each.
func chooseColumns(hs []heading, opt Options, name string, same func(i, j int) bool) (*plan, error) {
	p := &plan{}
	taken := map[int]bool{}
	done := map[string]bool{}
	for _, m := range opt.Map {
		c, err := mapped(m, hs, name)
		if err != nil {
			return nil, err
		}
		if done[c.channel] {
			return nil, fmt.Errorf("--map names %s twice", c.channel)
		}
		done[c.channel], taken[c.index] = true, true
		p.columns = append(p.columns, c)
	}
	best := bestChannel(hs, taken)
	var unsettled error // of a speed that could be any of several columns
	for _, q := range lexicons {
		if done[q.channel] {
			continue
		}
		var cands []candidate
		for i, h := range hs {
			if r, conv, given := h.match(q); r > noMatch && !taken[i] && r >= best[i] {
				cands = append(cands, candidate{h, r, conv, given})
			}
		}
		c, err := pick(q, cands, name, same, p)
		switch {
		case err != nil && (q.channel == drive.EngineSpeed || q.channel == drive.VehicleSpeed):
			return nil, err
		case err != nil:
			unsettled = err
			p.warn(finding.ColumnLeftOut, name, finding.Name("why", err.Error()))
		}
		if c != nil {
			p.columns = append(p.columns, *c)
			taken[c.index] = true
		}
	}
	if unsettled != nil && !p.has(drive.IsRoadSpeed) {
		return nil, unsettled
	}
	sort.SliceStable(p.columns, func(i, j int) bool { return p.columns[i].index < p.columns[j].index })
	return p, nil
}

// has tells whether a channel of a kind is read.
func (p *plan) has(kind func(channel string) bool) bool {
	return slices.ContainsFunc(p.columns, func(c column) bool { return kind(c.channel) })
}

// bestChannel returns for each heading the best rank that any quantity gives it, so that a heading goes where it fits best.
func bestChannel(hs []heading, taken map[int]bool) []rank {
	best := make([]rank, len(hs))
	for i, h := range hs {
		for _, q := range lexicons {
			if r, _, _ := h.match(q); !taken[i] {
				best[i] = max(best[i], r)
			}
		}
	}
	return best
}

// pick chooses among the headings that name one quantity. Only engine speed and the speeds are worth an error: the rest is left out with a warning.
func pick(q *lexicon, cands []candidate, name string, same func(i, j int) bool, p *plan) (*column, error) {
	cands = filled(cands, same)
	if len(cands) == 0 {
		return nil, nil
	}
	top := cands[0].rank
	for _, c := range cands {
		top = max(top, c.rank)
	}
	var equal []candidate
	for _, c := range cands {
		if c.rank == top {
			equal = append(equal, c)
		}
	}
	lower := len(cands) - len(equal)
	equal = oneOfCopies(equal, same)
	essential := q.channel == drive.EngineSpeed || q.unit == "km/h"
	if len(equal) > 1 && essential {
		return nil, ambiguous(q, equal, name)
	}
	c := equal[0]
	if essential && !c.given && c.strange != "" {
		return nil, strangeUnit(q, c, name)
	}
	channel, heading := finding.Name("channel", q.channel), finding.Name("column", c.raw)
	if !c.given && c.strange != "" {
		p.warn(finding.ColumnLeftOut, name, finding.Name("why", strangeUnit(q, c, name).Error()))
		return nil, nil
	}
	switch {
	case len(equal) > 1:
		p.warn(finding.AmbiguousColumn, name, channel, heading, finding.Name("other", equal[1].raw))
	case c.rank == doubtful:
		p.warn(finding.DoubtfulColumn, name, channel, heading)
	case lower > 0 && essential:
		p.warn(finding.AmbiguousColumn, name, channel, heading, finding.Name("others", others(cands, top)))
	}
	col := &column{index: c.index, channel: q.channel, raw: c.raw, conv: c.conv, unit: c.unit, toggle: q.unit == "", low: q.low, high: q.high, given: c.given, unsure: c.rank == doubtful}
	if !c.given && q.unit == "km/h" {
		col.assumed = true
		p.warn(finding.AssumedUnit, name, channel, heading)
	}
	return col, nil
}

// filled leaves out the columns in which nothing stands, if others hold something.
func filled(cands []candidate, same func(i, j int) bool) []candidate {
	full := slices.DeleteFunc(slices.Clone(cands), func(c candidate) bool { return !same(c.index, c.index) })
	if len(full) == 0 {
		return cands
	}
	return full
}

// strangeUnit is the error of a column whose unit nobody knows.
func strangeUnit(q *lexicon, c candidate, name string) error {
	column := fmt.Sprintf("%s=#%d", q.channel, c.index+1)
	ways := fmt.Sprintf("say which it is, such as --map \"%s:%s\"", column, q.unit)
	if by, _ := strconv.ParseFloat(strings.Replace(numberIn.FindString(c.strange), ",", ".", 1), 64); by >= leastFactor && by <= mostFactor && by != 1 {
		ways += fmt.Sprintf("; it holds a factor: --map \"%s:%s %s\" where one of its numbers is so much, --map \"%s:%s %s\" where it is so little", column, plain(max(by, 1/by)), q.unit, column,
			plain(min(by, 1/by)), q.unit)
	}
	return fmt.Errorf("%s: %q in %q is no unit that is known: %s", name, c.strange, c.raw, ways)
}

// numberIn is the number in a text.
var numberIn = regexp.MustCompile(`[0-9]+(?:[.,][0-9]+)?`)

// plain writes a number without an exponent.
func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// oneOfCopies keeps one of columns that hold the same quantity twice: equal cells, or one name in two units.
func oneOfCopies(cs []candidate, same func(i, j int) bool) []candidate {
	var out []candidate
next:
	for _, c := range cs {
		for k, o := range out {
			sameName := c.given && o.given && c.conv != o.conv && strings.EqualFold(bareName(c), bareName(o))
			if sameName && c.conv == identity {
				out[k] = c
			}
			if sameName || c.given == o.given && c.conv == o.conv && same(c.index, o.index) {
				continue next
			}
		}
		out = append(out, c)
	}
	return out
}

// bareName is the heading without its unit.
func bareName(c candidate) string {
	words := slices.Clone(c.words)
	for n := range words {
		if _, ok := parseUnit(words[n], "km/h"); ok {
			words[n] = ""
		}
	}
	return strings.Join(words, " ")
}

// others lists the candidates below a rank.
func others(cands []candidate, below rank) string {
	var list []string
	for _, c := range cands {
		if c.rank < below {
			list = append(list, fmt.Sprintf("%q", c.raw))
		}
	}
	return strings.Join(list, ", ")
}

func ambiguous(q *lexicon, cs []candidate, name string) error {
	which := cs[0].raw
	if strings.EqualFold(strings.TrimSpace(which), strings.TrimSpace(cs[1].raw)) {
		which = fmt.Sprintf("#%d", cs[0].index+1)
	}
	return fmt.Errorf("%s: %s could be any of %s: say which with --map \"%s=%s\"", name, q.channel, others(cs, exact+1), q.channel, which)
}

// MissingError is that of a table without engine speed or road speed. Another file may hold it.
type MissingError struct {
	message string
	Both    bool // neither of them is there
}

func (e *MissingError) Error() string { return e.message }

// missingChannels is the error of a log without engine speed or road speed.
func missingChannels(name string, engine, speed bool, hs []heading) error {
	what, example, channel := "engine speed", drive.EngineSpeed+"=Eng Spd", drive.EngineSpeed
	if engine {
		what, example, channel = "road speed", drive.VehicleSpeed+"=VSpd:mph", drive.VehicleSpeed
	}
	if h := nearest(lexiconOf(channel), hs); h != nil {
		example = channel + "=" + h.raw
	}
	headings := rawNames(hs)
	return &MissingError{fmt.Sprintf("%s: no column for %s among %s: name it with --map \"%s\"", name, what, quoteList(headings), example), !engine && !speed}
}

// meanWords are those of a mean, which is nearer to a value than a least or a greatest one.
var meanWords = wordSet("avg average mean mittel mittelwert moyenne media moyen medio")

// wheelWords are those of a wheel, whose speed is the car's but for what it slips.
var wheelWords = wordSet("wheel wheels wheelspeed fl fr rl rr lf rf lr front rear left right")

// nearest is the heading that would name a channel if it were not that of a mean or of a wheel, nil where there is none.
func nearest(q *lexicon, hs []heading) *heading {
	for i := range hs {
		h := &hs[i]
		other := slices.ContainsFunc(h.words, func(w string) bool { return (q.not[w] || q.shortForOther(w)) && !meanWords[w] && !wheelWords[w] })
		if _, ok := parseUnit(h.unit, q.unit); h.raw != "" && q.namedIn(h.words) && !other && (ok || !h.bracket) {
			return h
		}
	}
	return nil
}

// headingShown is how many letters of a heading stand in a message.
const headingShown = 80

func quoteList(names []string) string {
	var q []string
	for i, n := range names {
		if i == 40 {
			q = append(q, fmt.Sprintf("and %d more", len(names)-i))
			break
		}
		q = append(q, fmt.Sprintf("%.*q", headingShown, n))
	}
	return strings.Join(q, ", ")
}

func rawNames(hs []heading) []string {
	var names []string
	for _, h := range hs {
		if h.raw != "" {
			names = append(names, h.raw)
		}
	}
	return names
}

// mapped reads one --map.
func mapped(text string, hs []heading, name string) (column, error) {
	channel, rest, ok := strings.Cut(text, "=")
	channel = strings.TrimSpace(channel)
	var q *lexicon
	for _, l := range lexicons {
		if l.channel == channel {
			q = l
		}
	}
	if !ok || q == nil {
		var known []string
		for _, l := range lexicons {
			known = append(known, l.channel)
		}
		return column{}, fmt.Errorf("--map %q: want CHANNEL=HEADING or CHANNEL=HEADING:UNIT, with a channel of %s", text, strings.Join(known, ", "))
	}
	h, unit, err := findHeading("--map", rest, hs, name)
	if err != nil {
		return column{}, err
	}
	c := column{index: h.index, channel: channel, raw: h.raw, conv: identity, toggle: q.unit == "", low: q.low, high: q.high}
	if unit != "" {
		if c.conv, ok = parseUnit(unit, q.unit); !ok {
			return column{}, fmt.Errorf("--map %q: %q is no unit of %s, whose own unit is %s", text, unit, channel, orNone(q.unit))
		}
		c.unit, c.given = unit, true
		return c, nil
	}
	if conv, ok := parseUnit(h.unit, q.unit); ok {
		c.conv, c.unit, c.given = conv, h.unit, true
	} else if tail, n := tailUnit(h.name, h.words, q.unit); n > 0 {
		c.conv, _ = parseUnit(tail, q.unit)
		c.unit, c.given = tail, true
	} else if h.bracket && q.unit != "" {
		return column{}, fmt.Errorf("--map %q: %q is in %s, which is no unit of %s: name another column, or the unit in which it is as %s=%s:%s", text, h.raw, h.unit, channel, channel, h.raw, q.unit)
	} else {
		c.assumed = q.unit == "km/h"
	}
	return c, nil
}

func orNone(unit string) string {
	if unit == "" {
		return "none"
	}
	return unit
}

// findHeading finds the heading that an option names; what follows the last colon is a unit unless it belongs to the heading.
func findHeading(option, text string, hs []heading, name string) (heading, string, error) {
	text = strings.TrimSpace(text)
	find := func(s string, rules int) (found []heading) {
		s = strings.TrimSpace(s)
		if n, err := strconv.Atoi(strings.TrimPrefix(s, "#")); err == nil && strings.HasPrefix(s, "#") && n >= 1 && n <= len(hs) {
			return hs[n-1 : n]
		}
		for _, same := range ([]func(h heading) bool{
			func(h heading) bool { return strings.TrimSpace(h.raw) == s },
			func(h heading) bool {
				return strings.EqualFold(strings.TrimSpace(h.raw), s) || strings.EqualFold(h.name, s)
			},
			func(h heading) bool {
				return s != "" && strings.Join(wordsOf(h.raw), " ") == strings.Join(wordsOf(s), " ")
			},
		})[:rules] {
			for _, h := range hs {
				if same(h) {
					found = append(found, h)
				}
			}
			if len(found) > 0 {
				return found
			}
		}
		return nil
	}
	unit := ""
	var found []heading
	for _, rules := range []int{2, 3} { // by its words last: those of "Throttle:%" are those of "Throttle"
		if found = find(text, rules); len(found) > 0 {
			break
		}
		if i := strings.LastIndexByte(text, ':'); i >= 0 {
			if found = find(text[:i], rules); len(found) > 0 {
				unit = strings.TrimSpace(text[i+1:])
				break
			}
		}
	}
	switch {
	case len(found) == 0:
		return heading{}, "", fmt.Errorf("%s %q: %s has no such column; it has %s", option, text, name, quoteList(rawNames(hs)))
	case len(found) > 1:
		return heading{}, "", fmt.Errorf("%s %q: %s has %d columns of that name; say which by its number, as #%d", option, text, name, len(found), found[0].index+1)
	}
	return found[0], unit, nil
}
