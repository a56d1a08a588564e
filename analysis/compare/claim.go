package compare

import (
	"flywitness/analysis/promise"
	"flywitness/analysis/stats"
	"flywitness/finding"
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
	text := p.Sentence(measured, o)
	if why != nil {
		text = append(text, *why)
	}
	if p.Kind == promise.Seconds && p.ToKmh == 0 && measured != nil {
		from, to, _ := c.worth.span(p.Gear)
		text = append(text, finding.New(finding.NoSpanNamed, finding.Speed("from", from), finding.Speed("to", to)))
	}
	f.Claim = &Claim{Promise: *p, Stated: p.Stated(), Measured: measured, Outcome: o, Verdict: o.Verdict(), Reason: text}
}

// measuredFor is what was measured of the quantity that was promised, or why it was not.
func (c *comparison) measuredFor(p *promise.Promise) (*stats.Estimate, *finding.Finding) {
	f := c.finding
	none := func(why finding.Code, values ...finding.Value) (*stats.Estimate, *finding.Finding) {
		f := finding.New(why, values...)
		return nil, &f
	}
	if c.contradiction {
		return none(finding.WaysContradictClaim)
	}
	switch p.Kind {
	case promise.Inertia:
		if f.Change == nil {
			return none(finding.NoChangeMeasured)
		}
		return f.Change, nil
	case promise.InertiaPct:
		if f.Ratio == nil || c.blocked != nil && !c.carried {
			return none(finding.NoRatioMeasured)
		}
		return reduction(f.Ratio), nil
	case promise.PartMass:
		return none(finding.ScalesNeeded)
	}
	w := c.worth
	if w == nil {
		return none(finding.NoWorthMeasured)
	}
	if p.Gear >= len(w.car.usual.Gearing) || w.car.usual.Gearing[p.Gear] <= 0 {
		return none(finding.GearUnknown, finding.Gear(p.Gear))
	}
	if p.Kind == promise.Mass {
		return w.estimate(func(s *state) float64 { return s.equivalentMass(p.Gear) }), nil
	}
	if w.car.v.Mass <= 0 {
		return none(finding.ClaimNeedsMass)
	}
	if p.Kind == promise.Acceleration {
		return w.estimate(func(s *state) float64 { return s.gain(p.Gear) }), nil
	}
	if w.car.curve == nil {
		return none(finding.ClaimNeedsPull)
	}
	return w.inPulls(p)
}

// inPulls is the power or the seconds of a promise, where the pulls reach the engine speeds that it names.
func (w *worth) inPulls(p *promise.Promise) (*stats.Estimate, *finding.Finding) {
	reach := finding.New(finding.PullsReach, finding.EngineSpeed("from", w.car.curve.Low),
		finding.EngineSpeed("to", w.car.curve.High))
	if p.Kind == promise.Power {
		rpm := p.AtRPM
		if rpm == 0 {
			rpm = w.car.powerSpeed(p.Gear)
		}
		if !w.car.curve.Covers(rpm) {
			return nil, &reach
		}
		return w.estimate(func(s *state) float64 { return s.power(p.Gear, rpm) }), nil
	}
	from, to := p.FromKmh, p.ToKmh
	if to == 0 {
		var ok bool
		if from, to, ok = w.span(p.Gear); !ok {
			return nil, &reach
		}
	}
	k := w.car.usual.Gearing[p.Gear]
	if c := w.car.curve; !c.Covers(rpmAt(from, k)) || !c.Covers(rpmAt(to, k)) {
		return nil, &reach
	}
	return w.spanTime(p.Gear, from, to).Saved, nil
}

// reduction turns the ratio before over after into per cent of inertia taken off.
func reduction(ratio *stats.Estimate) *stats.Estimate {
	if ratio == nil {
		return nil
	}
	pct := func(r float64) float64 { return 100 * (1 - 1/r) }
	return &stats.Estimate{Value: pct(ratio.Value), SD: 100 * ratio.SD / (ratio.Value * ratio.Value),
		CI95: [2]float64{pct(ratio.CI95[0]), pct(ratio.CI95[1])}}
}
