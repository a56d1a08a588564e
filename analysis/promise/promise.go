// Package promise judges what was promised of a job by what was measured, and says it in a sentence with both numbers.
package promise

import (
	"fmt"
	"math"
	"strings"

	"flywitness/analysis/stats"
)

// Kind is what was promised; the names are those of the results.
type Kind string

// The kinds of promise that people make.
const (
	Mass         Kind = "equivalent_mass_kg"    // the car goes as if it were so much lighter, in a gear
	Acceleration Kind = "acceleration_gain_pct" // in a gear
	Power        Kind = "equivalent_power_kw"   // in a gear, while accelerating
	Seconds      Kind = "saved_s"               // over a span of road speed in a gear
	Inertia      Kind = "inertia_change_kgm2"   // after minus before: negative when less was promised
	InertiaPct   Kind = "inertia_reduction_pct"
	PartMass     Kind = "mass_off_kg" // of the parts, on scales
	Torque       Kind = "torque_nm"   // that the clutch holds
	ClutchPower  Kind = "power_kw"    // the same as a power at an engine speed
)

// Outcome is how a promise came out.
type Outcome string

// The outcomes.
const (
	Kept      Outcome = "kept"
	More      Outcome = "kept_and_more"
	NotShown  Outcome = "within_not_shown"
	NotKept   Outcome = "not_kept"
	Undecided Outcome = "cannot_tell"
)

// Verdict is the outcome in the three words of the results.
func (o Outcome) Verdict() string {
	switch o {
	case Kept, More:
		return "supported"
	case NotKept:
		return "not_supported"
	}
	return "cannot_tell"
}

// Promise is one of them. Amount is in the unit of its kind; Gear, AtRPM and the span are 0 where none was named.
type Promise struct {
	Kind           Kind
	Amount         float64
	Gear           int
	AtRPM          float64
	FromKmh, ToKmh float64
}

// Stated is the promise by the names of the results.
func (p *Promise) Stated() map[string]float64 {
	out := map[string]float64{string(p.Kind): p.Amount}
	for name, x := range map[string]float64{"gear": float64(p.Gear), "at_rpm": p.AtRPM, "from_kmh": p.FromKmh, "to_kmh": p.ToKmh} {
		if x > 0 {
			out[name] = x
		}
	}
	return out
}

// sign turns a quantity of the kind so that what was promised is positive.
func (p *Promise) sign() float64 {
	s := 1.0
	if p.Kind == Inertia { // told as after minus before
		s = -1
	}
	return s
}

// half of a promise is what is asked to be sure: practice.md speaks of "less than half of what was promised is ruled out".
const half = 0.5

// Judge sets a promise against the interval of what was measured; nil was not measured. A promise is kept where it lies within the interval and less than half
// of it is ruled out, more than kept where even the lower end exceeds it, not kept where not even the upper end reaches it.
func (p *Promise) Judge(m *stats.Estimate) Outcome {
	if m == nil {
		return Undecided
	}
	m = m.Scale(p.sign())
	amount, lo, hi := p.Amount*p.sign(), m.CI95[0], m.CI95[1]
	if amount < 0 { // a rise was promised
		amount, lo, hi = -amount, -hi, -lo
	}
	switch {
	case hi < amount:
		return NotKept
	case lo > amount:
		return More
	case lo >= half*amount:
		return Kept
	case lo > 0:
		return NotShown
	}
	return Undecided
}

// Writer writes a quantity, given in a metric unit, to what its standard deviation supports, with its unit; a sd of 0 marks a number that somebody stated.
type Writer func(x, sd float64, unit string) string

// words are what a kind is called: its unit, what its promise is about, and the two directions.
type words struct{ unit, about, less, more string }

var said = map[Kind]words{
	Mass:         {"kg", "as if the car were lighter", "lighter", "heavier"},
	Acceleration: {"%", "more acceleration", "more", "less"},
	Power:        {"kW", "more while accelerating", "more", "less"},
	Seconds:      {"s", "sooner", "sooner", "later"},
	Inertia:      {"kg m^2", "less rotating inertia", "less", "more"},
	InertiaPct:   {"%", "less rotating inertia", "less", "more"},
	PartMass:     {"kg", "off the parts", "lighter", "heavier"},
}

// Sentence says what was promised, what was measured and what follows, with both numbers.
func (p *Promise) Sentence(m *stats.Estimate, o Outcome, write Writer) string {
	text := "Promised " + p.Words(write) + "."
	if m == nil {
		return text
	}
	w := said[p.Kind]
	m = m.Scale(p.sign())
	rise := p.Amount*p.sign() < 0
	if rise {
		m, w.less, w.more = m.Scale(-1), w.more, w.less
	}
	return text + " Measured " + span(m, w, write) + " " + p.follows(m, o, rise)
}

// Unit is that of what was measured for the promise.
func (p *Promise) Unit() string {
	if w, ok := said[p.Kind]; ok {
		return w.unit
	}
	return "N m"
}

// between writes two quantities of one unit, with the unit once: "84 and 134 kg".
func between(lo, hi, sd float64, unit string, write Writer) string {
	number, _, _ := strings.Cut(write(lo, sd, unit), " ")
	return number + " and " + write(hi, sd, unit)
}

// span writes a value and its interval; the directions are told where they are not all the promised one.
func span(m *stats.Estimate, w words, write Writer) string {
	lo, hi := m.CI95[0], m.CI95[1]
	if lo >= 0 {
		return fmt.Sprintf("%s, surely between %s.", write(m.Value, m.SD, w.unit), between(lo, hi, m.SD, w.unit, write))
	}
	side := func(x float64) string {
		if x < 0 {
			return write(-x, m.SD, w.unit) + " " + w.more
		}
		return write(x, m.SD, w.unit) + " " + w.less
	}
	if hi < 0 {
		lo, hi = hi, lo // the smaller first
	}
	return fmt.Sprintf("%s, surely between %s and %s.", side(m.Value), side(lo), side(hi))
}

// follows says what follows from the interval; m faces the promise.
func (p *Promise) follows(m *stats.Estimate, o Outcome, rise bool) string {
	amount := math.Abs(p.Amount)
	switch o {
	case More:
		return "That is more than was promised."
	case Kept:
		return "The promise lies within that, and less than half of it is ruled out."
	case NotShown:
		return "The promise lies within that, but so does less than half of it: it is not shown."
	case NotKept:
		switch {
		case m.CI95[1] < 0:
			return "It went the other way."
		case m.CI95[1] < half*amount:
			return "More than half of the promise is ruled out."
		}
		return "That is less than was promised."
	}
	return "No change at all fits as well."
}

// Words is the promise in words: "110 kg (as if the car were lighter) in first gear".
func (p *Promise) Words(write Writer) string {
	w, ok := said[p.Kind]
	if !ok {
		return p.clutchWords(write)
	}
	text := write(math.Abs(p.Amount), 0, w.unit)
	switch rise := p.Amount*p.sign() < 0; {
	case rise && p.Kind == Mass:
		text += " (as if the car were heavier)"
	case rise && (p.Kind == Inertia || p.Kind == InertiaPct):
		text += " more rotating inertia"
	case p.Kind == Mass:
		text += " (" + w.about + ")"
	default:
		text += " " + w.about
	}
	if p.Gear > 0 {
		text += " in " + gear(p.Gear)
	}
	if p.AtRPM > 0 {
		text += fmt.Sprintf(" at %.0f rpm", p.AtRPM)
	}
	if p.ToKmh > 0 {
		text += " from " + write(p.FromKmh, 0, "km/h") + " to " + write(p.ToKmh, 0, "km/h")
	}
	return text
}

func (p *Promise) clutchWords(write Writer) string {
	if p.Kind == ClutchPower && p.AtRPM > 0 {
		return fmt.Sprintf("that the clutch holds %s at %.0f rpm, that is %s", write(p.Amount, 0, "kW"), p.AtRPM, write(p.ClutchTorque(), 0, "N m"))
	}
	return "that the clutch holds " + write(p.Amount, 0, "N m")
}

// ClutchTorque is the torque in N m that the clutch was said to hold: T = P / w where a power was; 0 for other kinds.
func (p *Promise) ClutchTorque() float64 {
	switch {
	case p.Kind == Torque:
		return p.Amount
	case p.Kind == ClutchPower && p.AtRPM > 0:
		return 1000 * p.Amount / (p.AtRPM * math.Pi / 30)
	}
	return 0
}

func gear(n int) string {
	names := [...]string{"", "first", "second", "third", "fourth", "fifth", "sixth"}
	if n < len(names) {
		return names[n] + " gear"
	}
	return fmt.Sprintf("gear %d", n)
}

// Metric is the writer of the results: metric, three digits.
func Metric(x, sd float64, unit string) string {
	switch {
	case unit == "s" && sd > 0:
		return fmt.Sprintf("%.2f s", x)
	case unit == "kg m^2":
		unit = "kg m²"
	}
	return fmt.Sprintf("%.4g", rounded(x, sd)) + " " + unit
}

// tenth is the step below which a number keeps its decimals.
const tenth = 0.1

// rounded leaves of a measured number what its standard deviation supports: two digits of it.
func rounded(x, sd float64) float64 {
	if !(sd > 0) || math.IsInf(sd, 0) {
		return x
	}
	step := math.Pow10(int(math.Floor(math.Log10(sd))) - 1)
	if step < tenth {
		return math.Round(x/step) * step
	}
	return math.Round(x)
}
