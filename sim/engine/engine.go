// Package engine is a combustion engine that stands in neutral: held at a speed by a foot, or falling with the
// throttle shut. It burns fuel, fills its manifold, rubs, pumps and drives its accessories; a link reads what its
// control unit would tell.
//
// It exists to try a method out that measures an engine's drag by the air and the fuel that hold it, so nothing of
// that method stands here: torque follows from pressures, flows and viscosity, and what a change of drag does to
// the flow comes out by itself. A simulated engine proves consistency only.
//
// Mean effective pressures are in kPa, displacement in litres: pressure times litres is work in J per cycle of two
// turns. All chance comes from the *rand.Rand that is passed in.
package engine

import (
	"math"
	"math/rand/v2"
)

const radPerRPM = math.Pi / 30

// Engine is what does not change from day to day.
type Engine struct {
	Diesel       bool
	Displacement float64 // litres
	Inertia      float64 // kg m^2, of all that turns in neutral
	IdleRPM      float64
	ResumeRPM    float64 // fuel comes back below this on a shut throttle

	// Gross indicated work is efficiency times fuel energy, less a share that does not shrink with the fuel: a
	// Willans line (Stone, Introduction to Internal Combustion Engines, from memory). With q the fuel energy per
	// cycle and swept volume: imep = Efficiency q (1 - LowLoad (500/q)^LowLoadPower).
	Efficiency, LowLoad, LowLoadPower float64

	// rubbing after Patton, Nitschke, Heywood (SAE 890836) and Sandoval, Heywood (SAE 2003-01-0725), from memory,
	// reduced to what each term does with speed and viscosity: Boundary kPa at any speed, Mixed x (1 + 500/N),
	// Hydrodynamic per 1000 rpm and Oscillating per root of that, both with the root of viscosity, Turbulent with
	// the square of speed. GasLoad is the rings' share of the manifold's pressure, kPa per kPa.
	Boundary, Mixed, Hydrodynamic, Oscillating, Turbulent, GasLoad float64
	Pumps                                                          float64 // factor on oil and water pump
	Gearbox                                                        float64 // N m at 2500 rpm and 60 C of oil, of what turns in the gearbox
	Alternator                                                     float64 // efficiency at 2500 rpm

	Breathing   float64 // share of the swept volume that is filled with fresh gas at equal pressures
	Residual    float64 // of the exhaust's pressure, that stays in the cylinder
	Valves      float64 // kPa at 1000 rpm, with the square of speed
	HeatLoss    float64 // kPa lost by compressing a full charge without burning it
	Manifold    float64 // litres
	ShutAir     float64 // g/s that a shut throttle lets through at sonic flow
	OverrunAir  float64 // how many times more the control unit lets through in a fall, so that no oil is drawn in
	BackPress   float64 // kPa of exhaust pressure per (g/s)^2
	ThrottleTau float64 // s in which the throttle shuts
	Learnt      float64 // share of a wrong mixture that has moved from the short trim to the long one
	OilSensor   bool
	BestSpark   float64 // degrees before top dead centre, at light load
	LateSpark   float64 // degrees later that it is fired in neutral, as a reserve for the idle speed
}

// Random draws an engine of a population: about 1.2 to 2.5 litres.
func Random(rng *rand.Rand) *Engine {
	u := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	e := &Engine{
		Displacement: u(1.2, 2.5), IdleRPM: u(750, 900), ResumeRPM: u(1150, 1350),
		Efficiency: u(0.34, 0.39), LowLoad: u(0.08, 0.16), LowLoadPower: u(0.8, 1.2),
		Boundary: u(5, 7.5), Mixed: u(10, 16), Hydrodynamic: u(10, 14.5), Oscillating: u(1.8, 3.2), Turbulent: u(0.3, 0.6), GasLoad: u(0.18, 0.30),
		Pumps: u(0.8, 1.2), Gearbox: u(1, 2.2), Alternator: u(0.55, 0.65),
		Breathing: u(0.85, 0.93), Residual: u(0.07, 0.12), Valves: u(0.7, 1.1), HeatLoss: u(10, 18), Manifold: u(1.8, 3.5),
		ThrottleTau: u(0.05, 0.09), Learnt: u(0, 0.9), OverrunAir: u(1.3, 2), OilSensor: true,
	}
	e.BestSpark, e.LateSpark = u(28, 38), u(0, 8)
	e.Inertia = e.Displacement * u(0.085, 0.13)
	e.ShutAir = e.Displacement * u(0.95, 1.25)
	e.BackPress = 0.005 / (e.Displacement * e.Displacement)
	return e
}

// RandomDiesel draws one that has no throttle.
func RandomDiesel(rng *rand.Rand) *Engine {
	e := Random(rng)
	u := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	e.Diesel, e.Displacement, e.Efficiency, e.LowLoad = true, u(1.4, 2.3), u(0.40, 0.44), u(0.12, 0.25)
	e.Boundary, e.Mixed, e.Hydrodynamic, e.Pumps, e.HeatLoss = u(6, 9), u(13, 20), u(12, 17), u(1.3, 1.8), u(12, 20)
	e.Inertia, e.Valves = e.Displacement*u(0.11, 0.16), u(0.9, 1.4)
	return e
}

// viscosity returns that of a 10W-30 oil at a temperature in C, in mm^2/s: Vogel's equation with constants that
// give about 10 at 100 C and 58 at 40 C (Sandoval, Heywood SAE 2003-01-0725, from memory).
func viscosity(c float64) float64 { return 0.1403 * math.Exp(869.72/(104.4+c)) }

// usualViscosity is that at which the engine's rubbing is told.
var usualViscosity = viscosity(90)

// rubbing is the friction mean effective pressure in kPa at a speed, with the oil's viscosity, less what the rings
// add under the manifold's pressure.
func (e *Engine) rubbing(rpm, viscosity float64) float64 {
	k := rpm / 1000
	thick := math.Sqrt(viscosity / usualViscosity)
	return e.Boundary + e.Mixed*(1+500/max(rpm, 300)) + thick*(e.Hydrodynamic*k+e.Oscillating*math.Sqrt(k)) + e.Turbulent*k*k
}

// Pumping is the pressure that oil and water pump take, kPa (Patton, Nitschke, Heywood, from memory, of which the
// alternator is taken off).
func (e *Engine) pumps(rpm float64) float64 {
	k := rpm / 1000
	return e.Pumps * (4 + 4.2*k - 0.15*k*k)
}

// indicated is the gross mean effective pressure of fuel energy q, both in kPa.
func (e *Engine) indicated(q float64) float64 {
	if q <= 0 {
		return 0
	}
	return max(0, e.Efficiency*q*(1-e.LowLoad*math.Exp(e.LowLoadPower*math.Log(500/q))))
}

// alternatorNm is the torque that electrical power takes, N m: efficiency falls with speed, so torque falls a
// little less than with one over speed.
func (e *Engine) alternatorNm(watts, rpm float64) float64 {
	return watts / (e.Alternator * (1 - 0.05*(rpm-2500)/1000)) / (rpm * radPerRPM)
}

// gearboxNm is the torque of what turns in the gearbox, N m; thick is how viscous its own oil is, against that at 60 C.
func (e *Engine) gearboxNm(rpm, thick float64) float64 { return e.Gearbox * (0.4 + 0.6*rpm/2500*thick) }

func gearboxOil(c float64) (thick float64) { return math.Exp(-0.02 * (c - 60)) }

// sparkLoss is the share of the efficiency that a spark costs which comes a degree off the best one, with the square of
// it: some 4 % at ten degrees (Heywood, Internal Combustion Engine Fundamentals, chapter 15, from memory).
const sparkLoss = 0.0004

// spark is when a held engine is fired, degrees before top dead centre. Late spark costs what the day says beyond what
// the usual one costs.
func (e *Engine) spark(d *Day) float64 {
	return e.BestSpark - math.Sqrt(e.LateSpark*e.LateSpark+d.LateSpark/sparkLoss) + d.Spark
}
