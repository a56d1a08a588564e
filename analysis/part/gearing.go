package part

import (
	"flywitness/analysis/stats"
	"flywitness/vehicle"
)

// GearMass is what a change of inertia is worth in a gear.
type GearMass struct {
	Gear           int             `json:"gear"`
	EquivalentMass *stats.Estimate `json:"equivalent_mass_kg"` // positive when inertia was taken off
}

// EquivalentMass returns for each gear the car mass whose removal does the same as a change of inertia (kg m^2, after
// minus before): -change (total ratio / rolling radius)^2. nil when the vehicle gives no ratios or no tyre.
func EquivalentMass(v *vehicle.Vehicle, change *stats.Estimate) []GearMass {
	if v == nil || change == nil || v.Radius() == 0 || v.TotalRatio(1) == 0 {
		return nil
	}
	var out []GearMass
	for gear := 1; gear <= len(v.Gearbox.Ratios); gear++ {
		inputs := []Input{{Name: "change", Value: change.Value, SD: normalSD(change)},
			{Name: "radius", Value: v.Radius(), SD: vehicle.PaperGearingSD * v.Radius()}}
		ratio := v.TotalRatio(gear)
		est, _ := propagate(inputs, func(x []float64) float64 { return -x[0] * ratio * ratio / (x[1] * x[1]) })
		out = append(out, GearMass{gear, est})
	}
	return out
}
