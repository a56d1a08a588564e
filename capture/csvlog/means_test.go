package csvlog

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/numbers"
)

// lively is road speed and engine speed of a car on a quick road at one moment: it stops, and changes gear in half a second.
func lively(rng *rand.Rand, at float64) (kmh, rpm float64) {
	kmh = max(0, 55+50*math.Sin(at/13)+20*math.Sin(at/5.1))
	gear := 30.0
	if math.Sin(at/6) > 0 {
		gear = 45
	}
	return kmh, max(800, gear*kmh) + 4*rng.NormFloat64()
}

// meanLog writes rows of the mean of the last m values, road speed in steps (km/h), with pauses of the link, and lost rows where so many are lost.
func meanLog(rng *rand.Rand, m, rows, decimals int, step, lost float64) (text string, kmh, rpm []float64) {
	var b strings.Builder
	b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h)\n")
	mean := func(v []float64) float64 {
		v = v[max(0, len(v)-m):]
		sum := 0.0
		for _, x := range v {
			sum += x / float64(len(v))
		}
		return sum
	}
	at := 0.0
	var vs, ns []float64
	for range rows {
		at += 0.8 * (1 + 0.1*rng.NormFloat64())
		if rng.IntN(250) == 0 {
			at += 3
		}
		v, n := lively(rng, at)
		vs, ns = append(vs, math.Floor(v/step)*step), append(ns, math.Round(n))
		if rng.Float64() < lost {
			continue
		}
		fmt.Fprintf(&b, "%.3f,%.*f,%.*f\n", at, decimals, mean(ns), decimals, mean(vs))
		kmh, rpm = append(kmh, vs[len(vs)-1]), append(rpm, ns[len(ns)-1])
	}
	return b.String(), kmh, rpm
}

// The values come back of which a logger wrote the mean, be it of two or of eight, on a link that pauses and loses rows.
func TestValuesOfMeansComeBack(t *testing.T) {
	numbers.Only(t)
	rng := rand.New(rand.NewPCG(4, 2))
	for _, c := range []struct {
		m, decimals int
		step, lost  float64
	}{{2, 1, 1, 0}, {3, 2, 1, 0}, {3, 1, 1, 0}, {4, 4, 1, 0}, {5, 1, 1, 0}, {5, 3, 1, 0.005}, {6, 4, 1, 0.001}, {8, 4, 1, 0}, {5, 2, 0.1, 0}} {
		text, kmh, rpm := meanLog(rng, c.m, 900, c.decimals, c.step, c.lost)
		l, err := read(strings.NewReader(text), "log.csv", Options{})
		if err != nil {
			t.Fatal(err)
		}
		speed, engine := l.Channel(drive.VehicleSpeed), l.Channel(drive.EngineSpeed)
		if !hasWarning(l, finding.SmoothedValues) || speed.Len() != len(kmh) {
			t.Fatalf("mean of %d: %d of %d values, it says %v", c.m, speed.Len(), len(kmh), l.Warnings)
		}
		right, close := 0, 0
		by := 1e-9
		if c.step < 1 { // finer than what tells the first values
			by = 0.2
		}
		for i := range kmh {
			if math.Abs(speed.V[i]-kmh[i]) <= by {
				right++
			}
			if math.Abs(engine.V[i]-rpm[i]) < 40 {
				close++
			}
		}
		if n := 0.8 * float64(len(kmh)); float64(right) < n || float64(close) < n {
			t.Errorf("mean of %d, %d decimals, steps of %g, %g lost: %d road speeds and %d engine speeds of %d are right", c.m, c.decimals, c.step, c.lost, right, close, len(kmh))
		}
	}
}

// A road speed of finer steps is no mean of whole ones, nor is a mean that begins anew with every row.
func TestFinerStepsAreNoMeans(t *testing.T) {
	numbers.Only(t)
	for seed := range uint64(30) {
		rng := rand.New(rand.NewPCG(seed, 6))
		m := 2 + rng.IntN(4)
		text, kmh, _ := meanLog(rng, 1, 250+rng.IntN(900), 4, 1/float64(m), 0)
		if rng.IntN(2) == 0 {
			text, kmh = blockLog(rng, m, 250+rng.IntN(900))
		}
		l, err := read(strings.NewReader(text), "log.csv", Options{})
		if err != nil {
			t.Fatal(err)
		}
		if hasWarning(l, finding.SmoothedValues) || slices.ContainsFunc(l.Channel(drive.VehicleSpeed).V, func(v float64) bool { return v < 0 || v > 200 }) {
			t.Errorf("seed %d, %d rows, steps of 1/%d: it says %v", seed, len(kmh), m, l.Warnings)
		}
	}
}

// blockLog writes rows of the mean of m values, none of which goes into two rows.
func blockLog(rng *rand.Rand, m, rows int) (text string, kmh []float64) {
	var b strings.Builder
	b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h)\n")
	for i := range rows {
		v, n := 0.0, 0.0
		for k := range m {
			a, e := lively(rng, 0.8*(float64(i)+float64(k)/float64(m)))
			v, n = v+math.Floor(a)/float64(m), n+e/float64(m)
		}
		kmh = append(kmh, v)
		fmt.Fprintf(&b, "%.3f,%.2f,%.3f\n", 0.8*float64(i), n, v)
	}
	return b.String(), kmh
}
