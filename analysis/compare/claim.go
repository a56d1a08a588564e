package compare

import (
	"fmt"

	"flywitness/analysis/stats"
)

// What a claim can be found to be.
const (
	supported    = "supported"
	notSupported = "not_supported"
	cannotTell   = "cannot_tell"
)

// judgeClaim sets a promise on the inertia against what was measured.
func (c *comparison) judgeClaim() {
	p := c.opt.Claim
	if p == nil {
		return
	}
	f := c.finding
	claim := &Claim{Stated: map[string]float64{}, Verdict: cannotTell}
	f.Claim = claim
	var promised float64
	unit := ""
	switch {
	case p.EquivalentMass != 0:
		gear := max(p.Gear, 1)
		claim.Stated["equivalent_mass_kg"], claim.Stated["gear"] = p.EquivalentMass, float64(gear)
		promised, unit = p.EquivalentMass, "kg"
		for _, g := range f.ByGear {
			if g.Gear == gear {
				claim.Measured = g.EquivalentMass
			}
		}
	case p.InertiaChange != 0:
		claim.Stated["inertia_change_kgm2"] = p.InertiaChange
		promised, unit = -p.InertiaChange, "kg m²"
		claim.Measured = f.Change.Scale(-1)
	case p.ReductionPct != 0:
		claim.Stated["inertia_reduction_pct"] = p.ReductionPct
		promised, unit = p.ReductionPct, "%"
		claim.Measured = reduction(f.Ratio)
	default:
		f.Claim = nil
		return
	}
	if claim.Measured == nil {
		claim.Reason = "what was promised could not be measured from these logs"
		return
	}
	claim.Verdict, claim.Reason = against(promised, claim.Measured, unit)
	if p.InertiaChange != 0 {
		claim.Measured = f.Change
	}
}

// against judges a promised gain by the interval of the measured one. Less than half of a promise counts as not kept, so a promise is
// supported only when less than half of it is ruled out, and refused when all of it is.
func against(promised float64, m *stats.Estimate, unit string) (verdict, reason string) {
	lo, hi := m.CI95[0], m.CI95[1]
	if promised < 0 {
		promised, lo, hi = -promised, -hi, -lo
	}
	switch {
	case hi < promised:
		if hi < promised/2 {
			return notSupported, fmt.Sprintf("at most %.3g %s of the %.3g %s promised: more than half of it is ruled out", max(hi, 0), unit, promised, unit)
		}
		return notSupported, fmt.Sprintf("at most %.3g %s of the %.3g %s promised", hi, unit, promised, unit)
	case lo >= promised/2:
		return supported, fmt.Sprintf("the promise lies within what was measured, and less than half of it is ruled out (at least %.3g %s)", lo, unit)
	}
	return cannotTell, fmt.Sprintf("between %.3g and %.3g %s fits the data: less than half of the promise is not ruled out", lo, hi, unit)
}

// reduction turns the ratio before over after into per cent of inertia taken off.
func reduction(ratio *stats.Estimate) *stats.Estimate {
	if ratio == nil {
		return nil
	}
	pct := func(r float64) float64 { return 100 * (1 - 1/r) }
	return &stats.Estimate{Value: pct(ratio.Value), SD: 100 * ratio.SD / (ratio.Value * ratio.Value), CI95: [2]float64{pct(ratio.CI95[0]), pct(ratio.CI95[1])}}
}
