// Package air brings the torque of a naturally aspirated petrol engine from the air of the day to standard air,
// so that pulls of two days can stand side by side.
package air

import (
	"fmt"
	"math"

	"flywitness/analysis/stats"
)

// Method is a standard's formula.
type Method string

// The formulas. Both belong to engines with spark ignition that breathe by themselves.
const (
	J1349   Method = "j1349"   // SAE J1349: 990 hPa of dry air, 25 C
	ISO1585 Method = "iso1585" // ISO 1585: 99 kPa of dry air, 25 C
)

// Methods are all of them.
var Methods = []Method{J1349, ISO1585}

// Name writes a method as people say it.
func (m Method) Name() string {
	if m == ISO1585 {
		return "ISO 1585"
	}
	return "SAE J1349"
}

// factor is by how much torque at wide-open throttle is multiplied for standard air, from the pressure of the
// dry air in kPa and the temperature of the air that the engine takes in, in C.
//
//	SAE J1349: 1.180 (990 / pd) sqrt((t + 273) / 298) - 0.18, pd in hPa (mechanical efficiency of 85 %)
//	ISO 1585:  (99 / pd)^1.2 (T / 298)^0.6, pd in kPa, T in K
//
// Both from memory.
func (m Method) factor(dryKPa, tempC float64) float64 {
	if m == ISO1585 {
		return math.Pow(99/dryKPa, 1.2) * math.Pow((tempC+273)/298, 0.6)
	}
	return 1.180*(990/(10*dryKPa))*math.Sqrt((tempC+273)/298) - 0.18
}

// The standards trust their formula within this range of the factor, from memory; outside it is no measurement.
const least, most = 0.93, 1.07

// saturated is the pressure of saturated water vapour in kPa over water at a temperature in C: Alduchov and
// Eskridge, Improved Magnus form approximation of saturation vapor pressure, 1996, from memory.
func saturated(tempC float64) float64 { return 0.61094 * math.Exp(17.625*tempC/(tempC+243.04)) }

// Conditions is the air of a pull.
type Conditions struct {
	PressureKPa float64 // as the barometer says, moist
	TempC       float64
	TempSD      float64 // C
	Inlet       bool    // the temperature is that of the intake, which an engine bay warms
}

// No car logs the humidity. Anything from dry to saturated is taken as equally likely: a half of saturation,
// with the standard deviation of a uniform distribution.
const (
	humidity   = 0.5
	humiditySD = 0.289
)

// pressureSD is how far the barometer of an engine control unit may be off, kPa. Common practice, no source.
const pressureSD = 0.7

// Correct returns the factor under such conditions with what humidity and sensors leave open; an error says why
// there is none.
func (m Method) Correct(c Conditions) (*stats.Estimate, error) {
	at := func(p, t, h float64) float64 { return m.factor(p-h*saturated(t), t) }
	f := at(c.PressureKPa, c.TempC, humidity)
	if !(f >= least && f <= most) {
		return nil, fmt.Errorf("the factor would be %.3f, and %s holds between %.2f and %.2f", f, m.Name(), least, most)
	}
	sd := math.Sqrt(sq(at(c.PressureKPa, c.TempC, humidity+humiditySD)-f) +
		sq(at(c.PressureKPa+pressureSD, c.TempC, humidity)-f) +
		sq(at(c.PressureKPa, c.TempC+c.TempSD, humidity)-f))
	return stats.Normal(f, sd), nil
}

func sq(x float64) float64 { return x * x }
