package csvlog

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/numbers"
)

// filledLog is a drive in one gear of two rows a second, of an engine whose readings are a few rpm off. Through a pause from 100 s on values lie on the
// line from its beginning to its end, those of some channels only.
func filledLog(rpmFilled, throttleFilled bool, pause float64) string {
	rng := rand.New(rand.NewPCG(7, 3))
	kmh := func(at float64) float64 { return 70 + 35*math.Sin(at/11) + 9*math.Sin(at/2.3) }
	var rows [][3]float64
	for i := range 1200 {
		at := float64(i) / 2
		rows = append(rows, [3]float64{35*kmh(at) + 5*rng.NormFloat64(), kmh(at), 40 + 20*rng.Float64()})
	}
	from, to := 200, 200+int(2*pause)
	for i := from + 1; i < to; i++ {
		u := float64(i-from) / float64(to-from)
		for k := range 3 {
			if k == 2 && throttleFilled || k < 2 && rpmFilled {
				rows[i][k] = rows[from][k] + u*(rows[to][k]-rows[from][k])
			}
		}
	}
	var b strings.Builder
	b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h),Throttle position (%)\n")
	for i, x := range rows {
		fmt.Fprintf(&b, "%.3f,%.2f,%.2f,%.1f\n", float64(i)/2, x[0], x[1], x[2])
	}
	return b.String()
}

// Rows that were filled in across a pause were not measured: every channel runs straight. Where one bends, all were measured; where the pause is short,
// nothing is lost by the line.
func TestRowsFilledInAcrossAPause(t *testing.T) {
	numbers.Only(t)
	for _, c := range []struct {
		what          string
		rpm, throttle bool
		pause         float64
		want          int
	}{
		{"six seconds", true, true, 6, 11},
		{"six seconds, the throttle measured", true, false, 6, 0},
		{"measured", false, false, 6, 0},
		{"half a second", true, true, 0.5, 0},
		{"four seconds", true, true, 4, 7},
		{"two seconds: three rows may lie so by chance", true, true, 2, 0},
	} {
		l, err := read(strings.NewReader(filledLog(c.rpm, c.throttle, c.pause)), "log.csv", Options{})
		if err != nil {
			t.Fatal(err)
		}
		told := 0
		for _, w := range l.Warnings {
			if w.Code == finding.FilledGaps {
				told++
			}
		}
		for _, channel := range []string{drive.EngineSpeed, drive.VehicleSpeed, drive.Throttle} {
			if n := 1200 - l.Channel(channel).Len(); n != c.want || told != min(1, c.want) {
				t.Errorf("%s: %d values of %s left out, %v", c.what, n, channel, l.Warnings)
			}
		}
	}
}
