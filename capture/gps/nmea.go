// Package gps reads speed over ground and altitude from the NMEA 0183 sentences of a GPS receiver. Positions are
// never kept.
package gps

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"flywitness/drive"
)

// kmhPerKnot is the international knot (NIST SP 811, from memory: 1852 m/h).
const kmhPerKnot = 1.852

// errNoFix is a good sentence of a receiver that does not know what it tells of.
var errNoFix = errors.New("the receiver has no fix")

// errOther is a sentence that carries something else.
var errOther = errors.New("the sentence carries something else")

// parseSpeed returns the speed in km/h of an RMC or VTG sentence. The checksum must be there and fit; a receiver
// without a fix gives errNoFix, and so does an empty speed, which is not zero.
func parseSpeed(sentence string) (float64, error) {
	fields, err := split(sentence)
	if err != nil {
		return 0, err
	}
	switch kind := fields[0]; {
	case len(kind) == 5 && kind[2:] == "RMC":
		return rmc(fields)
	case len(kind) == 5 && kind[2:] == "VTG":
		return vtg(fields)
	}
	return 0, errOther
}

// parseAltitude returns the height above the sea in m of a GGA sentence: time, latitude, N/S, longitude, E/W, quality
// of the fix, satellites, dilution, altitude, M. Of the qualities 1 to 5 are measured; 0 is no fix, and above 5 it is
// guessed. Checksum and errNoFix are as for parseSpeed.
func parseAltitude(sentence string) (float64, error) {
	f, err := split(sentence)
	if err != nil {
		return 0, err
	}
	if len(f[0]) != 5 || f[0][2:] != "GGA" {
		return 0, errOther
	}
	if len(f) < 11 {
		return 0, fmt.Errorf("GGA has %d fields, not 10 or more", len(f)-1)
	}
	if len(f[6]) != 1 || f[6] < "1" || f[6] > "5" || f[9] == "" {
		return 0, errNoFix
	}
	m, err := strconv.ParseFloat(f[9], 64)
	if err != nil || f[10] != "M" || !altitude.Plausible(m) {
		return 0, fmt.Errorf("%.20q %.5q is no altitude in m", f[9], f[10])
	}
	return m, nil
}

// split checks frame and checksum ("$" body "*" hexadecimal exclusive-or of the body) and returns the fields.
func split(sentence string) ([]string, error) {
	s := strings.TrimRight(sentence, "\r\n ")
	start := strings.LastIndexByte(s, '$') // what stands before belongs to a torn sentence
	star := strings.LastIndexByte(s, '*')
	if start < 0 || star < start || len(s) != star+3 {
		return nil, fmt.Errorf("%.90q is no sentence with a checksum", sentence)
	}
	want, err := strconv.ParseUint(s[star+1:], 16, 8)
	if err != nil {
		return nil, fmt.Errorf("%.90q has no checksum", sentence)
	}
	var sum byte
	for i := start + 1; i < star; i++ {
		sum ^= s[i]
	}
	if sum != byte(want) {
		return nil, fmt.Errorf("%.90q fails its checksum, which would be %02X", sentence, sum)
	}
	return strings.Split(s[start+1:star], ","), nil
}

// rmc: time, status A or V, latitude, N/S, longitude, E/W, speed in knots, course, date, variation, E/W, and from
// version 2.3 on a mode, of which N is no fix.
func rmc(f []string) (float64, error) {
	if len(f) < 10 {
		return 0, fmt.Errorf("RMC has %d fields, not 10 or more", len(f)-1)
	}
	if f[2] != "A" || len(f) > 12 && f[12] == "N" {
		return 0, errNoFix
	}
	v, err := number(f[7])
	return plausible(v*kmhPerKnot, err)
}

// vtg: course, T, course, M, speed in knots, N, speed in km/h, K, and from version 2.3 on a mode, of which N is no
// fix.
func vtg(f []string) (float64, error) {
	if len(f) < 9 || f[6] != "N" || f[8] != "K" {
		return 0, fmt.Errorf("VTG has other fields than speed in knots and in km/h")
	}
	if len(f) > 9 && f[9] == "N" {
		return 0, errNoFix
	}
	if f[7] != "" {
		return plausible(number(f[7]))
	}
	v, err := number(f[5])
	return plausible(v*kmhPerKnot, err)
}

// The channels that a receiver tells of, with the limits of what is taken for theirs. Production cars stay below that
// of the speed.
var (
	speed, _    = drive.Define(drive.GPSSpeed)
	altitude, _ = drive.Define(drive.Altitude)
)

// errTooFast is a speed in a good sentence that no road car drives.
var errTooFast = fmt.Errorf("faster than %g km/h", speed.High)

func plausible(kmh float64, err error) (float64, error) {
	if err == nil && kmh > speed.High {
		return 0, fmt.Errorf("%.1f km/h is no speed of a road car: %w", kmh, errTooFast)
	}
	return kmh, err
}

// number reads a speed; an empty field is not zero.
func number(s string) (float64, error) {
	if s == "" {
		return 0, errNoFix
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || !(v >= 0 && v < 1000) {
		return 0, fmt.Errorf("%.20q is no speed", s)
	}
	return v, nil
}
