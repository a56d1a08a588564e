package compare

import (
	"fmt"

	"flywitness/analysis/promise"
	"flywitness/analysis/stats"
)

// judgeClaim sets a promise on the change against what was measured.
func (c *comparison) judgeClaim() {
	p := c.opt.Claim
	if p == nil {
		return
	}
	f := c.finding
	measured, why := c.measuredFor(p)
	o := p.Judge(measured)
	note := ""
	if p.Kind == promise.Seconds && p.ToKmh == 0 && measured != nil {
		from, to, _ := c.worth.span(p.Gear)
		note = fmt.Sprintf("No span was named; this is over %.0f to %.0f km/h, as far as the pulls go.", from, to)
	}
	f.Claim = &Claim{Promise: *p, Stated: p.Stated(), Measured: measured, Outcome: o, Verdict: o.Verdict(), Note: why + note,
		Reason: p.Sentence(measured, o, promise.Metric)}
	if f.Claim.Note != "" {
		f.Claim.Reason += " " + f.Claim.Note
	}
}

// measuredFor is what was measured of the quantity that was promised, or a sentence on why it was not.
func (c *comparison) measuredFor(p *promise.Promise) (*stats.Estimate, string) {
	f := c.finding
	none := func(e *stats.Estimate, why string) (*stats.Estimate, string) {
		if e == nil {
			return nil, why
		}
		return e, ""
	}
	if c.contradiction {
		return nil, "The ways to the inertia contradict each other, so nothing is set against the promise."
	}
	switch p.Kind {
	case promise.Inertia:
		return none(f.Change, "The change of inertia could not be measured from these logs.")
	case promise.InertiaPct:
		if f.Ratio == nil || c.blocked != "" && c.carried == "" {
			return nil, "The ratio of the inertias could not be measured from these logs."
		}
		return reduction(f.Ratio), ""
	case promise.PartMass:
		return nil, "A drive cannot weigh a part: put the old one and the new one on scales. What the weight does depends on how far from the middle it was taken off."
	}
	w := c.worth
	if w == nil {
		return nil, "What the change is worth could not be measured from these logs."
	}
	if p.Gear >= len(w.car.usual.Gearing) || w.car.usual.Gearing[p.Gear] <= 0 {
		return nil, fmt.Sprintf("The gearing of gear %d is not known.", p.Gear)
	}
	if p.Kind == promise.Mass {
		return w.estimate(func(s *state) float64 { return s.equivalentMass(p.Gear) }), ""
	}
	if w.car.v.Mass <= 0 {
		return nil, "That needs the mass of the car in the vehicle file."
	}
	if p.Kind == promise.Acceleration {
		return w.estimate(func(s *state) float64 { return s.gain(p.Gear) }), ""
	}
	if w.car.curve == nil {
		return nil, "That needs a full-load pull, from which the engine's torque is known."
	}
	return w.inPulls(p)
}

// inPulls is the power or the seconds of a promise, where the pulls reach the engine speeds that it names.
func (w *worth) inPulls(p *promise.Promise) (*stats.Estimate, string) {
	reach := fmt.Sprintf("The full-load pulls reach from %.0f to %.0f rpm only; that needs others.", w.car.curve.Low, w.car.curve.High)
	if p.Kind == promise.Power {
		rpm := p.AtRPM
		if rpm == 0 {
			rpm = w.car.powerSpeed(p.Gear)
		}
		if !w.car.curve.Covers(rpm) {
			return nil, reach
		}
		return w.estimate(func(s *state) float64 { return s.power(p.Gear, rpm) }), ""
	}
	from, to := p.FromKmh, p.ToKmh
	if to == 0 {
		var ok bool
		if from, to, ok = w.span(p.Gear); !ok {
			return nil, reach
		}
	}
	k := w.car.usual.Gearing[p.Gear]
	if c := w.car.curve; !c.Covers(rpmAt(from, k)) || !c.Covers(rpmAt(to, k)) {
		return nil, reach
	}
	return w.spanTime(p.Gear, from, to).Saved, ""
}

// reduction turns the ratio before over after into per cent of inertia taken off.
func reduction(ratio *stats.Estimate) *stats.Estimate {
	if ratio == nil {
		return nil
	}
	pct := func(r float64) float64 { return 100 * (1 - 1/r) }
	return &stats.Estimate{Value: pct(ratio.Value), SD: 100 * ratio.SD / (ratio.Value * ratio.Value), CI95: [2]float64{pct(ratio.CI95[0]), pct(ratio.CI95[1])}}
}
