package csvlog

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"flywitness/drive"
)

// heldLog writes rows every 50 ms of a car that is polled in turn: engine speed, then road speed, each reply after a time of its own. It returns the text and, by channel,
// which rows carried a fresh value.
func heldLog(rng *rand.Rand, reply, jitter float64, speedEvery int) (text string, freshRPM, freshSpeed []bool) {
	const rows = 6000
	var b strings.Builder
	b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h)\n")
	rpm, kmh := 0.0, 0.0
	next, turn, poll := 0.0, 0, 0
	v := func(t float64) float64 { return 60 + 30*math.Sin(t/11) + 8*math.Sin(t/3) }
	freshRPM, freshSpeed = make([]bool, rows), make([]bool, rows)
	for i := range rows {
		t := float64(i) * 0.05
		for next <= t {
			if turn == 0 {
				rpm = math.Round(4*(35*v(next)+2*rng.NormFloat64())) / 4
				freshRPM[i] = true
				poll++
				turn = 1
				if poll%speedEvery != 0 {
					turn = 0
				}
			} else {
				kmh, turn = math.Floor(v(next)), 0
				freshSpeed[i] = true
			}
			next += reply + jitter*rng.Float64()
		}
		fmt.Fprintf(&b, "%.2f,%.2f,%.0f\n", t, rpm, kmh)
	}
	return b.String(), freshRPM, freshSpeed
}

// Of the rows that are kept, how many carried a new reply, and how many of these were kept. A road speed that stayed equal leaves only the usual place in the
// cycle to go by, so it may be off by rows.
func TestFreshRowsAreTheReplies(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 3))
	for _, c := range []struct {
		name          string
		reply, jitter float64
		speedEvery    int
	}{{"even", 0.2, 0, 1}, {"jitter", 0.18, 0.06, 1}, {"speed every fourth time", 0.2, 0.02, 4}} {
		text, rpm, kmh := heldLog(rng, c.reply, c.jitter, c.speedEvery)
		l, err := read(strings.NewReader(text), "log.csv", Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range []struct {
			channel string
			fresh   []bool
			within  int // rows
		}{{drive.EngineSpeed, rpm, 0}, {drive.VehicleSpeed, kmh, 2}} {
			ch := l.Channel(x.channel)
			right, replies := 0, 0
			for _, at := range ch.T {
				i := int(math.Round(at / 0.05))
				for k := max(0, i-x.within); k <= min(len(x.fresh)-1, i+x.within); k++ {
					if x.fresh[k] {
						right++
						break
					}
				}
			}
			for _, f := range x.fresh {
				if f {
					replies++
				}
			}
			t.Logf("%s, %s: %d replies, %d kept, %d of them replies", c.name, x.channel, replies, ch.Len(), right)
			if share := float64(right) / float64(ch.Len()); share < 0.95 {
				t.Errorf("%s, %s: only %.1f %% of the kept rows are replies", c.name, x.channel, 100*share)
			}
			if share := float64(ch.Len()) / float64(replies); share < 0.9 || share > 1.05 {
				t.Errorf("%s, %s: %.2f samples for a reply", c.name, x.channel, share)
			}
		}
	}
}

// Looking at every fifth row finds the stretches of equal rows that looking at each finds.
func TestEqualStretches(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 9))
	for range 200 {
		a, b := make([]float64, 400), make([]float64, 400)
		for i := range a {
			a[i], b[i] = float64(rng.IntN(2)), 1
			if i > 0 && rng.IntN(1+i%17) > 0 {
				a[i], b[i] = a[i-1], b[i-1]
			}
			if rng.IntN(60) == 0 {
				b[i] = float64(rng.IntN(3))
			}
			if rng.IntN(100) == 0 {
				a[i] = math.NaN()
			}
		}
		r := &rowset{t: make([]float64, len(a)), v: [][]float64{a, b}}
		var want, got [][2]int
		for lo := 0; lo < len(a); {
			hi := lo + 1
			for hi < len(a) && r.equalRows(lo, hi) {
				hi++
			}
			if hi-lo >= frozenRows && !math.IsNaN(a[lo]) {
				want = append(want, [2]int{lo, hi})
			}
			lo = hi
		}
		for lo, hi := range r.equalStretches(0) {
			got = append(got, [2]int{lo, hi})
		}
		if !slices.Equal(got, want) {
			t.Fatalf("%v, want %v", got, want)
		}
	}
}
