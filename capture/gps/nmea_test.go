package gps

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
)

// sum appends the checksum, worked here apart from the code under test.
func sum(body string) string {
	var x byte
	for _, c := range []byte(body) {
		x ^= c
	}
	return fmt.Sprintf("$%s*%02X\r\n", body, x)
}

// The widely printed sample of NMEA 0183 (from memory): 22.4 kn = 41.5 km/h.
func TestSampleOfTheStandard(t *testing.T) {
	v, err := parseSpeed("$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A")
	if err != nil || math.Abs(v-22.4*1.852) > 1e-9 || math.Round(v*10)/10 != 41.5 {
		t.Errorf("%v, %v", v, err)
	}
	// the same source's VTG sample: 005.5 N = 010.2 K
	if v, err = parseSpeed("$GPVTG,054.7,T,034.4,M,005.5,N,010.2,K*48"); err != nil || v != 10.2 {
		t.Errorf("%v, %v", v, err)
	}
}

func TestParseSpeed(t *testing.T) {
	for body, want := range map[string]float64{
		"GNRMC,123519.00,A,4807.038,N,01131.000,E,0.000,,230394,,,A": 0,
		"GNVTG,,T,,M,10,N,,K,A":     18.52,
		"GNVTG,,T,,M,,N,18.5,K,D":   18.5,
		"GPVTG,,T,,M,0.0,N,0.0,K,A": 0,
	} {
		if v, err := parseSpeed(sum(body)); err != nil || math.Abs(v-want) > 1e-9 {
			t.Errorf("%s: %v, %v", body, v, err)
		}
	}
	for _, body := range []string{
		"GPRMC,123519,V,,,,,,,230394,,",
		"GPRMC,123519,A,4807.038,N,01131.000,E,,084.4,230394,003.1,W", // an empty speed is not zero
		"GPRMC,123519,A,4807.038,N,01131.000,E,5,084.4,230394,003.1,W,N",
		"GPVTG,,T,,M,,N,,K,N", "GPVTG,,T,,M,,N,,K,A",
	} {
		if v, err := parseSpeed(sum(body)); !errors.Is(err, errNoFix) {
			t.Errorf("%s: %v, %v", body, v, err)
		}
	}
	good := "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A"
	for _, s := range []string{
		"", "$", "*", "$*00", "$GPRMC*4B", strings.Replace(good, "022.4", "022.5", 1), strings.TrimSuffix(good, "*6A"), good[:40], good + "x",
		sum("GPRMC,123519,A,4807.038,N,01131.000,E,-5,084.4,230394,003.1,W"), sum("GPRMC,1,A,2,N,3,E,NaN,4,5,6,W"), sum("GPVTG,1,2,3,4,5"),
		sum("GNVTG,,T,,M,,N,451,K,A"), sum("GNRMC,123519.00,A,4807.038,N,01131.000,E,243.1,,230394,,,A"),
		sum("GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,"),
	} {
		if v, err := parseSpeed(s); err == nil {
			t.Errorf("%q gives %v", s, v)
		}
	}
	// each single wrong character fails
	for i := 1; i < len(good)-3; i++ {
		b := []byte(good)
		b[i] ^= 1
		if v, err := parseSpeed(string(b)); err == nil {
			t.Errorf("%s gives %v", b, v)
		}
	}
}

// The same source's GGA sample: 545.4 m.
func TestParseAltitude(t *testing.T) {
	const sample = "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47"
	if v, err := parseAltitude(sample); err != nil || v != 545.4 {
		t.Errorf("%v, %v", v, err)
	}
	if v, err := parseAltitude(sum("GNGGA,1,2,N,3,E,2,12,0.6,-3.2,M,46.9,M,,")); err != nil || v != -3.2 {
		t.Errorf("below the sea: %v, %v", v, err)
	}
	for _, body := range []string{"GPGGA,1,,,,,0,00,99,,M,,M,,", "GPGGA,1,2,N,3,E,6,00,1,545.4,M,,M,,", "GPGGA,1,2,N,3,E,1,08,0.9,,M,46.9,M,,",
		"GPGGA,1,2,N,3,E,,08,0.9,545.4,M,46.9,M,,"} {
		if v, err := parseAltitude(sum(body)); !errors.Is(err, errNoFix) {
			t.Errorf("%s: %v, %v", body, v, err)
		}
	}
	for _, s := range []string{"", sample[:40], strings.Replace(sample, "545.4", "545.5", 1), sum("GPGGA,1,2,N,3,E,1"), sum("GPGGA,1,2,N,3,E,1,08,0.9,NaN,M,"),
		sum("GPGGA,1,2,N,3,E,1,08,0.9,12000,M,"), sum("GPGGA,1,2,N,3,E,1,08,0.9,545.4,F,"), sum("GPVTG,,T,,M,10,N,18.52,K,A")} {
		if v, err := parseAltitude(s); err == nil {
			t.Errorf("%q gives %v", s, v)
		}
	}
}

func FuzzParseSpeed(f *testing.F) {
	f.Add("$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A")
	f.Add("$GPVTG,054.7,T,034.4,M,005.5,N,010.2,K*48")
	f.Add("GNVTG,,T,,M,,N,,K,N")
	f.Add("GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,")
	f.Fuzz(func(t *testing.T, s string) {
		for _, x := range []string{s, sum(strings.Trim(s, "$*\r\n"))} {
			if v, err := parseSpeed(x); err == nil && !(v >= 0 && v <= speed.High) {
				t.Fatalf("%q gives %v", x, v)
			}
			if m, err := parseAltitude(x); err == nil && !(m >= altitude.Low && m <= altitude.High) {
				t.Fatalf("%q gives %v m", x, m)
			}
		}
		var l lineReader
		for _, b := range []byte(s) {
			l.feed(b, time.Time{})
			if len(l.line) > 200 {
				t.Fatal("the line grows without end")
			}
		}
	})
}
