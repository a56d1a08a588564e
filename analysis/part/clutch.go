package part

import (
	"fmt"

	"flywitness/analysis/stats"
	"flywitness/vehicle"
)

// Clutch is a friction clutch.
type Clutch struct {
	Outer, Inner float64 // m, diameters of the lining
	Clamp        float64 // N
	ClampSD      float64
	Friction     float64
	FrictionSD   float64
	Faces        int // 2 for each disc
}

// Defaults of what a data sheet leaves out: an organic lining, one disc, and how well friction and clamp are known.
// Common practice, no source.
const (
	DefaultFriction   = 0.30
	DefaultFrictionSD = 0.04
	DefaultFaces      = 2
	DefaultClampSD    = 0.05 // as a part of the clamp load
)

// Capacity is the torque that a clutch holds.
type Capacity struct {
	Wear       *stats.Estimate `json:"uniform_wear_nm"`     // lining bedded in: the figure to rely on
	Pressure   *stats.Estimate `json:"uniform_pressure_nm"` // lining new and flat
	MeanRadius float64         `json:"mean_radius_m"`
	Budget     []Share         `json:"budget"`
}

// What no car's clutch exceeds: a clamp load in N, and friction faces of a multi-plate one.
const mostClamp, mostFaces = 1e6, 40

func (c Clutch) check() error {
	switch {
	case !finite(c.Outer, c.Inner, c.Clamp, c.ClampSD, c.Friction, c.FrictionSD):
		return fmt.Errorf("clutch: not a finite number")
	case c.Outer <= 0 || c.Outer > 1:
		return fmt.Errorf("clutch: the outer diameter is %s mm; it must lie between 0 and 1000 mm",
			vehicle.Plain(c.Outer*1000, 4))
	case c.Inner <= 0 || c.Inner >= c.Outer:
		return fmt.Errorf("clutch: the inner diameter is %s mm; it must be above 0 and below the outer one (%s mm)",
			vehicle.Plain(c.Inner*1000, 4), vehicle.Plain(c.Outer*1000, 4))
	case c.Clamp <= 0 || c.Clamp > mostClamp:
		return fmt.Errorf("clutch: the clamp load is %s N; it must lie between 0 and 1000000 N", vehicle.Plain(c.Clamp, 4))
	case c.Friction <= 0 || c.Friction > 2:
		return fmt.Errorf("clutch: the friction coefficient is %s; it must lie between 0 and 2",
			vehicle.Plain(c.Friction, 4))
	case c.Faces < 1 || c.Faces > mostFaces:
		return fmt.Errorf("clutch: it has %d friction faces; it must be 1 to 40, 2 for each disc", c.Faces)
	case c.ClampSD < 0 || c.FrictionSD < 0:
		return fmt.Errorf("clutch: a standard deviation must not be negative")
	}
	return nil
}

// uniformWear is n mu F (D + d) / 4, uniformPressure n mu F (D^3 - d^3) / (3 (D^2 - d^2)). Source: Shigley, Mechanical
// Engineering Design, disc clutches (from memory). Wear is never above pressure.
func uniformWear(n, mu, clamp, outer, inner float64) float64 {
	return n * mu * clamp * (outer + inner) / 4
}

func uniformPressure(n, mu, clamp, outer, inner float64) float64 {
	return n * mu * clamp * (outer*outer*outer - inner*inner*inner) / (3 * (outer*outer - inner*inner))
}

// Capacity returns the torque in N m that the clutch holds.
func (c Clutch) Capacity() (Capacity, error) {
	if err := c.check(); err != nil {
		return Capacity{}, err
	}
	inputs := []Input{{Name: "friction coefficient", Value: c.Friction, SD: c.FrictionSD},
		{Name: "clamp load", Value: c.Clamp, SD: c.ClampSD}}
	n := float64(c.Faces)
	wear, budget := propagate(inputs, func(x []float64) float64 { return uniformWear(n, x[0], x[1], c.Outer, c.Inner) })
	pressure, _ := propagate(inputs, func(x []float64) float64 {
		return uniformPressure(n, x[0], x[1], c.Outer,
			c.Inner)
	})
	return Capacity{Wear: wear, Pressure: pressure, MeanRadius: (c.Outer + c.Inner) / 4, Budget: budget}, nil
}

// ClampFor returns the clamp load in N that holds a torque in N m with a worn-in lining.
func (c Clutch) ClampFor(torque float64) float64 {
	return torque / uniformWear(float64(c.Faces), c.Friction, 1, c.Outer, c.Inner)
}

// Ratio returns the capacity of other over that of c with worn-in linings. Where both have the same friction
// material its error is common to both and drops out, and so does the clamp load where it is the same.
func (c Clutch) Ratio(other Clutch) (*stats.Estimate, error) {
	for _, k := range []Clutch{c, other} {
		if err := k.check(); err != nil {
			return nil, err
		}
	}
	inputs := []Input{
		{Name: "friction", Value: c.Friction, SD: c.FrictionSD},
		{Name: "other friction", Value: other.Friction, SD: other.FrictionSD},
		{Name: "clamp", Value: c.Clamp, SD: c.ClampSD}, {Name: "other clamp", Value: other.Clamp, SD: other.ClampSD},
	}
	sameFriction := c.Friction == other.Friction && c.FrictionSD == other.FrictionSD
	sameClamp := c.Clamp == other.Clamp && c.ClampSD == other.ClampSD
	est, _ := propagate(inputs, func(x []float64) float64 {
		friction, clamp := x[1], x[3]
		if sameFriction {
			friction = x[0]
		}
		if sameClamp {
			clamp = x[2]
		}
		return uniformWear(float64(other.Faces), friction, clamp, other.Outer, other.Inner) /
			uniformWear(float64(c.Faces), x[0], x[2], c.Outer, c.Inner)
	})
	return est, nil
}
