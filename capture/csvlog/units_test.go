package csvlog

import (
	"math"
	"testing"

	"flywitness/drive"
)

// A unit that is taken gives a finite conversion, and a heading is read without a panic whatever stands in it.
func FuzzUnits(f *testing.F) {
	for _, s := range []string{"rpm", "x1000 rpm", "U/min", "km/h", "°F", "1000", "k", "min^-1", "об/мин", "Engine speed (rpm) [x1000]", "\xff("} {
		f.Add(s, "rpm", "Speed ("+s+")")
	}
	f.Add("mph", "km/h", "Vehicle speed, mph")
	f.Fuzz(func(t *testing.T, text, canonical, raw string) {
		c, ok := parseUnit(text, canonical)
		if math.IsNaN(c.factor) || math.IsInf(c.factor, 0) || c.factor <= 0 || math.IsNaN(c.offset) || math.IsInf(c.offset, 0) {
			t.Errorf("%q in %q: %+v", text, canonical, c)
		}
		if ok && canonical == "" {
			t.Errorf("%q is a unit of nothing", text)
		}
		_ = isUnit(text)
		_ = parseHeading(0, raw, text)
	})
}

// One number of a unit may stand for so many of it, or for a part.
func TestFactors(t *testing.T) {
	for _, c := range []struct {
		text, canonical string
		factor          float64 // 0: no unit of the quantity
	}{
		{"0.01 km/h", "km/h", 0.01}, {"1/256 km/h", "km/h", 1.0 / 256}, {"x0.1 km/h", "km/h", 0.1}, {"0,5 km/h", "km/h", 0.5}, {"cm/s", "km/h", 0.036},
		{"0.25 rpm", "rpm", 0.25}, {"x1000 rpm", "rpm", 1000}, {"1000/min", "rpm", 1000}, {"1000 1/min", "rpm", 1000}, {"1/min", "rpm", 1}, {"rev/s", "rpm", 60}, {"10 °F", "C", 0},
		{"0 km/h", "km/h", 0}, {"1/0 km/h", "km/h", 0}, {"0.01 rpm", "km/h", 0}, {"99999999 km/h", "km/h", 0},
	} {
		got, ok := parseUnit(c.text, c.canonical)
		if ok != (c.factor > 0) || ok && math.Abs(got.factor/c.factor-1) > 1e-12 {
			t.Errorf("%q of %s: %+v %v, want %g", c.text, c.canonical, got, ok, c.factor)
		}
	}
	for text, want := range map[string]float64{"1/100 s": 0.01, "10 ms": 0.01, "0.1 s": 0.1, "min": 60} {
		if got, ok := timeUnit(text); !ok || math.Abs(got/want-1) > 1e-12 {
			t.Errorf("%q: %g s, want %g", text, got, want)
		}
	}
}

// A unit that stands behind a name without brackets is taken as a whole: "kPa" is no "k" and "Pa".
func TestUnitsWithPrefixes(t *testing.T) {
	for text, want := range map[string]float64{"MAP kPa": 1, "MAP_hPa": 0.1, "MAP - mBar": 0.1, "MAP «kPa»": 1, "Manifold pressure in MPa": 1000, "Battery voltage mV": 1e-3, "Battery voltage V": 1,
		"vehicleSpeedKmh": 1, "Vehicle speed km/h": 1, "Battery voltage kV": 0} {
		h := parseHeading(0, text, "")
		got := 0.0
		for _, channel := range []string{drive.IntakePressure, drive.ModuleVoltage, drive.VehicleSpeed} {
			if r, conv, given := h.match(lexiconOf(channel)); r > noMatch && given {
				got = conv.factor
			}
		}
		if math.Abs(got-want) > 1e-12 {
			t.Errorf("%q: 1 is %g, want %g", text, got, want)
		}
	}
}
