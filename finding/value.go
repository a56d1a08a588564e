package finding

import (
	"time"

	"flywitness/figure"
)

// Unit is a metric unit as package figure spells it; "" is a plain number.
type Unit string

// The units of what is said.
const (
	Plain            Unit = ""
	NewtonMetres     Unit = "N m"
	KmPerHour        Unit = "km/h"
	RPM              Unit = "rpm"
	RPMPerSecond     Unit = "rpm/s"
	Percent          Unit = "%"
	Seconds          Unit = "s"
	Minutes          Unit = "min"
	Kilograms        Unit = "kg"
	Kilometres       Unit = "km"
	Metres           Unit = "m"
	Kilowatts        Unit = "kW"
	Kilojoules       Unit = "kJ"
	KgM2             Unit = "kg m^2"
	MetresPerSec2    Unit = "m/s^2"
	Celsius          Unit = "C"
	Kelvin           Unit = "K" // of differences
	PerSecond        Unit = "/s"
	Newtons          Unit = "N"
	NewtonsPerSpeed  Unit = "N/(m/s)"
	NewtonsPerSpeed2 Unit = "N/(m/s)^2"
	Volts            Unit = "V"
	GramsPerSecond   Unit = "g/s"
	Kilopascals      Unit = "kPa"
	Degrees          Unit = "deg"
)

// units tells of each unit the end of its names in JSON and the decimals that a sentence shows when it does not say.
var units = map[Unit]struct {
	suffix   string
	decimals int
}{
	Plain: {"", 0}, NewtonMetres: {"nm", 0}, KmPerHour: {"kmh", 0}, RPM: {"rpm", 0}, RPMPerSecond: {"rpm_s", 0}, Percent: {"pct", 1}, Seconds: {"s", 1},
	Minutes: {"min", 0}, Kilograms: {"kg", 0}, Kilometres: {"km", 0}, Metres: {"m", 0}, Kilowatts: {"kw", 0}, Kilojoules: {"kj", 0}, KgM2: {"kgm2", 4},
	MetresPerSec2: {"mps2", 1}, Celsius: {"c", 0}, Kelvin: {"k", 0}, PerSecond: {"hz", 1}, Newtons: {"n", 0}, NewtonsPerSpeed: {"n_per_mps", 1}, NewtonsPerSpeed2: {"n_per_mps2", 2}, Volts: {"v", 1}, GramsPerSecond: {"gs", 1}, Kilopascals: {"kpa", 0}, Degrees: {"deg", 1},
}

type kind int

const (
	aQuantity kind = iota
	anEstimate
	aCount
	aName
	aFlag
	aSaying
	aList
)

// Value is one named thing in a finding. It is made by the functions below.
type Value struct {
	Name string
	Unit Unit // of a quantity or an estimate

	kind kind
	x    float64
	wide float64 // how far a range that begins at x goes on; 0 for a single number
	est  *figure.Estimate
	text string
	on   bool
	says Text
}

// Quantity is an amount of a unit.
func Quantity(name string, unit Unit, x float64) Value { return Value{Name: name, Unit: unit, x: x} }

// Estimate is a measured quantity with its deviation.
func Estimate(name string, unit Unit, e *figure.Estimate) Value {
	return Value{Name: name, Unit: unit, kind: anEstimate, x: e.Value, est: e}
}

// Torque in N m.
func Torque(name string, nm float64) Value { return Quantity(name, NewtonMetres, nm) }

// Speed of the road in km/h.
func Speed(name string, kmh float64) Value { return Quantity(name, KmPerHour, kmh) }

// EngineSpeed in rpm.
func EngineSpeed(name string, rpm float64) Value { return Quantity(name, RPM, rpm) }

// Pct is a percentage.
func Pct(name string, pct float64) Value { return Quantity(name, Percent, pct) }

// Duration in s, or a moment in seconds since the start.
func Duration(name string, s float64) Value { return Quantity(name, Seconds, s) }

// Mass in kg.
func Mass(name string, kg float64) Value { return Quantity(name, Kilograms, kg) }

// Inertia in kg m^2.
func Inertia(name string, kgm2 float64) Value { return Quantity(name, KgM2, kgm2) }

// Distance in km.
func Distance(name string, km float64) Value { return Quantity(name, Kilometres, km) }

// Acceleration in m/s^2.
func Acceleration(name string, mps2 float64) Value { return Quantity(name, MetresPerSec2, mps2) }

// Temperature in degrees Celsius.
func Temperature(name string, c float64) Value { return Quantity(name, Celsius, c) }

// Number has no unit: a ratio, a probability.
func Number(name string, x float64) Value { return Quantity(name, Plain, x) }

// Count is a number of things, or the number of a gear.
func Count(name string, n int) Value { return Value{Name: name, kind: aCount, x: float64(n)} }

// Gear is the number of a gear.
func Gear(n int) Value { return Count("gear", n) }

// Name is a name from outside: a file, a channel, a part. It is never a word of the language.
func Name(name, s string) Value { return Value{Name: name, kind: aName, text: s} }

// Day is a date, as 2026-05-09.
func Day(name string, t time.Time) Value { return Name(name, t.UTC().Format("2006-01-02")) }

// Flag is something that is so or not.
func Flag(name string, on bool) Value { return Value{Name: name, kind: aFlag, on: on} }

// Saying is a text within the text, its findings one after another.
func Saying(name string, f ...Finding) Value { return Value{Name: name, kind: aSaying, says: f} }

// List is several findings with commas between.
func List(name string, f ...Finding) Value { return Value{Name: name, kind: aList, says: f} }

// key is the name in JSON, with the unit: torque_nm.
func (v Value) key() string {
	if s := units[v.Unit].suffix; s != "" {
		return v.Name + "_" + s
	}
	return v.Name
}

// Float is the number of a quantity, an estimate or a count.
func (v Value) Float() float64 { return v.x }

// Text is the name, or what is said within.
func (v Value) Text() string {
	if v.kind == aSaying || v.kind == aList {
		return v.inner(figure.Metric)
	}
	return v.text
}

func (v Value) inner(u figure.Units) string {
	if v.kind == aList {
		return v.says.joined(u, ", ")
	}
	return v.says.In(u)
}

// json is what JSON carries of a value.
func (v Value) json() any {
	switch v.kind {
	case anEstimate:
		return v.est
	case aCount:
		return int(v.x)
	case aName:
		return v.text
	case aFlag:
		return v.on
	case aSaying, aList:
		return []Finding(v.says)
	}
	return finite(v.x)
}
