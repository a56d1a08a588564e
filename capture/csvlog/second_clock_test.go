package csvlog

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"flywitness/finding"
	"flywitness/internal/numbers"
)

// twoClocks writes a table with an elapsed time that runs at rate and the time of day, which shows steps of its own.
func twoClocks(rng *rand.Rand, pace, rate, step float64) string {
	var b strings.Builder
	b.WriteString("Elapsed (s),Clock,RPM,Speed (km/h)\n")
	start := 86400 * rng.Float64()
	for i := range 600 {
		at := pace * float64(i)
		day := start + at
		day = step * float64(int(day/step))
		s := int(day) % 86400
		fmt.Fprintf(&b, "%.3f,%02d:%02d:%06.3f,%d,%d\n", rate*at, s/3600, s/60%60, float64(s%60)+day-float64(int(day)), 1000+i, 30+i/20)
	}
	return b.String()
}

// Two columns of time that disagree are told; neither whole seconds, nor midnight between them, nor a crystal that is hardly off is a reason to.
func TestSecondClock(t *testing.T) {
	numbers.Only(t)
	for seed := range uint64(15) {
		rng := rand.New(rand.NewPCG(seed, 4))
		for _, c := range []struct {
			pace, rate, step float64
			told             bool
		}{{0.1, 1, 0.001, false}, {0.1, 1, 1, false}, {0.05, 1.001, 0.001, false}, {0.4, 1, 1, false}, {0.02, 1, 1, false},
			{0.1, 1.05, 0.001, true}, {0.1, 0.9, 0.001, true}, {0.4, 1.1, 1, true}, {0.1, 0.1, 1, true}} {
			l, err := read(strings.NewReader(twoClocks(rng, c.pace, c.rate, c.step)), "log.csv", Options{})
			if err != nil {
				t.Fatal(err)
			}
			if hasWarning(l, finding.ClocksDisagree) != c.told {
				t.Errorf("seed %d, %+v: it says %v", seed, c, l.Warnings)
			}
		}
	}
}
