package text

import (
	"fmt"
	"math"
	"strings"

	"flywitness/analysis"
	"flywitness/analysis/detect"
	"flywitness/analysis/slip"
	"flywitness/analysis/stats"
	"flywitness/figure"
	"flywitness/finding"
)

func (w writer) slip(f *slip.Finding, question string) Answer {
	a := Answer{Question: question, Next: w.texts(f.WhatToDrive)}
	switch f.Verdict {
	case slip.Holds:
		a.Tone, a.Headline = Good, "The clutch holds."
		a.Sentence = join(w.text(f.Reason), w.upTo(f))
		if len(f.Reason) == 0 {
			a.Sentence = join(w.held(f))
		}
	case slip.Slips:
		a.Tone, a.Headline, a.Slips = Act, "The clutch slips.", true
		a.Sentence = join(w.text(f.Reason), w.onset(f))
	default:
		a.Tone, a.Headline = Open, "Cannot tell whether the clutch slips."
		a.Sentence = join(w.text(f.Reason))
	}
	a.Numbers = w.slipNumbers(f)
	return a
}

// held says what holds means: up to which torque, in how many pulls, and the slip that would have shown.
func (w writer) held(f *slip.Finding) string {
	s := "No slip seen"
	if e := f.HighestTorqueHeld; e != nil {
		s = w.carried(e)
	}
	n := 0
	for _, p := range f.Pulls {
		if p.Verdict == slip.Holds {
			n++
		}
	}
	switch {
	case n == 1:
		s += " in one single pull"
	case n > 1:
		s += fmt.Sprintf(" in %d pulls", n)
	}
	if d := f.SmallestDetectable; d != nil {
		s += "; anything above " + pct(*d) + " would have shown"
	}
	return s
}

// upTo adds the torque to a reason that does not say it.
func (w writer) upTo(f *slip.Finding) string {
	if f.HighestTorqueHeld == nil || len(f.Reason) == 0 || f.Reason.Has(finding.NoSlipSeen) {
		return ""
	}
	return w.carried(f.HighestTorqueHeld)
}

// carried says what a clutch surely carried, and the best estimate of the most.
func (w writer) carried(e *stats.Estimate) string {
	return finding.New(finding.CarriedAtLeast, finding.Estimate("held", finding.NewtonMetres, e)).In(w.u)
}

func (w writer) onset(f *slip.Finding) string {
	if f.OnsetTorque == nil {
		return ""
	}
	return "Slip " + w.begins() + " at " + w.u.Number(f.OnsetTorque.Value, f.OnsetTorque.SD, "N m") + " of torque through the clutch"
}

func (w writer) begins() string {
	if w.past {
		return "began"
	}
	return "begins"
}

func (w writer) slipNumbers(f *slip.Finding) (out []Number) {
	worst := (*slip.Event)(nil)
	for i, e := range f.Events {
		if counts(e) && (worst == nil || e.PeakSlip > worst.PeakSlip) {
			worst = &f.Events[i]
		}
	}
	if worst != nil {
		out = append(out, Number{"most slip", fmt.Sprintf("%s, %.0f rpm, in %s", pct(worst.PeakSlip), worst.PeakSlipRPM, gear(worst.Gear))})
	}
	if f.OnsetTorque != nil {
		out = append(out, w.number("slip "+w.begins()+" at", w.u.Estimate(f.OnsetTorque, "N m")))
	}
	if text := w.heat(f); text != "" {
		out = append(out, Number{"heat of the worst slip", text})
	}
	if f.HighestTorqueHeld != nil {
		out = append(out, w.number("highest torque held", w.u.Estimate(f.HighestTorqueHeld, "N m")))
	}
	if len(f.TorqueBasis) > 0 {
		out = append(out, Number{"how torque was found", w.text(f.TorqueBasis)})
	}
	if f.SmallestDetectable != nil {
		text := pct(*f.SmallestDetectable)
		if f.SmallestSeconds != nil {
			text += " lasting " + figure.Significant(*f.SmallestSeconds, 2) + " s"
		}
		out = append(out, Number{"smallest slip that would have shown", text})
	}
	if len(f.Pulls) > 0 {
		out = append(out, Number{"pulls judged", pullCount(f.Pulls)})
	}
	if f.Pattern != "" {
		out = append(out, Number{"pattern", finding.New(finding.Code(f.Pattern)).String()})
	}
	if len(f.LikelyCauses) > 0 {
		out = append(out, Number{"likely causes", strings.Join(w.texts(f.LikelyCauses), "; ")})
	}
	return out
}

const (
	ironHeat = 0.45 // kJ/(kg K), specific heat of iron at room temperature (CRC Handbook, from memory)
	ironMass = 10.0 // kg of flywheel and pressure plate, about what a car's weigh together. Common practice, no source
)

// heat says how much heat the worst slip left in the clutch, by what it does to the iron around the lining; "" where no heat is known.
func (w writer) heat(f *slip.Finding) string {
	most := 0.0 // kJ
	for _, e := range f.Events {
		if counts(e) && e.Energy != nil {
			most = math.Max(most, *e.Energy/1000)
		}
	}
	if most <= 0 {
		return ""
	}
	return finding.New(finding.HeatOfSlip, finding.Quantity("heat", finding.Kilojoules, most), finding.Mass("iron", ironMass),
		finding.Quantity("rise", finding.Kelvin, most/(ironMass*ironHeat))).In(w.u)
}

// pullCount writes "10 at full load, 26 lighter: 36 without slip".
func pullCount(pulls []slip.Pull) string {
	n := map[slip.Verdict]int{}
	for _, p := range pulls {
		n[p.Verdict]++
	}
	var parts []string
	for _, v := range []slip.Verdict{slip.Slips, slip.Holds, slip.Inconclusive} {
		if n[v] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n[v], PullVerdict(v)))
		}
	}
	full := 0
	for _, p := range pulls {
		if p.FullLoad {
			full++
		}
	}
	var load []string
	if full > 0 {
		load = append(load, fmt.Sprintf("%d at full load", full))
	}
	if lighter := len(pulls) - full; lighter > 0 {
		load = append(load, fmt.Sprintf("%d lighter", lighter))
	}
	return strings.Join(load, ", ") + ": " + strings.Join(parts, ", ")
}

// PullVerdict says a pull's verdict in a word or two.
func PullVerdict(v slip.Verdict) string {
	switch v {
	case slip.Holds:
		return "without slip"
	case slip.Slips:
		return "with slip"
	}
	return "cannot tell"
}

// counts tells whether an event is slip, and not something that only looks like it.
func counts(e slip.Event) bool { return e.Kind == "" || e.Kind == detect.KindSlip }

// EventKind says in words why an event does not count as slip.
func EventKind(kind detect.Kind) string {
	switch kind {
	case detect.KindWheelspin:
		return "wheelspin"
	case detect.KindCreep:
		return "tyres that creep"
	case detect.KindEngagement:
		return "the clutch being let in"
	case detect.KindShift:
		return "a gear change"
	case detect.KindPedal:
		return "a foot on the clutch"
	case detect.KindShort:
		return "too short to judge"
	case detect.KindNoForce:
		return "a lift or a gear change"
	case detect.KindSignal:
		return "error of a signal"
	case detect.KindCarriedMore:
		return "not the clutch, which carried more"
	case detect.KindOtherGear:
		return "another gear explains it"
	case "", detect.KindSlip:
		return "slip"
	}
	return strings.ReplaceAll(string(kind), "_", " ")
}

func (w writer) learnt(r *analysis.Result) Answer {
	a := Answer{Question: "What does the log tell of the car?", Tone: Open, Headline: "Nothing could be learnt from this log."}
	if n := len(r.Warnings); n > 0 { // what the log itself warns of comes first, what learning met comes last
		a.Sentence = join(r.Warnings[n-1].In(w.u))
	}
	c := r.Calibration
	if c == nil || len(c.Gears) == 0 {
		return a
	}
	a.Tone, a.Headline, a.Sentence = Fact, fmt.Sprintf("Learnt the gearing of %s.", count(len(c.Gears), "gear")), ""
	for _, g := range c.Gears {
		if g.RPMPerKmh != nil {
			value := w.u.Estimate(g.RPMPerKmh, "rpm per km/h")
			a.Numbers = append(a.Numbers, Number{gear(g.Gear), fmt.Sprintf("%s, seen for %.0f s", value, g.Seconds)})
		}
	}
	if c.SpeedLag != nil {
		a.Numbers = append(a.Numbers, Number{"road speed comes late by", w.u.Estimate(c.SpeedLag, "s")})
	}
	if c.SpeedStep > 0 {
		a.Numbers = append(a.Numbers, Number{"road speed step", w.u.Number(c.SpeedStep, 0, "km/h") + rounding(c.SpeedRounding)})
	}
	return a
}

func rounding(kind string) string {
	switch kind {
	case "floor":
		return ", cut off downwards"
	case "round":
		return ", rounded"
	}
	return ""
}
