package vehicle

import (
	"fmt"
	"math"
	"strings"
)

// Unit is a unit of measurement. A value x in it is (x + Offset) * Factor in the SI unit of its quantity.
type Unit struct {
	Name     string // as this project prints it
	Quantity string // two units convert into each other when this is equal
	Factor   float64
	Offset   float64 // 0 but for temperatures
}

// Gravity is the standard acceleration of free fall, m/s^2, exact by definition (3rd CGPM, 1901; NIST SP 811, from memory).
const Gravity = 9.80665

// Factors of NIST Special Publication 811, appendix B.8 (from memory). The international foot, pound and standard
// gravity are exact by definition and the rest follow from them.
const (
	inch     = 0.0254
	foot     = 12 * inch
	mile     = 5280 * foot
	pound    = 0.45359237
	lbf      = pound * Gravity
	slug     = lbf / foot
	knot     = 1852.0 / 3600
	gallon   = 231 * inch * inch * inch // U.S. gallon
	inchHg   = 3386.389                 // conventional inch of mercury, Pa
	mmHg     = 133.3224
	btu      = 1055.05585262 // International Table
	horse    = 550 * foot * lbf
	horseMet = 75 * Gravity // metric horsepower (PS)
)

// units is every unit with the spellings that people and loggers use.
var units = []struct {
	Unit
	spellings string
}{
	{Unit{"kg", "mass", 1, 0}, "kg kilogram"},
	{Unit{"g", "mass", 1e-3, 0}, "gram"},
	{Unit{"lb", "mass", pound, 0}, "lb lbs lbm pound"},
	{Unit{"t", "mass", 1000, 0}, "t tonne"},
	{Unit{"m", "length", 1, 0}, "m metre meter metres meters"},
	{Unit{"mm", "length", 1e-3, 0}, "mm"},
	{Unit{"cm", "length", 1e-2, 0}, "cm"},
	{Unit{"km", "length", 1000, 0}, "km"},
	{Unit{"in", "length", inch, 0}, "in inch"},
	{Unit{"ft", "length", foot, 0}, "ft feet foot"},
	{Unit{"mile", "length", mile, 0}, "mi mile miles"},
	{Unit{"m/s", "speed", 1, 0}, "m/s mps"},
	{Unit{"km/h", "speed", 1 / 3.6, 0}, "km/h kmh kph kmph km/hr km/hour"},
	{Unit{"mph", "speed", mile / 3600, 0}, "mph mi/h miles/h miles/hour mile/h"},
	{Unit{"kn", "speed", knot, 0}, "kn kt kts knot knots"},
	{Unit{"ft/s", "speed", foot, 0}, "ft/s fps"},
	{Unit{"cm/s", "speed", 1e-2, 0}, "cm/s"},
	{Unit{"mm/s", "speed", 1e-3, 0}, "mm/s"},
	{Unit{"m/min", "speed", 1 / 60.0, 0}, "m/min"},
	{Unit{"m/s^2", "acceleration", 1, 0}, "m/s2 mps2"},
	{Unit{"ft/s^2", "acceleration", foot, 0}, "ft/s2"},
	{Unit{"K", "temperature", 1, 0}, "k kelvin"},
	{Unit{"C", "temperature", 1, 273.15}, "c degc celsius"},
	{Unit{"F", "temperature", 5.0 / 9, 459.67}, "f degf fahrenheit"},
	{Unit{"Pa", "pressure", 1, 0}, "pa"},
	{Unit{"hPa", "pressure", 100, 0}, "hpa mbar mb millibar"},
	{Unit{"kPa", "pressure", 1000, 0}, "kpa kpaa"},
	{Unit{"MPa", "pressure", 1e6, 0}, "mpa"},
	{Unit{"bar", "pressure", 1e5, 0}, "bar bara"},
	{Unit{"psi", "pressure", lbf / (inch * inch), 0}, "psi psia lbf/in2"},
	{Unit{"inHg", "pressure", inchHg, 0}, "inhg"},
	{Unit{"mmHg", "pressure", mmHg, 0}, "mmhg torr"},
	{Unit{"atm", "pressure", 101325, 0}, "atm"},
	{Unit{"kgf/cm^2", "pressure", Gravity * 1e4, 0}, "kgf/cm2 kg/cm2"},
	{Unit{"N", "force", 1, 0}, "n newton"},
	{Unit{"lbf", "force", lbf, 0}, "lbf"},
	{Unit{"N m", "torque", 1, 0}, "nm newtonmetre newton-meter newtonmetres newton-meters"},
	{Unit{"lbf ft", "torque", lbf * foot, 0}, "lbfft ftlbf lbft ftlb ftlbs lbsft"},
	{Unit{"lbf in", "torque", lbf * inch, 0}, "lbfin inlbf lbin inlb"},
	{Unit{"kgf m", "torque", Gravity, 0}, "kgfm mkgf kgm"},
	{Unit{"W", "power", 1, 0}, "w watt"},
	{Unit{"kW", "power", 1000, 0}, "kw"},
	{Unit{"hp", "power", horse, 0}, "hp bhp"},
	{Unit{"PS", "power", horseMet, 0}, "ps cv pferdestaerke"},
	{Unit{"J", "energy", 1, 0}, "j joule"},
	{Unit{"kJ", "energy", 1000, 0}, "kj"},
	{Unit{"Btu", "energy", btu, 0}, "btu"},
	{Unit{"kg m^2", "inertia", 1, 0}, "kgm2"},
	{Unit{"kg cm^2", "inertia", 1e-4, 0}, "kgcm2"},
	{Unit{"lb ft^2", "inertia", pound * foot * foot, 0}, "lbft2 lbmft2"},
	{Unit{"lb in^2", "inertia", pound * inch * inch, 0}, "lbin2 lbmin2"},
	{Unit{"slug ft^2", "inertia", slug * foot * foot, 0}, "slugft2"},
	{Unit{"rpm", "rotation", math.Pi / 30, 0}, "rpm r/min rev/min 1/min min-1"},
	{Unit{"rad/s", "rotation", 1, 0}, "rad/s"},
	{Unit{"deg/s", "rotation", math.Pi / 180, 0}, "deg/s deg/sec"},
	{Unit{"rev/s", "rotation", 2 * math.Pi, 0}, "rev/s r/s rps 1/s hz"},
	{Unit{"s", "time", 1, 0}, "s sec second seconds"},
	{Unit{"ms", "time", 1e-3, 0}, "ms msec millisecond milliseconds"},
	{Unit{"min", "time", 60, 0}, "min minute minutes"},
	{Unit{"h", "time", 3600, 0}, "h hr hour hours"},
	{Unit{"g/s", "mass flow", 1e-3, 0}, "g/s g/sec"},
	{Unit{"kg/h", "mass flow", 1 / 3600.0, 0}, "kg/h kg/hr"},
	{Unit{"kg/s", "mass flow", 1, 0}, "kg/s kg/sec"},
	{Unit{"kg/min", "mass flow", 1 / 60.0, 0}, "kg/min"},
	{Unit{"mg/s", "mass flow", 1e-6, 0}, "mg/s mg/sec"},
	{Unit{"lb/min", "mass flow", pound / 60, 0}, "lb/min lbs/min"},
	{Unit{"lb/s", "mass flow", pound, 0}, "lb/s lbs/s lb/sec"},
	{Unit{"L/h", "volume flow", 1e-3 / 3600, 0}, "l/h lph l/hr liter/hour litre/hour"},
	{Unit{"gal/h", "volume flow", gallon / 3600, 0}, "gal/h gph gal/hr"},
	{Unit{"%", "ratio", 0.01, 0}, "% pct percent"},
	{Unit{"V", "voltage", 1, 0}, "v volt volts"},
	{Unit{"mV", "voltage", 1e-3, 0}, "mv millivolt millivolts"},
	{Unit{"deg", "angle", math.Pi / 180, 0}, "deg degree degrees"},
}

var unitBySpelling = func() map[string]Unit {
	m := map[string]Unit{}
	for _, u := range units {
		for _, s := range append(strings.Fields(u.spellings), u.Name) {
			m[plain(s)] = u.Unit
		}
	}
	return m
}()

var plainer = strings.NewReplacer(" ", "", "\u00a0", "", "-", "", "·", "", "*", "", ".", "", "^", "", "_", "",
	"°", "deg", "º", "deg", "²", "2")

// plain strips a spelling of what does not matter: case, blanks, dots, hyphens, the form of a degree sign.
func plain(s string) string { return plainer.Replace(strings.ToLower(s)) }

// ParseUnit returns the unit of a usual spelling: "km/h", "kph", "°F", "lb-ft", "Nm", "inHg", "kg m^2". Case does not
// matter; kn is a knot. ok is false for a spelling that is not known.
func ParseUnit(s string) (u Unit, ok bool) {
	u, ok = unitBySpelling[plain(s)]
	return u, ok
}

// ToSI returns x, given in u, in the SI unit of the quantity (m, kg, s, K, Pa, N m, rad/s, ...).
func (u Unit) ToSI(x float64) float64 { return (x + u.Offset) * u.Factor }

// FromSI returns x, given in the SI unit, in u.
func (u Unit) FromSI(x float64) float64 { return x/u.Factor - u.Offset }

// Convert returns x, given in one unit, in another of the same quantity: Convert(60, "mph", "km/h"). It errs for
// spellings that ParseUnit does not know and for units of different quantities.
func Convert(x float64, from, to string) (float64, error) {
	a, ok := ParseUnit(from)
	if !ok {
		return 0, fmt.Errorf("unknown unit %q", from)
	}
	b, ok := ParseUnit(to)
	if !ok {
		return 0, fmt.Errorf("unknown unit %q", to)
	}
	if a.Quantity != b.Quantity {
		return 0, fmt.Errorf("%s is a unit of %s and %s one of %s: they do not convert", a.Name, a.Quantity, b.Name, b.Quantity)
	}
	if a == b {
		return x, nil
	}
	return b.FromSI(a.ToSI(x)), nil
}
