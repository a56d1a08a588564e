package csvlog

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/numbers"
)

// smoothedLog writes twenty rows a second of a car that answers every so many rows, engine speed in quarters and road speed in whole km/h, smoothed
// by a share of the way to each new value (1: not at all), in each row or with each reply. It returns what was smoothed.
func smoothedLog(rng *rand.Rand, share float64, every, decimals int, onReply bool) (text string, rpm, kmh []float64) {
	var b strings.Builder
	b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h)\n")
	var n, v, sn, sv float64
	gear := 0.0
	phase := 10 * rng.Float64()
	for i := range 6000 {
		at := float64(i)*0.05 + phase
		if i%400 == 0 { // a change of gear: engine speed moves on within half a second
			gear = 35 - gear
		}
		if i%every == 0 {
			true := 70 + 35*math.Sin(at/11) + 9*math.Sin(at/2.3)
			n = math.Round(4*((35+gear*(1-math.Exp(-float64(i%400)/10)))*true+3*rng.NormFloat64())) / 4
			v = math.Floor(true)
		}
		if i == 0 {
			sn, sv = n, v
		}
		if i%every == 0 || !onReply {
			sn, sv = sn+share*(n-sn), sv+share*(v-sv)
		}
		rpm, kmh = append(rpm, n), append(kmh, v)
		fmt.Fprintf(&b, "%.2f,%.*f,%.*f\n", float64(i)*0.05, decimals, sn, decimals, sv)
	}
	return b.String(), rpm, kmh
}

// What a logger smoothed comes back to the digit, whatever share of the way it took.
func TestSmoothedValuesComeBack(t *testing.T) {
	numbers.Only(t)
	rng := rand.New(rand.NewPCG(3, 5))
	for _, c := range []struct {
		share           float64
		every, decimals int
		onReply         bool
	}{{0.5, 1, 2, false}, {0.2, 1, 3, false}, {0.2, 3, 2, false}, {0.1, 3, 3, false}, {0.05, 1, 4, false}, {0.0333, 8, 4, false}, {0.25, 8, 2, false},
		{0.055, 3, 2, false}, {0.1, 8, 2, false}, {0.3, 3, 2, true}, {0.1, 8, 3, true}} {
		text, rpm, kmh := smoothedLog(rng, c.share, c.every, c.decimals, c.onReply)
		digit := math.Pow10(-c.decimals) * (2/c.share - 1) // of what comes back

		l, err := read(strings.NewReader(text), "log.csv", Options{})
		if err != nil {
			t.Fatal(err)
		}
		if !hasWarning(l, finding.SmoothedValues) {
			t.Errorf("%+v: it says %v", c, l.Warnings)
			continue
		}
		for name, want := range map[string][]float64{drive.EngineSpeed: rpm, drive.VehicleSpeed: kmh} {
			ch := l.Channel(name)
			if got := float64(ch.Len()) * float64(c.every); got < 0.9*float64(len(want)) || got > 1.05*float64(len(want)) {
				t.Errorf("%+v: %d values of %s, of %d rows", c, ch.Len(), name, len(want))
			}
			wrong := 0
			for i, at := range ch.T {
				if math.Abs(ch.V[i]-want[int(math.Round(at/0.05))]) > digit {
					wrong++
				}
			}
			if wrong > len(want)/500 {
				t.Errorf("%+v: %d of %d values of %s are others", c, wrong, ch.Len(), name)
			}
		}
	}
}

// What was not smoothed, or with so few digits that it cannot come back, stays as it is.
func TestValuesThatWereNotSmoothedStay(t *testing.T) {
	numbers.Only(t)
	for seed := range uint64(4) {
		rng := rand.New(rand.NewPCG(seed, 6))
		for _, c := range []struct {
			share           float64
			every, decimals int
		}{{1, 1, 2}, {1, 4, 2}, {0.05, 1, 1}, {0.1, 1, 0}} {
			text, _, _ := smoothedLog(rng, c.share, c.every, c.decimals, false)
			l, err := read(strings.NewReader(text), "log.csv", Options{})
			if err != nil {
				t.Fatal(err)
			}
			if hasWarning(l, finding.SmoothedValues) {
				t.Errorf("seed %d, %+v: it says %v", seed, c, l.Warnings)
			}
		}
	}
}

// Noise is answered at once.
func TestNoiseIsNotSmoothed(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	var b strings.Builder
	b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h)\n")
	for i := range 4000 {
		fmt.Fprintf(&b, "%.2f,%.4f,%.4f\n", float64(i)*0.05, 16000*rng.Float64(), 300*rng.Float64())
	}
	began := time.Now()
	l, err := read(strings.NewReader(b.String()), "log.csv", Options{})
	if took := time.Since(began); err != nil || hasWarning(l, finding.SmoothedValues) || took > 10*time.Second { // 0.1 s on an idle machine
		t.Errorf("%v, %v after %v", l, err, took)
	}
}

// The mean of the last few values is no smoothing by a share: where rows repeat it, nothing comes back of it, and it stays as it is.
func TestMovingMeansStay(t *testing.T) {
	numbers.Only(t)
	for _, of := range []int{2, 3, 4, drive.MostAveraged} {
		rng := rand.New(rand.NewPCG(uint64(of), 6))
		_, rpm, kmh := smoothedLog(rng, 1, 2, 2, false)
		mean := func(v []float64, i int) (sum float64) {
			for k := range of {
				sum += v[max(0, i-2*k)] / float64(of)
			}
			return sum
		}
		var b strings.Builder
		b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h)\n")
		for i := range rpm {
			fmt.Fprintf(&b, "%.2f,%.2f,%.2f\n", float64(i)*0.05, mean(rpm, i), mean(kmh, i))
		}
		l, err := read(strings.NewReader(b.String()), "log.csv", Options{})
		if err != nil {
			t.Fatal(err)
		}
		if hasWarning(l, finding.SmoothedValues) {
			t.Errorf("means of %d values: it says %v", of, l.Warnings)
		}
	}
}
