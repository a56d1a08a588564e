package job

import (
	"math"

	"flywitness/vehicle"
	"flywitness/vehicle/tomlfile"
)

// Claim is a promise to test. One promise on the inertia and one on the clutch may stand in a job; nil is not claimed.
type Claim struct {
	EquivalentMass *float64 // kg, in Gear
	Gear           int
	InertiaChange  *float64 // kg m^2, after minus before: negative when reduced
	ReductionPct   *float64 // of the effective inertia
	Torque         *float64 // N m that the clutch is said to hold
	Power          *float64 // W that the clutch is said to hold, at AtRPM
	AtRPM          float64
}

// ClutchTorque returns the torque in N m that the clutch is said to hold: given as such, or as a power at an engine speed,
// T = P / w. ok is false when none is claimed.
func (c *Claim) ClutchTorque() (torque float64, ok bool) {
	switch {
	case c == nil:
		return 0, false
	case c.Torque != nil:
		return *c.Torque, true
	case c.Power != nil && c.AtRPM > 0:
		return *c.Power / (c.AtRPM * math.Pi / 30), true
	}
	return 0, false
}

// Stated returns the claim by the names of the results.
func (c *Claim) Stated() map[string]float64 {
	out := map[string]float64{}
	put := func(name string, x *float64, factor float64) {
		if x != nil {
			out[name] = *x * factor
		}
	}
	put("equivalent_mass_kg", c.EquivalentMass, 1)
	put("inertia_change_kgm2", c.InertiaChange, 1)
	put("inertia_reduction_pct", c.ReductionPct, 1)
	put("torque_nm", c.Torque, 1)
	put("power_kw", c.Power, 1e-3)
	if c.Gear > 0 {
		out["gear"] = float64(c.Gear)
	}
	if c.AtRPM > 0 {
		out["at_rpm"] = c.AtRPM
	}
	return out
}

func readClaim(t *tomlfile.Table) *Claim {
	c := &Claim{}
	mass := t.Quantity(vehicle.QuantityKeys("equivalent_mass", "mass")...)
	change := t.Quantity(vehicle.QuantityKeys("inertia_change", "inertia")...)
	reduction := t.Number("inertia_reduction_pct")
	torque := t.Quantity(vehicle.QuantityKeys("torque", "torque")...)
	power := t.Quantity(vehicle.QuantityKeys("power", "power")...)
	gear, rpm := t.Number("gear"), t.Number("at_rpm")

	oneOf(t, mass, change, reduction)
	oneOf(t, torque, power)
	if !(mass.Given || change.Given || reduction.Given || torque.Given || power.Given) {
		t.Refuse("", "[claim] claims nothing: give equivalent_mass_kg with gear, inertia_change_kgm2, inertia_reduction_pct, torque_nm, or power_kw with at_rpm")
	}
	c.EquivalentMass, c.InertiaChange, c.ReductionPct = optional(mass), optional(change), optional(reduction)
	c.Torque, c.Power = optional(torque), optional(power)
	checkClaim(t, mass, change, reduction, torque, power)
	c.Gear = int(partner(t, mass, gear, "gear", "an equivalent mass holds in one gear", 1, 12))
	c.AtRPM = partner(t, power, rpm, "at_rpm", "a clutch holds torque, so a claim in power needs the engine speed it is made for", 300, 25000)
	if gear.Given && gear.Value != math.Trunc(gear.Value) {
		t.Refuse(gear.Key, "must be a whole number: 1 is first")
	}
	return c
}

// partner returns the figure that a claim does not stand without.
func partner(t *tomlfile.Table, claim, with tomlfile.Number, name, why string, low, high float64) float64 {
	switch {
	case claim.Given && !with.Given:
		t.Refuse(claim.Key, "needs %s: %s", name, why)
	case with.Given && !claim.Given:
		t.Refuse(with.Key, "stands alone; %s", why)
	case with.Given && (with.Value < low || with.Value > high):
		t.Refuse(with.Key, "is %g; it must lie between %g and %g", with.Value, low, high)
	}
	return with.Value
}

func oneOf(t *tomlfile.Table, numbers ...tomlfile.Number) {
	first := ""
	for _, n := range numbers {
		switch {
		case n.Given && first != "":
			t.Refuse(n.Key, "claims the same thing as %s; keep one of them", first)
		case n.Given:
			first = n.Key
		}
	}
}

func optional(n tomlfile.Number) *float64 {
	if !n.Given {
		return nil
	}
	x := n.Value
	return &x
}

func checkClaim(t *tomlfile.Table, mass, change, reduction, torque, power tomlfile.Number) {
	for _, n := range []tomlfile.Number{mass, torque, power} {
		if n.Given && n.Value <= 0 {
			t.Refuse(n.Key, "must be above zero")
		}
	}
	if reduction.Given && (reduction.Value <= -100 || reduction.Value >= 100) {
		t.Refuse(reduction.Key, "must lie between -100 and 100")
	}
	if change.Given && change.Value == 0 {
		t.Refuse(change.Key, "must not be zero")
	}
	if change.Given && change.Value > 0 {
		t.Warn(change.Key, "claims that the inertia rose: it is after minus before, so less inertia is a negative number")
	}
}
