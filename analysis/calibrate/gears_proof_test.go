//go:build proof

package calibrate_test

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/clocks"
	"flywitness/analysis/stats"
	"flywitness/capture/csvlog"
	"flywitness/capture/source"
	"flywitness/sim/field"
	"flywitness/vehicle"
)

// gearError is how far one learnt gear lies from where the log's others put it, by the true ratios.
type gearError struct {
	off, sd float64 // relative
	seconds float64 // settled in it
	slow    float64 // km/h at which it was learnt
}

const (
	mostBeyond = 0.01 // share of the gears of an ordinary log that lie beyond three standard deviations
	widest     = 0.2  // in ln, from a true gear, beyond which a learnt one is none of the car's
	wellSeen   = 10.0 // s in gears that tell the scale: speed is shown by a tyre and a dial that nobody knows
)

// TestProofGears holds learnt gears of sound logs against the car's: FLYWITNESS_FIELD, FLYWITNESS_FIELD_N (3) and
// FLYWITNESS_FIELD_SEED0 as in the field proof. A scale that all gears of a log share is no error.
func TestProofGears(t *testing.T) {
	want, err := regexp.Compile(cmp.Or(os.Getenv("FLYWITNESS_FIELD"),
		"^(ordinary/(2|5|20)min|dial|smooth|source|written)/.*(full|nofile)"))
	if err != nil {
		t.Fatal(err)
	}
	number := func(name string, usual int) int {
		if n, err := strconv.Atoi(os.Getenv(name)); err == nil {
			return n
		}
		return usual
	}
	rows := map[string][]gearError{}
	var ordinary []gearError
	for _, c := range field.Classes() {
		if !want.MatchString(c.Name) || c.WeakOnly || c.Refusable {
			continue
		}
		for i := range number("FLYWITNESS_FIELD_N", 3) {
			for _, e := range gearErrors(c.Make(uint64(number("FLYWITNESS_FIELD_SEED0", 1)+i), true)) {
				parts := strings.Split(c.Name, "/")
				rows[parts[0]+"/"+parts[1]] = append(rows[parts[0]+"/"+parts[1]], e)
				if c.Ordinary {
					ordinary = append(ordinary, e)
					rows[e.driven()] = append(rows[e.driven()], e)
				}
			}
		}
	}
	fmt.Println("| logs, or ordinary gears | gears | |z| 50 % | 68 % | 95 % | 99 % | beyond 3 | sd 50 % (%) | off 95 % (%) |")
	fmt.Println("|---|---|---|---|---|---|---|---|---|")
	for _, name := range slices.Sorted(maps.Keys(rows)) {
		fmt.Printf("| %s | %s |\n", name, cells(rows[name]))
	}
	beyond := 0
	for _, e := range ordinary {
		if math.Abs(e.off) > 3*e.sd {
			beyond++
		}
	}
	if len(ordinary) > 0 && float64(beyond) > mostBeyond*float64(len(ordinary))+3 {
		t.Errorf("%d of %d gears of ordinary logs lie beyond three standard deviations", beyond, len(ordinary))
	}
}

// driven is the row of a gear by how it was driven.
func (e gearError) driven() string {
	speed, time := "faster", "15 s and more"
	if e.slow < 25 {
		speed = "below 25 km/h"
	}
	if e.seconds < 15 {
		time = "less than 15 s"
	}
	return "ordinary, " + time + ", " + speed
}

func cells(rows []gearError) string {
	var z, sd, off []float64
	beyond := 0
	for _, e := range rows {
		z, sd, off = append(z, math.Abs(e.off/e.sd)), append(sd, 100*e.sd), append(off, 100*math.Abs(e.off))
		if math.Abs(e.off) > 3*e.sd {
			beyond++
		}
	}
	at := func(p float64) float64 { return stats.Nearest(z, p) }
	return fmt.Sprintf("%d | %.2f | %.2f | %.2f | %.2f | %d | %.2f | %.2f", len(rows), at(0.5), at(0.68), at(0.95),
		at(0.99), beyond, stats.Median(sd), stats.Nearest(off, 0.95))
}

// gearErrors learns from a case and holds each gear against the others.
func gearErrors(c field.Case) (out []gearError) {
	logs := slices.Clone(c.Logs)
	for i, text := range c.Texts {
		l, err := source.Read(strings.NewReader(text), fmt.Sprintf("log%d.csv", i), csvlog.Options{})
		if err != nil {
			panic(err) // the simulator wrote it
		}
		logs = append(logs, l)
	}
	cal, _ := calibrate.Learn(clocks.Align(logs), c.Vehicle)
	v := c.Truths[0].Car().Vehicle
	off := make([]float64, len(cal.Gears))
	for i, g := range cal.Gears {
		off[i] = offTrue(g.RPMPerKmh.Value, v)
	}
	for i, g := range cal.Gears {
		sum, weight := 0.0, 0.0
		for j, o := range cal.Gears {
			if i != j && o.Seconds >= wellSeen && math.Abs(off[j]) < widest {
				w := stats.Square(o.RPMPerKmh.Value / o.RPMPerKmh.SD)
				sum, weight = sum+w*off[j], weight+w
			}
		}
		if weight > 0 && math.Abs(off[i]) < widest {
			sd := math.Hypot(g.RPMPerKmh.SD/g.RPMPerKmh.Value, 1/math.Sqrt(weight))
			out = append(out, gearError{off[i] - sum/weight, sd, g.Seconds, cal.Model().Gears[i].V0})
		}
	}
	return out
}

// offTrue is how far (in ln) a learnt gear lies from the nearest one of the car.
func offTrue(k float64, v *vehicle.Vehicle) float64 {
	best := math.Inf(1)
	for g := range v.Gearbox.Ratios {
		if off := math.Log(k / v.RPMPerKmh(g+1)); math.Abs(off) < math.Abs(best) {
			best = off
		}
	}
	return best
}
