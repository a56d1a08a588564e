package csvlog

import (
	"math"
	"testing"
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
