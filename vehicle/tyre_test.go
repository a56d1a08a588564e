package vehicle

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
)

// Source: ISO 4000-1 and the ETRTO Standards Manual (from memory): D = 25.4 rim + 2 x width x aspect; 3.05 D rolls.
func TestTyreDiameterOfStandard(t *testing.T) {
	for size, mm := range map[string]float64{"205/55R16": 632, "195/65R15": 635, "225/45R17": 634} {
		tyre, err := parseTyre(size)
		if err != nil || math.Round(tyre.diameter()*1000) != mm {
			t.Errorf("%s: %.1f mm (%v), want %g", size, tyre.diameter()*1000, err, mm)
		}
	}
	tyre, err := parseTyre("205/55R16")
	if err != nil || math.Abs(tyre.rollingCircumference()-1.93) > 0.005 {
		t.Errorf("205/55R16 rolls %.3f m (%v), want 1.93", tyre.rollingCircumference(), err)
	}
}

func TestTyreSpellings(t *testing.T) {
	for _, s := range []string{"205/55R16", "205/55 R16 91V", "205/55r16", " 205/55 ZR 16 ", "P205/55R16", "205/55ZR16 (94Y) XL",
		"205/55 R 16 91 H", "205/55R16C 109/107T", "205/55RF16", "205/55R16 91H M+S"} {
		tyre, err := parseTyre(s)
		if err != nil || math.Abs(tyre.diameter()-0.6319) > 1e-9 {
			t.Errorf("%q: %.4f m (%v)", s, tyre.diameter(), err)
		}
	}
	bias, err := parseTyre("205/55-16")
	if err != nil || bias.Radial || bias.rollingCircumference() <= 3.05*bias.diameter() {
		t.Errorf("bias ply: %+v (%v)", bias, err)
	}
}

func TestTyreRefusals(t *testing.T) {
	for s, want := range map[string]string{
		"31x10.50R15LT": "size in inches", "33X12.5-15": "size in inches", "165R13": "aspect ratio", "165SR13": "aspect ratio",
		"": "not a tyre size", "205": "not a tyre size", "205/55R99": "no car tyre", "999/55R16": "no car tyre",
		"205/55": "not a tyre size", strings.Repeat("9", 10000): "not a tyre size", "205/55R16 nonsense!": "not a tyre size",
	} {
		if _, err := parseTyre(s); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%.20q: %v, want %q", s, err, want)
		}
	}
}

// What is taken for a tyre is one: of a size that is made, written so that it reads the same again.
func FuzzParseTyre(f *testing.F) {
	for _, s := range []string{"205/55R16", "225/45 ZR 17 94W XL", "LT245/75R16", "195/65-15", "31x10.5R15", "165R13", "205/55R16 91V/H", "205 / 55 r 16"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		size, err := parseTyre(s)
		if err != nil {
			if strings.Contains(err.Error(), "\n") {
				t.Errorf("error of two lines: %q", err)
			}
			return
		}
		if d, c := size.diameter(), size.rollingCircumference(); !(d > 0.2 && d < 1.7) || !(c > 3*d && c < 3.1416*d) {
			t.Errorf("%q: diameter %g m, circumference %g m", s, d, c)
		}
		letter := map[bool]string{true: "R", false: "-"}[size.Radial]
		rim := strconv.FormatFloat(math.Round(10*size.Rim/0.0254)/10, 'f', -1, 64)
		again, err := parseTyre(fmt.Sprintf("%03.0f/%02.0f%s%02s", 1000*size.Width, 100*size.Aspect, letter, rim))
		if err != nil || again != size {
			t.Errorf("%q gives %+v, written again %+v, %v", s, size, again, err)
		}
	})
}
