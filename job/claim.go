package job

import (
	"math"

	"flywitness/vehicle"
	"flywitness/vehicle/tomlfile"
)

// Claim is a promise to test. One promise on what the change is worth and one on the clutch may stand in a job; nil is not claimed.
type Claim struct {
	EquivalentMass   *float64 // kg, in Gear
	AccelerationGain *float64 // %, in Gear
	EquivalentPower  *float64 // W while accelerating, in Gear, at AtRPM where that is given
	SavedSeconds     *float64 // in Gear, from FromKmh to ToKmh where they are given
	InertiaChange    *float64 // kg m^2, after minus before: negative when reduced
	ReductionPct     *float64 // of the effective inertia
	MassOff          *float64 // kg taken off the parts
	Gear             int
	FromKmh, ToKmh   float64
	Torque           *float64 // N m that the clutch is said to hold
	Power            *float64 // W that the clutch is said to hold, at AtRPM
	AtRPM            float64
}

// nothingClaimed names every promise that can be made.
const nothingClaimed = "[claim] claims nothing: give with a gear equivalent_mass_kg, acceleration_gain_pct, equivalent_power_kw or saved_s, or inertia_change_kgm2, " +
	"inertia_reduction_pct or mass_off_kg; or for the clutch torque_nm, or power_kw with at_rpm"

func readClaim(t *tomlfile.Table) *Claim {
	c := &Claim{}
	mass := t.Quantity(vehicle.QuantityKeys("equivalent_mass", "mass")...)
	gain := t.Number("acceleration_gain_pct")
	gained := t.Quantity(vehicle.QuantityKeys("equivalent_power", "power")...)
	saved := t.Number("saved_s")
	change := t.Quantity(vehicle.QuantityKeys("inertia_change", "inertia")...)
	reduction := t.Number("inertia_reduction_pct")
	off := t.Quantity(vehicle.QuantityKeys("mass_off", "mass")...)
	torque := t.Quantity(vehicle.QuantityKeys("torque", "torque")...)
	power := t.Quantity(vehicle.QuantityKeys("power", "power")...)
	gear, rpm := t.Number("gear"), t.Number("at_rpm")

	oneOf(t, mass, gain, gained, saved, change, reduction, off)
	oneOf(t, torque, power)
	if !anyGiven(mass, gain, gained, saved, change, reduction, off, torque, power) {
		t.Refuse("", nothingClaimed)
	}
	c.EquivalentMass, c.AccelerationGain, c.EquivalentPower, c.SavedSeconds = optional(mass), optional(gain), optional(gained), optional(saved)
	c.InertiaChange, c.ReductionPct, c.MassOff = optional(change), optional(reduction), optional(off)
	c.Torque, c.Power = optional(torque), optional(power)
	for _, n := range []tomlfile.Number{mass, gain, gained, saved, off, torque, power} {
		if n.Given && n.Value <= 0 {
			t.Refuse(n.Key, "must be above zero")
		}
	}
	checkInertia(t, change, reduction)
	c.readGear(t, gear, mass, gain, gained, saved)
	c.readSpan(t, saved)
	switch {
	case power.Given || !gained.Given:
		c.AtRPM = partner(t, power, rpm, "at_rpm", "a clutch holds torque, so a claim in power needs the engine speed it is made for", 300, 25000)
	case rpm.Given && (rpm.Value < 300 || rpm.Value > 25000):
		t.Refuse(rpm.Key, "is %g; it must lie between 300 and 25000", rpm.Value)
	default:
		c.AtRPM = rpm.Value
	}
	return c
}

// readGear reads the gear that a promise holds in.
func (c *Claim) readGear(t *tomlfile.Table, gear tomlfile.Number, claims ...tomlfile.Number) {
	one := claims[0]
	for _, n := range claims {
		if n.Given {
			one = n
		}
	}
	why := "an equivalent mass, an acceleration, a power or a time holds in one gear"
	c.Gear = int(partner(t, one, gear, "gear", why, 1, 12))
	if gear.Given && gear.Value != math.Trunc(gear.Value) {
		t.Refuse(gear.Key, "must be a whole number: 1 is first")
	}
}

// readSpan reads the road speeds between which time is said to be saved; without them the pulls decide.
func (c *Claim) readSpan(t *tomlfile.Table, saved tomlfile.Number) {
	speed := func(stem string) tomlfile.Number {
		return t.Quantity(tomlfile.Key{Name: stem + "_kmh", Factor: 1}, tomlfile.Key{Name: stem + "_mph", Factor: vehicle.KmPerMile})
	}
	from, to := speed("from"), speed("to")
	switch {
	case (from.Given || to.Given) && !saved.Given:
		t.Refuse(from.Key+to.Key, "stands alone; it belongs to saved_s")
	case from.Given != to.Given:
		t.Refuse(from.Key+to.Key, "needs the other end of the span too: from_kmh and to_kmh")
	case from.Given && (from.Value < 0 || to.Value > 400 || to.Value <= from.Value):
		t.Refuse(to.Key, "must be above the speed that the span begins with, and at most 400 km/h")
	}
	c.FromKmh, c.ToKmh = from.Value, to.Value
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
			t.Refuse(n.Key, "is a second promise beside %s; keep one of them", first)
		case n.Given:
			first = n.Key
		}
	}
}

func anyGiven(numbers ...tomlfile.Number) bool {
	for _, n := range numbers {
		if n.Given {
			return true
		}
	}
	return false
}

func optional(n tomlfile.Number) *float64 {
	if !n.Given {
		return nil
	}
	x := n.Value
	return &x
}

func checkInertia(t *tomlfile.Table, change, reduction tomlfile.Number) {
	if reduction.Given && (reduction.Value <= -100 || reduction.Value >= 100 || reduction.Value == 0) {
		t.Refuse(reduction.Key, "must lie between -100 and 100 and not be zero")
	}
	if change.Given && change.Value == 0 {
		t.Refuse(change.Key, "must not be zero")
	}
	if change.Given && change.Value > 0 {
		t.Warn(change.Key, "claims that the inertia rose: it is after minus before, so less inertia is a negative number")
	}
}
