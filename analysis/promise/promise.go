// Package promise judges what was promised of a job by what was measured, and says it in a sentence with both numbers.
package promise

import (
	"math"

	"flywitness/analysis/stats"
	"flywitness/finding"
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

// Verdict is an outcome in the three words of the results.
type Verdict string

// The verdicts.
const (
	Supported    Verdict = "supported"
	NotSupported Verdict = "not_supported"
	CannotTell   Verdict = "cannot_tell"
)

// Verdict is the outcome in three words.
func (o Outcome) Verdict() Verdict {
	switch o {
	case Kept, More:
		return Supported
	case NotKept:
		return NotSupported
	}
	return CannotTell
}

// Promise is one of them. Amount is in the unit of its kind; Gear, AtRPM and the span are 0 where none was named.
type Promise struct {
	Kind           Kind
	Amount         float64
	Gear           int
	AtRPM          float64
	FromKmh, ToKmh float64
}

// Stated returns the numbers of the promise under their names in JSON.
func (p *Promise) Stated() map[string]float64 {
	out := map[string]float64{string(p.Kind): p.Amount}
	for name, x := range map[string]float64{"gear": float64(p.Gear), "at_rpm": p.AtRPM, "from_kmh": p.FromKmh,
		"to_kmh": p.ToKmh} {
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

// half of a promise is what is asked to be sure: practice.md speaks of "less than half of what was promised is
// ruled out".
const half = 0.5

// Judge sets a promise against the interval of what was measured; nil was not measured. A promise is kept where
// it lies within the interval and less than half of it is ruled out, more than kept where even the lower end
// exceeds it, not kept where not even the upper end reaches it.
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

// units of what is measured for each kind.
var units = map[Kind]finding.Unit{
	Mass: finding.Kilograms, Acceleration: finding.Percent, Power: finding.Kilowatts, Seconds: finding.Seconds,
	Inertia:    finding.KgM2,
	InertiaPct: finding.Percent, PartMass: finding.Kilograms, Torque: finding.NewtonMetres,
	ClutchPower: finding.Kilowatts,
}

// Unit is that of what was measured for the promise, as package figure spells it.
func (p *Promise) Unit() string {
	if p.Kind == ClutchPower {
		return string(finding.NewtonMetres)
	}
	return string(units[p.Kind])
}

// Sentence says what was promised, what was measured and what follows, with both numbers.
func (p *Promise) Sentence(m *stats.Estimate, o Outcome) finding.Text {
	text := finding.Say(finding.New(finding.Promised, finding.Saying("what", p.Words())))
	if m == nil {
		return text
	}
	m = m.Scale(p.sign())
	if p.rise() {
		m = m.Scale(-1)
	}
	return append(text, p.measured(m), finding.New(p.follows(m, o)))
}

// rise tells that more was promised where less is the rule: a heavier flywheel.
func (p *Promise) rise() bool { return p.Amount*p.sign() < 0 }

// measured says a value and its interval; the directions are told where they are not all the promised one. m
// faces the promise.
func (p *Promise) measured(m *stats.Estimate) finding.Finding {
	unit := units[p.Kind]
	at := func(name string, x float64) finding.Value {
		return finding.Estimate(name, unit, &stats.Estimate{Value: x, SD: m.SD, CI95: m.CI95})
	}
	lo, hi := m.CI95[0], m.CI95[1]
	if lo >= 0 {
		return finding.New(finding.Measured, at("measured", m.Value), at("low", lo), at("high", hi))
	}
	way := func(name string, x float64) finding.Value {
		return finding.Saying(name, finding.New(finding.OneWay, p.kind(), at("amount", math.Abs(x)),
			finding.Flag("gain", (x >= 0) != p.rise())))
	}
	if hi < 0 {
		lo, hi = hi, lo // the smaller first
	}
	return finding.New(finding.Measured, finding.Flag("backwards", true), at("measured", m.Value), way("way", m.Value),
		way("low_way", lo), way("high_way", hi))
}

// follows is what follows from the interval; m faces the promise.
func (p *Promise) follows(m *stats.Estimate, o Outcome) finding.Code {
	switch o {
	case More:
		return finding.PromiseExceeded
	case Kept:
		return finding.PromiseWithin
	case NotShown:
		return finding.PromiseNotShown
	case NotKept:
		switch {
		case m.CI95[1] < 0:
			return finding.PromiseOtherWay
		case m.CI95[1] < half*math.Abs(p.Amount):
			return finding.PromiseHalfGone
		}
		return finding.PromiseNotReached
	}
	return finding.PromiseNothing
}

func (p *Promise) kind() finding.Value { return finding.Name("kind", string(p.Kind)) }

// Words is the promise in words: "110 kg (as if the car were lighter) in first gear".
func (p *Promise) Words() finding.Finding {
	f := finding.New(finding.Promise, p.kind(), finding.Quantity("amount", units[p.Kind], math.Abs(p.Amount)),
		finding.Flag("rise", p.rise()))
	if p.Gear > 0 {
		f.Values = append(f.Values, finding.Gear(p.Gear))
	}
	if p.AtRPM > 0 {
		f.Values = append(f.Values, finding.EngineSpeed("at", p.AtRPM))
	}
	if p.ToKmh > 0 {
		f.Values = append(f.Values, finding.Speed("from", p.FromKmh), finding.Speed("to", p.ToKmh))
	}
	if p.Kind == ClutchPower {
		f.Values = append(f.Values, finding.Torque("torque", p.ClutchTorque()))
	}
	return f
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
