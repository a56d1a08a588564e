package part

import (
	"fmt"
	"math"

	"flywitness/analysis/stats"
	"flywitness/vehicle"
)

// Ring is a disc or ring of even thickness. Its mass is given, or follows from density and thickness. A ring
// that is cut out (a bore, a groove) counts negative.
type Ring struct {
	Outer, Inner float64 // diameters in m; inner 0 for a disc
	Mass         float64 // kg, 0 when density and thickness are given
	Density      float64 // kg/m^3
	Thickness    float64 // m
	Cut          bool
}

// Densities of the usual materials in kg/m^3. Common practice, no source.
var Densities = map[string]float64{"steel": 7850, "iron": 7200, "aluminium": 2710}

// shapeSD is how well a list of rings stands for a real part, as a part of its inertia: one ring has no web and
// no rim, several follow the section. Common practice, no source.
func shapeSD(rings int) float64 {
	if rings > 1 {
		return 0.02
	}
	return 0.05
}

// Precision is how well dimensions, masses and densities are known.
type Precision struct {
	Diameter float64 // m
	Mass     float64 // kg
	Density  float64 // as a part of it
	Shape    float64 // see shapeSD
}

// DefaultPrecision is a steel rule, kitchen scales and a density from a table, for a part of that many rings.
func DefaultPrecision(rings int) Precision {
	return Precision{Diameter: 0.0005, Mass: 0.02, Density: 0.01, Shape: shapeSD(rings)}
}

const (
	mostRing    = 500.0   // kg; no car has a ring so heavy
	mostDensity = 25000.0 // kg/m^3; above that of every metal
)

func (r Ring) check(i int) error {
	switch {
	case !finite(r.Outer, r.Inner, r.Mass, r.Density, r.Thickness):
		return fmt.Errorf("ring %d: not a finite number", i)
	case r.Outer <= 0 || r.Outer > 2:
		return fmt.Errorf("ring %d: the outer diameter is %s mm; it must lie between 0 and 2000 mm", i,
			vehicle.Plain(r.Outer*1000, 4))
	case r.Inner < 0 || r.Inner >= r.Outer:
		return fmt.Errorf("ring %d: the inner diameter is %s mm; it must be at least 0 and below the outer one (%s mm)", i,
			vehicle.Plain(r.Inner*1000, 4), vehicle.Plain(r.Outer*1000, 4))
	case r.Mass != 0 && (r.Density != 0 || r.Thickness != 0):
		return fmt.Errorf("ring %d: give its mass, or its thickness and material, not both", i)
	case r.Mass < 0 || r.Mass > mostRing:
		return fmt.Errorf("ring %d: the mass is %s kg; it must lie between 0 and 500 kg", i, vehicle.Plain(r.Mass, 4))
	case r.Mass == 0 && (r.Density <= 0 || r.Thickness <= 0):
		return fmt.Errorf("ring %d: needs its mass, or its thickness and material", i)
	case r.Thickness > 1 || r.Density > mostDensity:
		return fmt.Errorf("ring %d: a thickness of %s mm or a density of %s kg/m^3 cannot be", i,
			vehicle.Plain(r.Thickness*1000, 4), vehicle.Plain(r.Density, 4))
	}
	return nil
}

// Rings returns the inertia about the axis in kg m^2 and the mass in kg of a part made of rings: the sum of m
// (Do^2 + Di^2)/8, with m = density x thickness x pi/4 (Do^2 - Di^2) where no mass is given. Source: Shigley,
// Mechanical Engineering Design, flywheels (from memory).
func Rings(rings []Ring, p Precision) (inertia, mass *stats.Estimate, budget []Share, err error) {
	if len(rings) == 0 {
		return nil, nil, nil, fmt.Errorf("no ring given")
	}
	inputs := []Input{{Name: "shape", Value: 1, SD: p.Shape}, {Name: "density", Value: 1, SD: p.Density}}
	for i, r := range rings {
		if err := r.check(i + 1); err != nil {
			return nil, nil, nil, err
		}
		n := fmt.Sprintf(" of ring %d", i+1)
		inner := Input{Name: "inner diameter" + n, Value: r.Inner, SD: p.Diameter}
		if r.Inner == 0 {
			inner.SD = 0
		}
		thick := Input{Name: "thickness" + n, Value: r.Thickness}
		weight := Input{Name: "mass" + n, Value: r.Mass}
		if r.Mass > 0 {
			weight.SD = p.Mass
		} else {
			thick.SD = p.Diameter
		}
		inputs = append(inputs, Input{Name: "outer diameter" + n, Value: r.Outer, SD: p.Diameter}, inner, thick, weight)
	}
	total := func(power int) func([]float64) float64 {
		return func(x []float64) float64 {
			sum := 0.0
			for i, r := range rings {
				outer, inner, thick, m := x[2+4*i], x[3+4*i], x[4+4*i], x[5+4*i]
				if r.Mass == 0 {
					m = x[1] * r.Density * thick * math.Pi / 4 * (outer*outer - inner*inner)
				}
				if power == 2 {
					m *= x[0] * (outer*outer + inner*inner) / 8
				}
				if r.Cut {
					m = -m
				}
				sum += m
			}
			return sum
		}
	}
	inertia, budget = propagate(inputs, total(2))
	mass, _ = propagate(inputs, total(0))
	if inertia.Value <= 0 || mass.Value <= 0 {
		return nil, nil, nil, fmt.Errorf("the rings cut out weigh more than the others; check which ones are cuts")
	}
	return inertia, mass, budget, nil
}

// WeightRange returns what the inertia of a flywheel of that mass can be, in kg m^2, when only its mass (kg)
// and perhaps its outer diameter (m, 0 when not known) are told: the radius of gyration lies between 0.27 (a
// heavy hub) and 0.45 (a heavy rim) of the outer diameter, and car flywheels measure 0.20 to 0.34 m. Common
// practice, no source.
func WeightRange(mass, outer float64) (low, high float64, err error) {
	if !finite(mass, outer) || mass <= 0 || mass > mostRing {
		return 0, 0, fmt.Errorf("the mass is %s kg; it must lie between 0 and 500 kg", vehicle.Plain(mass, 4))
	}
	if outer < 0 || outer > 2 {
		return 0, 0, fmt.Errorf("the outer diameter is %s mm; it must lie between 0 and 2000 mm",
			vehicle.Plain(outer*1000, 4))
	}
	smallest, largest := outer, outer
	if outer == 0 {
		smallest, largest = 0.20, 0.34
	}
	return mass * math.Pow(0.27*smallest, 2), mass * math.Pow(0.45*largest, 2), nil
}

// Energy returns the energy in J of an inertia in kg m^2 turning at w rad/s: I w^2 / 2 (Shigley, from memory).
func Energy(inertia, w float64) float64 { return inertia * w * w / 2 }

func finite(xs ...float64) bool {
	for _, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}
