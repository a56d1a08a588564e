package vehicle

import (
	"math"
	"testing"
)

// Source: NIST Special Publication 811, appendix B.8 (from memory).
func TestUnitFactorsOfNIST(t *testing.T) {
	for _, c := range []struct {
		from, to string
		want     float64
		tol      float64 // relative; half the last digit given
	}{
		{"lb", "kg", 0.45359237, 0},
		{"lbf ft", "N m", 1.3558179483, 5e-11},
		{"hp", "W", 745.69987, 5e-9},
		{"mph", "km/h", 1.609344, 1e-15},
		{"lb ft^2", "kg m^2", 0.0421401, 1.2e-6},
		{"slug ft^2", "kg m^2", 1.3558179, 3.7e-8},
		{"lbf", "N", 4.4482216152605, 1e-15},
		{"in", "mm", 25.4, 1e-15},
		{"psi", "kPa", 6.894757, 1e-7},
		{"inHg", "kPa", 3.386389, 1e-9},
		{"kn", "km/h", 1.852, 1e-15},
		{"PS", "W", 735.49875, 1e-9},
		{"lb in^2", "kg m^2", 2.926397e-4, 1e-6},
		{"Btu", "J", 1055.05585262, 1e-12},
		{"lbf in", "N m", 0.1129848, 3e-7},
	} {
		got, err := Convert(1, c.from, c.to)
		if err != nil || math.Abs(got/c.want-1) > c.tol {
			t.Errorf("1 %s = %.12g %s (%v), want %.12g", c.from, got, c.to, err, c.want)
		}
	}
	for _, c := range []struct{ f, celsius float64 }{{32, 0}, {212, 100}, {-40, -40}} {
		if got, err := Convert(c.f, "F", "C"); err != nil || math.Abs(got-c.celsius) > 1e-9 {
			t.Errorf("%g F = %g C (%v), want %g", c.f, got, err, c.celsius)
		}
	}
}

func TestUnitSpellings(t *testing.T) {
	for spelling, want := range map[string]string{
		"km/h": "km/h", "KPH": "km/h", "kmh": "km/h", "MPH": "mph", "Nm": "N m", "N·m": "N m", "lb-ft": "lbf ft",
		"ft·lb": "lbf ft", "ft-lbs": "lbf ft", "lbf.ft": "lbf ft", "°C": "C", "deg F": "F", "inHg": "inHg", "in-Hg": "inHg",
		"kPa": "kPa", "mbar": "hPa", "rpm": "rpm", "1/min": "rpm", "min-1": "rpm", "kg·m²": "kg m^2", "lb-ft²": "lb ft^2",
		"ms": "ms", "sec": "s", "%": "%", "g/s": "g/s", "kg": "kg", "knots": "kn", " kW ": "kW", "PS": "PS",
	} {
		if u, ok := ParseUnit(spelling); !ok || u.Name != want {
			t.Errorf("%q: %q %v, want %q", spelling, u.Name, ok, want)
		}
	}
	for _, spelling := range []string{"", "furlong", "kgg"} {
		if u, ok := ParseUnit(spelling); ok {
			t.Errorf("%q taken for %q", spelling, u.Name)
		}
	}
}

func TestEverySpellingIsUnambiguous(t *testing.T) {
	for _, u := range units {
		if got, ok := ParseUnit(u.Name); !ok || got != u.Unit {
			t.Errorf("%q reads as %q: two units share a spelling", u.Name, got.Name)
		}
		if x := u.FromSI(u.ToSI(12.5)); math.Abs(x-12.5) > 1e-9 {
			t.Errorf("%s does not round-trip: %g", u.Name, x)
		}
	}
}

func TestConvertErrors(t *testing.T) {
	for _, c := range [][2]string{{"kg", "m"}, {"nope", "m"}, {"m", "nope"}} {
		if _, err := Convert(1, c[0], c[1]); err == nil {
			t.Errorf("%v converts", c)
		}
	}
}

// A spelling that is taken converts there and back, and spells the same without regard to case.
func FuzzParseUnit(f *testing.F) {
	for _, s := range []string{"km/h", "°F", "lb-ft", "kg m^2", "inHg", "kn", "% ", "", "\xff", "İ"} {
		f.Add(s, 12.5)
	}
	f.Fuzz(func(t *testing.T, s string, x float64) {
		u, ok := ParseUnit(s)
		if !ok {
			return
		}
		if u.Name == "" || u.Quantity == "" || !(u.Factor > 0) {
			t.Errorf("%q: %+v", s, u)
		}
		if same, ok := ParseUnit(u.Name); !ok || same != u {
			t.Errorf("%q: its own name %q gives %+v", s, u.Name, same)
		}
		if back := u.FromSI(u.ToSI(x)); math.Abs(x) < 1e9 && math.Abs(back-x) > 1e-9*math.Max(math.Abs(x), 1000) {
			t.Errorf("%q: %g becomes %g", s, x, back)
		}
	})
}
