//go:build proof

package slip_test

import (
	"fmt"
	"math"
	"os"
	"regexp"
	"testing"

	"flywitness/analysis/detect"
	"flywitness/analysis/slip"
	"flywitness/sim"
	"flywitness/sim/field"
)

// lowest is what a log that slips told of the lowest torque at which it did, all over the true one of those slips: by
// the lowest single reading, and by all of them.
type lowest struct {
	n                int
	read, told, half float64
}

// TestProofLowestTorque sets the lowest onset torque of field logs that are called slips against the truth, by how many
// slips tell it. FLYWITNESS_FIELD selects classes, FLYWITNESS_FIELD_N says how many logs of each, FLYWITNESS_FIELD_SEED0
// where their seeds begin.
func TestProofLowestTorque(t *testing.T) {
	want := regexp.MustCompile(os.Getenv("FLYWITNESS_FIELD"))
	var all []lowest
	for _, c := range field.Classes() {
		if c.SoundOnly || !want.MatchString(c.Name) {
			continue
		}
		seed0 := uint64(fieldNumber("FLYWITNESS_FIELD_SEED0", 1))
		for _, x := range each(fieldNumber("FLYWITNESS_FIELD_N", 10), func(i int) lowest {
			k := c.From(c.Drive(seed0+uint64(i), false))
			f, _, err := judgeCase(k)
			if err != nil || f.Verdict != slip.Slips || f.OnsetTorque == nil {
				return lowest{}
			}
			return lowestOf(k, f)
		}) {
			if x.n > 0 {
				all = append(all, x)
			}
		}
	}
	fmt.Println("| slips | logs | lowest reading (10, 50, 90 %) | told (10, 50, 90 %) | inside the 95 % interval | " +
		"interval, half (50 %) |")
	fmt.Println("|---|---|---|---|---|---|")
	for _, r := range []struct{ from, to int }{{1, 1}, {2, 3}, {4, 9}, {10, math.MaxInt}, {1, math.MaxInt}} {
		var read, told, half []float64
		inside := 0
		for _, x := range all {
			if x.n < r.from || x.n > r.to {
				continue
			}
			read, told, half = append(read, x.read-1), append(told, x.told-1), append(half, x.half)
			if math.Abs(x.told-1) <= x.half {
				inside++
			}
		}
		fmt.Printf("| %d-%d | %d | %.3f, %.3f, %.3f | %.3f, %.3f, %.3f | %.3f | %.3f |\n", r.from, r.to, len(told), at(read, 0.1),
			at(read, 0.5), at(read, 0.9), at(told, 0.1), at(told, 0.5), at(told, 0.9),
			float64(inside)/float64(max(1, len(told))), at(half, 0.5))
		if lo, _ := exact(len(told)-inside, len(told)); lo > 0.05 {
			t.Errorf("%d-%d slips: %d of %d intervals miss the torque", r.from, r.to, len(told)-inside, len(told))
		}
	}
}

// lowestOf takes the slips of a log for which there is a true one.
func lowestOf(c field.Case, f *slip.Finding) (x lowest) {
	truth, read := math.Inf(1), math.Inf(1)
	for _, e := range f.Events {
		if e.Kind != detect.KindSlip || e.OnsetTorque == nil {
			continue
		}
		if onset := trueOnset(c.Truths[e.Input], e.Start+c.Zero[e.Input], e.End+c.Zero[e.Input]); onset > 0 {
			x.n, truth, read = x.n+1, math.Min(truth, onset), math.Min(read, e.OnsetTorque.Value)
		}
	}
	x.read, x.told, x.half = read/truth, f.OnsetTorque.Value/truth, (f.OnsetTorque.CI95[1]-f.OnsetTorque.Value)/truth
	return x
}

// trueOnset is the torque (N m) at which the slip began that lies in most of a stretch (s), 0 without one.
func trueOnset(tr *sim.Truth, from, to float64) (torque float64) {
	most := 0.0
	for _, e := range tr.Events {
		if both := math.Min(to, e.EndS) - math.Max(from, e.StartS); both > most {
			most, torque = both, e.OnsetNm
		}
	}
	return torque
}
