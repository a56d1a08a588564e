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
	"flywitness/analysis/stats"
	"flywitness/sim"
	"flywitness/sim/field"
)

// lowest is what a log that slips told of the lowest torque at which it did, all over the true one of those slips: by
// the lowest single reading, and by all of them.
type lowest struct {
	n                          int
	read, readHalf, told, half float64
}

// TestProofLowestTorque sets the lowest onset torque of field logs that are called slips against the truth, by how many
// slips tell it. FLYWITNESS_FIELD selects classes, FLYWITNESS_FIELD_N says how many drives of each group of them, each
// as one of its classes records it, FLYWITNESS_FIELD_SEED0 where their seeds begin.
func TestProofLowestTorque(t *testing.T) {
	want := regexp.MustCompile(os.Getenv("FLYWITNESS_FIELD"))
	groups := map[string][]field.Class{}
	var order []string
	for _, c := range field.Classes() {
		if c.SoundOnly || !want.MatchString(c.Name) {
			continue
		}
		if groups[c.Group()] == nil {
			order = append(order, c.Group())
		}
		groups[c.Group()] = append(groups[c.Group()], c)
	}
	var all []lowest
	for _, g := range order {
		seed0 := uint64(fieldNumber("FLYWITNESS_FIELD_SEED0", 1))
		for _, x := range each(fieldNumber("FLYWITNESS_FIELD_N", 10), func(i int) lowest {
			c := groups[g][i%len(groups[g])]
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
	fmt.Println("| slips | logs | lowest reading (10, 50, 90 %) | inside its interval | half of it (50 %) | " +
		"told (10, 50, 90 %) | inside the interval | half of it (50 %) |")
	fmt.Println("|---|---|---|---|---|---|---|---|")
	for _, r := range []struct {
		slips    string
		from, to int
	}{{"one", 1, 1}, {"2-3", 2, 3}, {"4-9", 4, 9}, {"10 and more", 10, math.MaxInt}, {"any", 1, math.MaxInt}} {
		var read, readHalf, told, half []float64
		inside, readInside := 0, 0
		for _, x := range all {
			if x.n < r.from || x.n > r.to {
				continue
			}
			read, readHalf = append(read, x.read-1), append(readHalf, x.readHalf)
			told, half = append(told, x.told-1), append(half, x.half)
			if math.Abs(x.read-1) <= x.readHalf {
				readInside++
			}
			if math.Abs(x.told-1) <= x.half {
				inside++
			}
		}
		n := float64(max(1, len(told)))
		fmt.Printf("| %s | %d | %.3f, %.3f, %.3f | %.3f | %.3f | %.3f, %.3f, %.3f | %.3f | %.3f |\n", r.slips, len(told),
			at(read, 0.1), at(read, 0.5), at(read, 0.9), float64(readInside)/n, at(readHalf, 0.5),
			at(told, 0.1), at(told, 0.5), at(told, 0.9), float64(inside)/n, at(half, 0.5))
		if lo, _ := exact(len(told)-inside, len(told)); lo > 0.05 {
			t.Errorf("%s slips: %d of %d intervals miss the torque", r.slips, len(told)-inside, len(told))
		}
	}
}

// lowestOf takes the slips of a log for which there is a true one.
func lowestOf(c field.Case, f *slip.Finding) (x lowest) {
	truth := math.Inf(1)
	var read *stats.Estimate
	for _, e := range f.Events {
		if e.Kind != detect.KindSlip || e.OnsetTorque == nil {
			continue
		}
		onset := trueOnset(c.Truths[e.Input], e.Start+c.Zero[e.Input], e.End+c.Zero[e.Input])
		if onset <= 0 {
			continue
		}
		x.n, truth = x.n+1, math.Min(truth, onset)
		if read == nil || e.OnsetTorque.Value < read.Value {
			read = e.OnsetTorque
		}
	}
	if x.n > 0 {
		x.read, x.readHalf = read.Value/truth, (read.CI95[1]-read.Value)/truth
		x.told, x.half = f.OnsetTorque.Value/truth, (f.OnsetTorque.CI95[1]-f.OnsetTorque.Value)/truth
	}
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
