package engine

import (
	"math"
	"math/rand/v2"
)

// Day is what differs from one sitting to the next. Usual's zero spread is a day like any other.
type Day struct {
	Oil, GearboxOil, Coolant, Air float64 // C
	Pressure                      float64 // kPa, of the air
	ChargeW, ConsumerW            float64 // W, into the battery and into what is always on
	Belt, Rubbing, ShutAir        float64 // factors on accessories, on rubbing, on the air past the shut throttle
	Efficiency                    float64 // factor: spark, humidity
	Meter, Injectors              float64 // factors: shown over true air; fuel that comes over what is asked for
	Stoichiometric, HeatValue     float64 // g of air per g of fuel; kJ/g
	Purge                         float64 // share of the fuel that comes as vapour from the tank's canister
	PurgePct                      float64 // that the valve of that canister is open
	Spark                         float64 // degrees by which the spark comes early; what it does is in Efficiency
	PressureOffset                float64 // kPa that the manifold's sensor shows too much
	FanShare                      float64 // of the phases in which the radiator's fan runs
	RunMin                        float64 // minutes since the start of the engine
	// Relative, of the drag from phase to phase. With the stamps of 8 values a second and a fan now and then a fall
	// then tells its drag to some 1.5 %.
	FallSD, HoldSD float64

	// What may fool a method.
	LeakGS        float64 // g/s of air behind the meter at sonic flow
	Lambda        float64 // that is commanded; 0: 1
	OpenLoop      bool    // the trims do not follow
	LateSpark     float64 // share of the efficiency that late spark takes in the holds
	Residual      float64 // added to the engine's: another cam
	KeepFuel      bool    // fuel is not cut in the falls
	FallChargeW   float64 // W into the battery in the falls only
	FallFan       bool    // the fan runs in the falls only
	ConsumersOn   float64 // W, switched on in holds and falls
	FreeExhaust   float64 // share of the exhaust's back pressure that is gone
	TrimDrift     float64 // relative change of the fuel's demand over a hold of 15 s
	HoldWander    float64 // factor on the unrest of the foot; 0: 1
	PressureStuck float64 // kPa that the manifold's sensor always shows; 0: it works
	MeterSD       float64 // relative, of the air meter's scale from hold to hold: it tells nothing of the engine
}

// Usual is a day without any difference.
func Usual() Day {
	return Day{Oil: 95, GearboxOil: 60, Coolant: 90, Air: 20, Pressure: 98, ConsumerW: 320, Belt: 1, Rubbing: 1, ShutAir: 1, Efficiency: 1, Meter: 1, Injectors: 1,
		Stoichiometric: 14.3, HeatValue: 42.4, PurgePct: 15, RunMin: 25, FallSD: 0.012, HoldSD: 0.002}
}

// Spread is how far days differ, as standard deviations. All are handbook knowledge from memory; none was measured
// on a car.
type Spread struct {
	Oil, GearboxOil        float64 // K
	ChargeW, ConsumerW     float64 // W; the first half-normal
	Belt, Rubbing, ShutAir float64
	Pressure               float64 // kPa
	Efficiency, Humidity   float64
	Meter, Fuel            float64 // of the difference of two sittings
	Purge                  float64
	PurgePct               float64
	Spark                  float64 // degrees
	PressureOffset         float64 // kPa
	FanShare               float64
}

// Checklist is the spread between sittings for which it was kept: consumers off, battery charged, twenty minutes
// driven, equal oil temperature.
func Checklist() Spread {
	return Spread{Oil: 7, GearboxOil: 8, ChargeW: 90, Belt: 0.05, Rubbing: 0.012, ShutAir: 0.04, Pressure: 0.8, Efficiency: 0.005, Humidity: 0.003,
		Meter: 0.015, Fuel: 0.010, Purge: 0.004, PurgePct: 2, Spark: 0.7, PressureOffset: 0.2, FanShare: 0.05}
}

// NoChecklist is the spread without it: nobody waits while the fan runs.
func NoChecklist() Spread {
	s := Checklist()
	s.Oil, s.GearboxOil, s.ChargeW, s.ConsumerW, s.FanShare = 15, 15, 200, 40, 0.20
	return s
}

// OfDiesel is the spread of diesels: their fuel rate is what the control unit asks for, and no loop is closed on what the
// injectors and the density of warm fuel make of it.
func (s Spread) OfDiesel() Spread {
	s.Fuel = 0.019
	return s
}

// SameDay is the spread between a morning and an evening: the fuel, the meter and the weather are as they were.
func SameDay() Spread {
	s := Checklist()
	s.Meter, s.Fuel, s.Humidity, s.Efficiency, s.Pressure, s.PressureOffset = 0.005, 0.005, 0.001, 0.004, 0.2, 0.05
	return s
}

// Draw draws a day.
func (s Spread) Draw(rng *rand.Rand) Day {
	d := Usual()
	n := rng.NormFloat64
	d.Oil += s.Oil * n()
	d.GearboxOil += s.GearboxOil * n()
	d.Coolant += n()
	d.Air += 3 * n()
	d.Pressure += s.Pressure * n()
	d.ChargeW = s.ChargeW * math.Abs(n())
	d.ConsumerW += s.ConsumerW * n()
	d.Belt *= math.Exp(s.Belt * n())
	d.Rubbing *= math.Exp(s.Rubbing * n())
	d.ShutAir *= math.Exp(s.ShutAir * n())
	d.Efficiency *= math.Exp(s.Efficiency*n() + s.Humidity*n())
	d.Meter *= math.Exp(s.Meter / math.Sqrt2 * n())
	d.Injectors *= math.Exp(s.Fuel / math.Sqrt2 * n())
	d.Purge = s.Purge * n()
	d.PurgePct += s.PurgePct * n()
	d.Spark = s.Spark * n()
	d.PressureOffset = s.PressureOffset * n()
	d.FanShare = s.FanShare
	return d
}
