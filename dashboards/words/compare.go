package words

import (
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"

	"flywitness/analysis"
	"flywitness/analysis/compare"
	"flywitness/analysis/inertia"
	"flywitness/dashboards/evidence"
	"flywitness/dashboards/figure"
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
		out = append(out, w.slip(c.SlipBefore, "Did the clutch hold before the job?"))
	}
	return out
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
	a := Answer{Question: "Did the job change the rotating inertia?", Next: c.WhatToDrive}
	value, lo, hi, known := changePct(c)
	below := ""
	if c.ChangeBelow != nil {
		below = "Any change is smaller than " + pct(*c.ChangeBelow)
	}
	switch {
	case c.Verdict == compare.Reduced && known:
		a.Tone, a.Headline = Good, fmt.Sprintf("The rotating inertia fell by %s.", pct(-value))
		a.Sentence = join(reasonOr(c.Reason, fmt.Sprintf("With 95 %% confidence by %s to %s", pct(-hi), pct(-lo))), chance(c.PValue))
	case c.Verdict == compare.Increased && known:
		a.Tone, a.Headline = Act, fmt.Sprintf("The rotating inertia rose by %s.", pct(value))
		a.Sentence = join(reasonOr(c.Reason, fmt.Sprintf("With 95 %% confidence by %s to %s", pct(lo), pct(hi))), chance(c.PValue))
	case c.Verdict == compare.Reduced:
		a.Tone, a.Headline, a.Sentence = Good, "The rotating inertia fell.", join(chance(c.PValue), c.Reason)
	case c.Verdict == compare.Increased:
		a.Tone, a.Headline, a.Sentence = Act, "The rotating inertia rose.", join(chance(c.PValue), c.Reason)
	case c.Verdict == compare.NoChange:
		a.Tone, a.Headline, a.Sentence = Fact, "The rotating inertia did not change.", join(below, c.Reason)
	default:
		a.Tone, a.Headline, a.Sentence = Open, "Cannot tell whether the rotating inertia changed.", join(c.Reason, below)
	}
	a.Numbers = w.changeNumbers(c)
	return a
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
	for i, g := range c.ByGear {
		if i < 2 && g.EquivalentMass != nil {
			out = append(out, Number{"worth in " + gear(g.Gear), "as if the car were lighter by " + w.u.Estimate(g.EquivalentMass, "kg")})
		}
	}
	for _, s := range c.SpanTimes {
		if s.Saved == nil {
			continue
		}
		from, unit := w.u.In(s.FromKmh, "km/h")
		to, _ := w.u.In(s.ToKmh, "km/h")
		out = append(out, Number{fmt.Sprintf("%.0f to %.0f %s in %s", from, to, unit, gear(s.Gear)),
			fmt.Sprintf("at most %s s sooner; nothing where the tyres or the electronics are the limit", figureSeconds(s.Saved.CI95[1]))})
	}
	return out
}

func figureSeconds(s float64) string { return fmt.Sprintf("%.2f", math.Max(0, s)) }

func (w writer) claim(c *compare.Claim) Answer {
	a := Answer{Question: "Was the promise kept?", Sentence: join(c.Reason)}
	stated := Stated(c.Stated)
	switch c.Verdict {
	case "supported":
		a.Tone, a.Headline = Good, fmt.Sprintf("The promise (%s) agrees with what was measured.", stated)
	case "not_supported":
		a.Tone, a.Headline = Act, fmt.Sprintf("The promise (%s) is not borne out.", stated)
	default:
		a.Tone, a.Headline = Open, fmt.Sprintf("Cannot tell whether the promise (%s) was kept.", stated)
	}
	if c.Measured != nil {
		a.Numbers = []Number{{"measured", w.u.Estimate(c.Measured, claimUnit(c.Stated))}}
	}
	return a
}

func (w writer) clutchClaim(c *analysis.ClutchClaim) Answer {
	a := Answer{Question: "Does the clutch hold what was promised?", Sentence: join(c.Reason)}
	stated := w.u.Number(c.StatedTorque, 0, "N m")
	switch c.Verdict {
	case "supported":
		a.Tone, a.Headline = Good, fmt.Sprintf("Yes: the promised %s were carried without slip.", stated)
	case "not_supported":
		a.Tone, a.Headline = Act, fmt.Sprintf("No: the clutch slips below the promised %s.", stated)
	default:
		a.Tone, a.Headline = Open, fmt.Sprintf("Cannot tell whether the clutch holds the promised %s.", stated)
	}
	if c.Measured != nil {
		a.Numbers = []Number{w.number("seen", w.u.Estimate(c.Measured, "N m"))}
	}
	return a
}

// Stated writes a promise: "95 kg lighter in first gear".
func Stated(m map[string]float64) string {
	var keys []string
	for k := range m {
		if k != "gear" && k != "at_rpm" {
			keys = append(keys, k)
		}
	}
	sort.Strings(keys)
	var parts []string
	for _, k := range keys {
		v := strconv.FormatFloat(m[k], 'g', 4, 64)
		switch k {
		case "equivalent_mass_kg":
			parts = append(parts, "as if "+v+" kg lighter")
		case "acceleration_gain_pct":
			parts = append(parts, v+" % more acceleration")
		case "equivalent_power_kw":
			parts = append(parts, v+" kW")
		case "inertia_change_kgm2":
			parts = append(parts, "inertia change "+v+" kg m²")
		default:
			parts = append(parts, strings.ReplaceAll(k, "_", " ")+" "+v)
		}
	}
	s := strings.Join(parts, ", ")
	if g := m["gear"]; g > 0 {
		s += " in " + gear(int(g))
	}
	return s
}

func claimUnit(m map[string]float64) string {
	for key, unit := range map[string]string{"equivalent_mass_kg": "kg", "acceleration_gain_pct": "%", "equivalent_power_kw": "kW", "inertia_change_kgm2": "kg m^2"} {
		if _, ok := m[key]; ok {
			return unit
		}
	}
	return ""
}

func (w writer) inertia(f *inertia.Finding, when string) Answer {
	a := Answer{Question: "What is the effective rotating inertia" + when + "?", Next: f.WhatToDrive}
	if f.Inertia == nil {
		a.Tone, a.Headline = Open, "Cannot tell the effective rotating inertia"+when+"."
	} else {
		a.Tone, a.Headline = Fact, fmt.Sprintf("The effective rotating inertia%s is %s.", when, figure.Pretty(w.u.Number(f.Inertia.Value, f.Inertia.SD, "kg m^2")))
		a.Numbers = append(a.Numbers, w.number("inertia", w.u.Estimate(f.Inertia, "kg m^2")))
	}
	for _, m := range f.Methods {
		if m.Inertia != nil {
			a.Numbers = append(a.Numbers, w.number(evidence.MethodName(m.Name), w.u.Estimate(m.Inertia, "kg m^2")))
		}
	}
	if f.MethodsAgree != nil && !*f.MethodsAgree {
		a.Sentence = "The methods disagree by more than their uncertainty, so neither should be relied on alone."
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
