package chart

import (
	"image/color"
	"math"
	"testing"
)

// linear returns the linear-light components of an sRGB colour (IEC 61966-2-1, from memory).
func linear(c color.NRGBA) [3]float64 {
	f := func(v uint8) float64 {
		x := float64(v) / 255
		if x <= 0.04045 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	}
	return [3]float64{f(c.R), f(c.G), f(c.B)}
}

// contrast is the ratio of WCAG 2.1 (from memory): (L1 + 0.05) / (L2 + 0.05), L the relative luminance.
func contrast(a, b color.NRGBA) float64 {
	l := func(c color.NRGBA) float64 {
		v := linear(c)
		return 0.2126*v[0] + 0.7152*v[1] + 0.0722*v[2]
	}
	x, y := l(a)+0.05, l(b)+0.05
	return math.Max(x, y) / math.Min(x, y)
}

func TestInksStandOutFromThePaper(t *testing.T) {
	// WCAG 2.1, 1.4.3 and 1.4.11 (from memory): 4.5 for text, 3 for graphics. Black on white is 21 by definition.
	if c := contrast(rgb(0, 0, 0), rgb(255, 255, 255)); math.Abs(c-21) > 1e-9 {
		t.Fatalf("black on white: %g", c)
	}
	check := func(name string, light, dark color.NRGBA) {
		if c := contrast(light, Paper.Light); c < 4.5 {
			t.Errorf("%s on light paper: %.2f", name, c)
		}
		if c := contrast(dark, Paper.Dark); c < 4.5 {
			t.Errorf("%s on dark paper: %.2f", name, c)
		}
	}
	check("text", Text.Light, Text.Dark)
	check("quiet text", Quiet.Light, Quiet.Dark)
	for r := range roleCount {
		check(Hex(r.Ink().Light), r.Ink().Light, r.Ink().Dark)
	}
}

// Colour blindness at full severity in linear light: Machado, Oliveira, Fernandes 2009, table of the matrices (from memory).
var blindness = map[string][3][3]float64{
	"none":         {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
	"protanopia":   {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	"deuteranopia": {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
	"tritanopia":   {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}},
}

// lab returns CIE L*a*b* (D65, from memory) of a linear-light colour.
func lab(v [3]float64) [3]float64 {
	x := (0.4124*v[0] + 0.3576*v[1] + 0.1805*v[2]) / 0.9505
	y := 0.2126*v[0] + 0.7152*v[1] + 0.0722*v[2]
	z := (0.0193*v[0] + 0.1192*v[1] + 0.9505*v[2]) / 1.089
	f := func(t float64) float64 {
		if t > 0.008856 {
			return math.Cbrt(t)
		}
		return 7.787*t + 16.0/116
	}
	return [3]float64{116*f(y) - 16, 500 * (f(x) - f(y)), 200 * (f(y) - f(z))}
}

func distance(a, b color.NRGBA, m [3][3]float64) float64 {
	see := func(c color.NRGBA) [3]float64 {
		v, out := linear(c), [3]float64{}
		for i := range m {
			out[i] = math.Max(0, m[i][0]*v[0]+m[i][1]*v[1]+m[i][2]*v[2])
		}
		return lab(out)
	}
	p, q := see(a), see(b)
	return math.Sqrt((p[0]-q[0])*(p[0]-q[0]) + (p[1]-q[1])*(p[1]-q[1]) + (p[2]-q[2])*(p[2]-q[2]))
}

func TestInksThatMeetStayApart(t *testing.T) {
	// A difference of 10 in L*a*b* is plain at a glance: common practice, no source. Dash and shape differ as well.
	for _, pair := range [][2]Role{{Before, After}, {Measured, Expected}, {Measured, SlipRole}, {Expected, SlipRole}, {LockedRole, SlipRole}} {
		a, b := pair[0].Ink(), pair[1].Ink()
		for kind, m := range blindness {
			if d := distance(a.Light, b.Light, m); d < 10 {
				t.Errorf("%s, light: %s and %s differ by %.1f", kind, Hex(a.Light), Hex(b.Light), d)
			}
			if d := distance(a.Dark, b.Dark, m); d < 10 {
				t.Errorf("%s, dark: %s and %s differ by %.1f", kind, Hex(a.Dark), Hex(b.Dark), d)
			}
		}
		if a.Shape == b.Shape && len(a.Dash) == len(b.Dash) && pair[1] != SlipRole {
			t.Errorf("%s and %s differ in colour alone", Hex(a.Light), Hex(b.Light))
		}
	}
}
