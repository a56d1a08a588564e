package figure

import (
	"fmt"
	"math"
	"strings"

	"flywitness/vehicle"
)

// Units is the unit system of text output; JSON is always in the units its names carry. It is a flag value.
type Units string

// The unit systems.
const (
	Metric Units = "metric"
	US     Units = "us"
)

// String, Set and Type make *Units a flag: cmd.Flags().Var(&units, "units", "metric or us").
func (u *Units) String() string {
	if *u == "" {
		return string(Metric)
	}
	return string(*u)
}

// Set accepts metric or us.
func (u *Units) Set(s string) error {
	if s != string(Metric) && s != string(US) {
		return fmt.Errorf("give metric or us")
	}
	*u = Units(s)
	return nil
}

// Type is what help prints.
func (u *Units) Type() string { return "metric|us" }

// usUnits names the unit of the us system for each metric unit that names in this project carry.
var usUnits = map[string]string{
	"km/h": "mph", "m/s": "mph", "kg": "lb", "kg m^2": "lb ft^2", "N m": "lbf ft", "kW": "hp", "m": "ft", "mm": "in",
	"km": "mile", "C": "F", "kPa": "psi", "kJ": "Btu", "J": "Btu", "N": "lbf", "rpm per km/h": "rpm per mph",
	"m/s^2": "ft/s^2", "K": "F", "N/(m/s)": "lbf/mph", "N/(m/s)^2": "lbf/mph^2",
}

// In returns x, given in the metric unit, in this system, and the unit to print. A unit that both systems share
// (rpm, s, %) comes back as it is.
func (u Units) In(x float64, metric string) (float64, string) {
	to, ok := usUnits[metric]
	if u != US || !ok {
		return x, metric
	}
	if metric == "K" { // a difference of temperatures, for which the zero does not count
		return x * 9 / 5, to
	}
	if power := map[string]int{"N/(m/s)": 1, "N/(m/s)^2": 2}[metric]; power > 0 {
		lbf, _ := vehicle.Convert(x, "N", "lbf")
		mph, _ := vehicle.Convert(1, "mph", "m/s")
		return lbf * math.Pow(mph, float64(power)), to
	}
	if metric == "rpm per km/h" {
		perMph, err := vehicle.Convert(1, "mph", "km/h")
		if err != nil {
			return x, metric
		}
		return x * perMph, to
	}
	y, err := vehicle.Convert(x, metric, to)
	if err != nil {
		return x, metric
	}
	return y, to
}

// Estimate writes an estimate given in the metric unit in this system, rounded to what its sd supports.
func (u Units) Estimate(e *Estimate, metric string) string {
	if e == nil {
		return interval(nil, metric)
	}
	value, unit := u.In(e.Value, metric)
	lo, _ := u.In(e.CI95[0], metric)
	hi, _ := u.In(e.CI95[1], metric)
	zero, _ := u.In(0, metric)
	sd, _ := u.In(e.SD, metric)
	return interval(&Estimate{Value: value, SD: sd - zero, CI95: [2]float64{lo, hi}}, unit)
}

// Uncertain writes an estimate with its deviation and without its interval: "0.166 ± 0.006 kg m^2".
func (u Units) Uncertain(e *Estimate, metric string) string {
	if e == nil {
		return interval(nil, metric)
	}
	zero, _ := u.In(0, metric)
	value, unit := u.In(e.Value, metric)
	sd, _ := u.In(e.SD, metric)
	return WithUnit(uncertain(value, sd-zero), unit)
}

// Number writes x, given in the metric unit with a standard deviation (0 when exact or unknown), with its unit.
func (u Units) Number(x, sd float64, metric string) string {
	value, unit := u.In(x, metric)
	zero, _ := u.In(0, metric)
	s, _ := u.In(sd, metric)
	return WithUnit(Number(value, s-zero), unit)
}

// Pretty writes the powers of a unit as raised figures, for pages and charts: kg m².
func Pretty(unit string) string {
	return powers.Replace(unit)
}

var powers = strings.NewReplacer("^2", "²", "^3", "³")
