package vehicle

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// tyre is a size such as 205/55R16.
type tyre struct {
	Width  float64 // m
	Aspect float64 // height of the side wall over the width
	Rim    float64 // m, diameter
	Radial bool
}

var (
	metricSize    = regexp.MustCompile(`^(?:P|LT)?(\d{3})/(\d{2})(ZR|R|B|D|-)?F?(\d{2}(?:\.5)?)(?:C|LT)?(?:\(?\d{2,3}(?:/\d{2,3})?[A-Z]\d?\)?)?(?:XL|RF|RFT|EXTRALOAD|M\+S|TL|REINFORCED)*$`)
	flotationSize = regexp.MustCompile(`^\d{2}(?:\.\d)?X\d{1,2}(?:[.,]\d{1,2})?-?(?:ZR|R|B|D)?\d{2}`)
	noAspectSize  = regexp.MustCompile(`^\d{3}(?:ZR|R|-|SR|HR|VR|TR)\d{2}`)
)

// parseTyre reads a metric tyre size in its usual spellings: 205/55R16, 205/55 R16 91V, 225/45 ZR 17 94W XL,
// P205/55R16, LT245/75R16, 195/65-15. Sizes without an aspect ratio and sizes in inches are refused with what to give
// instead.
func parseTyre(s string) (tyre, error) {
	p := strings.ToUpper(strings.Join(strings.Fields(s), ""))
	const instead = "measure one turn of the wheel on the ground and give rolling_circumference_mm"
	m := metricSize.FindStringSubmatch(p)
	switch {
	case m != nil:
	case flotationSize.MatchString(p):
		return tyre{}, fmt.Errorf("%q is a size in inches whose rolling circumference differs from make to make; %s", s, instead)
	case noAspectSize.MatchString(p):
		return tyre{}, fmt.Errorf("%q names no aspect ratio (205/55R16 does); %s", s, instead)
	default:
		return tyre{}, fmt.Errorf("%q is not a tyre size such as 205/55R16; if it has none like it, %s", s, instead)
	}
	width, aspect, rim := atof(m[1]), atof(m[2]), atof(m[4])
	if width < 115 || width > 455 || aspect < 20 || aspect > 95 || rim < 8 || rim > 30 {
		return tyre{}, fmt.Errorf("%q: no car tyre has these figures (width 115-455 mm, aspect 20-95, rim 8-30 in)", s)
	}
	return tyre{Width: width / 1000, Aspect: aspect / 100, Rim: rim * inch, Radial: m[3] != "-" && m[3] != "D" && m[3] != "B"}, nil
}

// atof reads digits that a pattern has matched.
func atof(s string) float64 {
	x, _ := strconv.ParseFloat(s, 64)
	return x
}

// diameter returns the free diameter in m: rim + 2 x width x aspect (ISO 4000-1, from memory).
func (t tyre) diameter() float64 { return t.Rim + 2*t.Width*t.Aspect }

// rollingCircumference returns the distance of one turn of the loaded wheel in m: 3.05 D for a radial tyre (ETRTO
// Standards Manual, from memory). A bias-ply tyre keeps more of its circumference: 3.09 D, common practice, no source.
func (t tyre) rollingCircumference() float64 {
	if t.Radial {
		return 3.05 * t.diameter()
	}
	return 3.09 * t.diameter()
}
