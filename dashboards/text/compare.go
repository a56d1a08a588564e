package text

import (
	"fmt"
	"math"
	"strconv"

	"flywitness/analysis"
	"flywitness/analysis/compare"
	"flywitness/analysis/inertia"
	"flywitness/analysis/promise"
	"flywitness/analysis/slip"
	"flywitness/dashboards/plots"
	"flywitness/figure"
	"flywitness/finding"
)

// compared answers what a comparison or a job asked: whether the clutch holds now, what changed, whether the promises were
// kept, and how it was before.
func (w writer) compared(r *analysis.Result) (out []Answer) {
	c := r.Compare
	both := c.Before != nil && c.After != nil
	switch {
	case c.SlipAfter != nil:
		out = append(out, w.slip(c.SlipAfter, "Does the clutch hold after the job?"))
	case c.SlipBefore != nil:
		out = append(out, w.slip(c.SlipBefore, "Does the clutch hold?"))
	}
	if both {
		out = append(out, w.change(c))
	} else {
		out = append(out, w.oneSide(c)...)
	}
	if c.Claim != nil {
		out = append(out, w.claim(c.Claim))
	}
	if r.Job != nil && r.Job.ClutchClaim != nil {
		out = append(out, w.clutchClaim(r.Job.ClutchClaim))
	}
	if c.SlipBefore != nil && c.SlipAfter != nil {
		out = append(out, w.before(c.SlipBefore))
	}
	return out
}

// before is the answer on the clutch of the before side: it was so, and nobody needs to act on it any more.
func (w writer) before(f *slip.Finding) Answer {
	w.past = true
	a := w.slip(f, "Did the clutch hold before the job?")
	switch f.Verdict {
	case slip.Holds:
		a.Headline = "It held."
	case slip.Slips:
		a.Headline = "It slipped."
	default:
		a.Headline = "Cannot tell whether it slipped."
	}
	if a.Tone == Act || a.Tone == Good {
		a.Tone = Fact
	}
	a.Next = nil
	return a
}

// oneSide says that a change is not known, or can no longer be shown, and gives the inertia of the only side there is.
func (w writer) oneSide(c *compare.Finding) []Answer {
	a := Answer{Question: "Did the job change the rotating inertia?", Tone: Open}
	switch {
	case c.Before != nil:
		a.Headline, a.Sentence = "Not known yet.", "There is no log from after the job."
		return []Answer{a, w.inertia(c.Before, " before the job")}
	case c.After != nil:
		a.Headline = "A drive can no longer show that."
		a.Sentence = "There is no log from before the job. The old parts beside the new ones, swung on a pendulum, still could."
		return []Answer{a, w.inertia(c.After, " after the job")}
	}
	return nil
}

func (w writer) change(c *compare.Finding) Answer {
	a := Answer{Question: "Did the job change the rotating inertia?", Next: w.texts(c.WhatToDrive)}
	value, lo, hi, known := changePct(c)
	below := ""
	if c.ChangeBelow != nil {
		below = "Any change is smaller than " + pct(*c.ChangeBelow)
	}
	switch {
	case c.Verdict == compare.Reduced && known:
		a.Tone, a.Headline = Good, fmt.Sprintf("The rotating inertia fell by %s.", pct(-value))
		a.Sentence = join(reasonOr(w.text(c.Reason), fmt.Sprintf("With 95 %% confidence by %s to %s", pct(-hi), pct(-lo))), chance(c.PValue))
	case c.Verdict == compare.Increased && known:
		a.Tone, a.Headline = Act, fmt.Sprintf("The rotating inertia rose by %s.", pct(value))
		a.Sentence = join(reasonOr(w.text(c.Reason), fmt.Sprintf("With 95 %% confidence by %s to %s", pct(lo), pct(hi))), chance(c.PValue))
	case c.Verdict == compare.Reduced:
		a.Tone, a.Headline, a.Sentence = Good, "The rotating inertia fell.", join(chance(c.PValue), w.text(c.Reason))
	case c.Verdict == compare.Increased:
		a.Tone, a.Headline, a.Sentence = Act, "The rotating inertia rose.", join(chance(c.PValue), w.text(c.Reason))
	case c.Verdict == compare.NoChange:
		a.Tone, a.Headline, a.Sentence = Fact, "The rotating inertia did not change.", join(w.text(c.Reason), unsaid(c.Reason, below))
	default:
		a.Tone, a.Headline, a.Sentence = Open, "Cannot tell whether the rotating inertia changed.", join(w.text(c.Reason), unsaid(c.Reason, below))
	}
	if c.Drag != nil {
		a.Sentence = join(a.Sentence, w.text(c.Drag.Sentence))
	}
	a.Numbers = w.changeNumbers(c)
	return a
}

// unsaid is a bound on the change, where the reason has not said it.
func unsaid(reason finding.Text, bound string) string {
	if reason.Has(finding.InertiaSame) || reason.Has(finding.ChangeOpen) {
		return ""
	}
	return bound
}

func reasonOr(reason, otherwise string) string {
	if reason != "" {
		return reason
	}
	return otherwise
}

// changePct is the change after the job in per cent of before, from the ratio before over after.
func changePct(c *compare.Finding) (value, lo, hi float64, ok bool) {
	r := c.Ratio
	if r == nil || r.Value <= 0 || r.CI95[0] <= 0 {
		return 0, 0, 0, false
	}
	of := func(ratio float64) float64 { return 100 * (1/ratio - 1) }
	return of(r.Value), of(r.CI95[1]), of(r.CI95[0]), true
}

// chance puts a p-value into words that promise no more than it says.
func chance(p *float64) string {
	switch {
	case p == nil:
		return ""
	case *p < 0.001:
		return "Had nothing changed, data like these would come up less than once in 1000 such tests"
	case *p < 0.5:
		return fmt.Sprintf("Had nothing changed, data like these would come up about once in %.0f such tests", math.Max(2, 1 / *p))
	}
	return ""
}

func (w writer) changeNumbers(c *compare.Finding) (out []Number) {
	if c.Ratio != nil {
		out = append(out, w.number("inertia before over after", w.u.Estimate(c.Ratio, "")))
	}
	if c.InertiaBefore != nil {
		out = append(out, w.number("inertia before", w.u.Estimate(c.InertiaBefore, "kg m^2")))
	}
	if c.InertiaAfter != nil {
		out = append(out, w.number("inertia after", w.u.Estimate(c.InertiaAfter, "kg m^2")))
	}
	if c.Change != nil {
		out = append(out, w.number("change", w.u.Estimate(c.Change, "kg m^2")))
	}
	if c.SmallestDetectable != nil {
		out = append(out, Number{"smallest change that would have shown", pct(*c.SmallestDetectable)})
	}
	for _, g := range c.ByGear {
		if g.Gear > lowGears || g.EquivalentMass == nil {
			continue
		}
		out = append(out, Number{"worth in " + gear(g.Gear), w.lighter(g.EquivalentMass)})
		if g.EquivalentPower != nil {
			out = append(out, Number{"power in " + gear(g.Gear), fmt.Sprintf("%s while accelerating at full load at %.0f rpm%s",
				w.gained(g.EquivalentPower), g.AtRPM, tyres(g.TyresMayLimit))})
		}
	}
	for _, s := range c.SpanTimes {
		if s.Saved == nil || s.Gear > lowGears {
			continue
		}
		from, unit := w.u.In(s.FromKmh, "km/h")
		to, _ := w.u.In(s.ToKmh, "km/h")
		out = append(out, Number{fmt.Sprintf("%.0f to %.0f %s in %s", from, to, unit, gear(s.Gear)), w.sooner(s.Saved) + tyres(s.TyresMayLimit)})
	}
	if len(c.ByGear) > 0 {
		out = append(out, Number{"what is counted", "The mass is that of the parts alone, no loss in the gearbox. Acceleration, power and time count its loss, the engine's torque in " +
			"every gear from the pulls, road load, and all that turns. They are gained at full load only. " +
			"All but the ratio goes with the mass of the car as told."})
	}
	return out
}

// lowGears are those in which a change of the flywheel is felt; the table of the page has the rest.
const lowGears = 2

// tyres says where the gain may be nil.
func tyres(limit bool) string {
	if limit {
		return "; nothing where the tyres or the electronics are the limit, as they may be at this torque"
	}
	return ""
}

func (w writer) claim(c *compare.Claim) Answer {
	a := Answer{Question: "Was the promise kept?"}
	a.Tone, a.Headline = outcome(c.Outcome)
	a.Sentence = w.text(c.Reason)
	if c.Measured != nil {
		a.Numbers = []Number{w.number("promised", c.Promise.Words().In(w.u)), w.number("measured", w.u.Estimate(c.Measured, c.Promise.Unit()))}
	}
	return a
}

// outcome is how a promise came out, as a headline.
func outcome(o promise.Outcome) (Tone, string) {
	switch o {
	case promise.Kept:
		return Good, "The promise was kept."
	case promise.More:
		return Good, "The promise was more than kept."
	case promise.NotKept:
		return Act, "The promise was not kept."
	case promise.NotShown:
		return Open, "The promise may have been kept, but that is not shown."
	}
	return Open, "Cannot tell whether the promise was kept."
}

// write writes a quantity for a promise: what was measured to what its error supports, what was stated as it was stated.
func (w writer) write(x, sd float64, unit string) string {
	value, unit2 := w.u.In(x, unit)
	if sd > 0 {
		return figure.Pretty(w.u.Number(x, sd, unit))
	}
	if value != x {
		return figure.Pretty(figure.WithUnit(figure.Significant(value, 3), unit2))
	}
	return figure.Pretty(figure.WithUnit(strconv.FormatFloat(value, 'g', 4, 64), unit2))
}

func (w writer) clutchClaim(c *analysis.ClutchClaim) Answer {
	a := Answer{Question: "Does the clutch hold what was promised?", Sentence: w.text(c.Reason)}
	stated := w.write(c.StatedTorque, 0, "N m")
	if c.Promise.Kind == promise.ClutchPower {
		stated = fmt.Sprintf("%s at %.0f rpm", w.write(c.Promise.Amount, 0, "kW"), c.Promise.AtRPM)
	}
	switch c.Outcome {
	case promise.Kept:
		a.Tone, a.Headline = Good, fmt.Sprintf("Yes: the promised %s were carried without slip.", stated)
	case promise.More:
		a.Tone, a.Headline = Good, fmt.Sprintf("Yes, and more than the promised %s.", stated)
	case promise.NotKept:
		a.Tone, a.Headline, a.Slips = Act, fmt.Sprintf("No: the clutch slips below the promised %s.", stated), true
	case promise.NotShown:
		a.Tone, a.Headline = Open, fmt.Sprintf("It may hold the promised %s, but that is not shown.", stated)
	default:
		a.Tone, a.Headline = Open, fmt.Sprintf("Cannot tell whether the clutch holds the promised %s.", stated)
	}
	if c.Measured != nil {
		a.Numbers = []Number{w.number("seen", w.u.Estimate(c.Measured, "N m"))}
	}
	return a
}

func (w writer) inertia(f *inertia.Finding, when string) Answer {
	a := Answer{Question: "What is the effective rotating inertia" + when + "?", Next: w.texts(f.WhatToDrive)}
	if f.Inertia == nil {
		a.Tone, a.Headline = Open, "Cannot tell the effective rotating inertia"+when+"."
	} else {
		a.Tone, a.Headline = Fact, fmt.Sprintf("The effective rotating inertia%s is %s.", when, figure.Pretty(w.u.Number(f.Inertia.Value, f.Inertia.SD, "kg m^2")))
		a.Numbers = append(a.Numbers, w.number("inertia", w.u.Estimate(f.Inertia, "kg m^2")))
	}
	for _, m := range f.Methods {
		if m.Inertia != nil {
			a.Numbers = append(a.Numbers, w.number(plots.MethodName(m.Name), w.u.Estimate(m.Inertia, "kg m^2")))
		}
	}
	if f.Inertia != nil && f.MassKg > 0 {
		a.Sentence = fmt.Sprintf("It goes with the mass of the car, taken as %s: a load or a trailer that is not in it makes it wrong in proportion, and the log does not show that.",
			w.u.Number(f.MassKg, 0, "kg"))
	}
	if f.MethodsAgree != nil && !*f.MethodsAgree {
		a.Sentence = join(a.Sentence, "The methods disagree by more than their uncertainty, so neither should be relied on alone.")
	}
	if f.Drag != nil {
		a.Numbers = append(a.Numbers, w.number(fmt.Sprintf("drag of the closed engine at %.0f rpm", f.DragRPM), w.u.Estimate(f.Drag, "N m")))
	}
	used := 0
	for _, r := range f.Runs {
		if r.Used {
			used++
		}
	}
	a.Numbers = append(a.Numbers, Number{"runs used", fmt.Sprintf("%d of %d", used, len(f.Runs))})
	return a
}
