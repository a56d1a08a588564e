// Package vehicle is what is known of the car before it is driven: mass, tyre, gearbox, engine, road load, clutch.
package vehicle

import "math"

// Vehicle is a car as its file describes it. Everything is SI. A zero number means "not given" unless a comment says
// otherwise; Load fills defaults and refuses what cannot be.
type Vehicle struct {
	Path   string // the file it was read from, "" when built in code
	SHA256 string

	Name    string
	Mass    float64 // kg, as tested; 0 when not given
	MassSD  float64 // kg; default 4 % of the mass, 1.5 % when weighed
	Weighed bool

	Tyre                 string
	RollingCircumference float64 // m; 0 when not given
	WheelInertia         float64 // kg m^2 of one wheel; default as UN GTR 15 (3 % of the mass for four wheels)
	DrivenWheels         int     // default 2
	SpeedSource          SpeedSource

	Engine   Engine
	Gearbox  Gearbox
	RoadLoad *RoadLoad // nil when not given
	Clutch   *Clutch   // nil when not given
}

// SpeedSource tells what the road speed channel is measured on.
type SpeedSource string

// The kinds of road speed source. Unknown is tested from the log.
const (
	SourceUnknown  SpeedSource = "unknown"
	SourceDriven   SpeedSource = "driven"
	SourceUndriven SpeedSource = "undriven"
	SourceGPS      SpeedSource = "gps"
)

// Engine is the engine's part of the vehicle file; speeds in rpm since these are names of the trade, zero when not given.
type Engine struct {
	IdleRPM, LimitRPM float64
	PeakTorque        float64 // N m
	Fuel              string  // petrol | diesel | ""
	Throttle          string  // wire (default) | cable
	Aspiration        string  // Natural | Charged | "" when not told
}

// How an engine breathes.
const (
	Natural = "natural"
	Charged = "charged"
)

// SlipsByDesign tells whether the gearbox was told to be of a kind that is not judged for slip.
func (g Gearbox) SlipsByDesign() bool { return g.Type != "" && g.Type != Manual }

// GearboxType is the kind of gearbox; only Manual is judged for slip.
type GearboxType string

// The kinds of gearbox of the vehicle file.
const (
	Manual     GearboxType = "manual"
	Automatic  GearboxType = "automatic"
	DualClutch GearboxType = "dual_clutch"
	CVT        GearboxType = "cvt"
)

// Gearbox has the ratios from first gear up; empty when the file leaves them out (the ladder is then learnt from the log).
type Gearbox struct {
	Type       GearboxType
	Ratios     []float64
	FinalDrive float64
	Efficiency float64 // the usual one by default

	// Of total ratio over rolling radius, relative; 0 where it is that of ratios and tyre on paper. Gearing that a log taught has the error of its road speed.
	GearingSD float64
	// Learnt is engine rpm per displayed km/h of each gear, where the file gives that in place of ratios and final drive; Ratios then are total ratios that give it.
	Learnt []float64
}

// Of a gearing that was learnt from a road speed as a car displays it. Common practice, no source.
const LearntGearingSD = 0.02

// NominalCircumference (m) stands in for a tyre that nobody told; beside a learnt gearing it cancels.
const NominalCircumference = 1.93

// RoadLoad is the resistance at the wheels F = F0 + F1 v + F2 v^2 (N, v in m/s) on a level road: SAE J1263 / J2263 (from memory).
type RoadLoad struct{ F0, F1, F2 float64 }

// Force returns the resistance in N at v m/s.
func (r RoadLoad) Force(v float64) float64 { return r.F0 + r.F1*v + r.F2*v*v }

// Clutch is what is known of the clutch; zero when not given.
type Clutch struct {
	TorqueRating        float64 // N m
	OuterDiameter       float64 // m
	InnerDiameter       float64 // m
	ClampLoad           float64 // N
	FrictionCoefficient float64
	FrictionFaces       int
}

// Radius returns the effective rolling radius in m, 0 when the circumference is not known.
func (v *Vehicle) Radius() float64 { return v.RollingCircumference / (2 * math.Pi) }

// wheelShare is the rotating mass of four wheels over the car's mass: UN GTR 15, annex 4 (from memory).
const wheelShare = 0.03

// InertialMass returns the mass in kg that a force at the tyres accelerates: the car's and that of its turning wheels, 4 J / r^2. The
// wheels are the default where their inertia or the tyre is not given.
func (v *Vehicle) InertialMass() float64 {
	if r := v.Radius(); r > 0 && v.WheelInertia > 0 {
		return v.Mass + 4*v.WheelInertia/(r*r)
	}
	return (1 + wheelShare) * v.Mass
}

// TotalRatio returns engine turns per wheel turn in a gear (1 is first), 0 when the file does not give it.
func (v *Vehicle) TotalRatio(gear int) float64 {
	if gear < 1 || gear > len(v.Gearbox.Ratios) {
		return 0
	}
	return v.Gearbox.Ratios[gear-1] * v.Gearbox.FinalDrive
}

// RPMPerKmh returns the engine speed per km/h of road speed of a gear from ratios and tyre, 0 when they are not known.
func (v *Vehicle) RPMPerKmh(gear int) float64 {
	if v.RollingCircumference == 0 {
		return 0
	}
	return v.TotalRatio(gear) / (v.RollingCircumference * 0.06)
}
