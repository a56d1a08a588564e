//go:build proof

package compare

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"sync"
	"testing"

	"flywitness/analysis/inertia"
	"flywitness/capture/csvlog"
	"flywitness/capture/source"
	"flywitness/drive"
	"flywitness/sim"
)

// oldLogger writes a drive as an old recorder does, a row a reply with all values of the moment repeated, and
// reads the file again. whole drops the fraction of the time stamps.
func oldLogger(tr *sim.Truth, link sim.Link, whole bool, rng *rand.Rand) (*drive.Log, error) {
	lg := sim.NewLogger(link)
	lg.Fast, lg.Slow = []string{drive.EngineSpeed, drive.VehicleSpeed, drive.Throttle}, nil
	replies := lg.Record(tr, rng)
	type row struct {
		t float64
		c int
		v float64
	}
	var rows []row
	for c, ch := range replies.Channels {
		for i, t := range ch.T {
			rows = append(rows, row{t, c, ch.V[i]})
		}
	}
	slices.SortStableFunc(rows, func(a, b row) int { return int(math.Copysign(1, a.t-b.t)) })
	var b bytes.Buffer
	b.WriteString("Time (s),Engine RPM (rpm),Vehicle speed (km/h),Throttle (%)\n")
	names := []string{drive.EngineSpeed, drive.VehicleSpeed, drive.Throttle}
	now := map[string]string{}
	for _, r := range rows {
		now[replies.Channels[r.c].Name] = strconv.FormatFloat(r.v, 'f', -1, 64)
		if len(now) < len(names) {
			continue
		}
		if whole {
			fmt.Fprintf(&b, "%d", int(r.t))
		} else {
			fmt.Fprintf(&b, "%.3f", r.t)
		}
		for _, n := range names {
			b.WriteString("," + now[n])
		}
		b.WriteByte('\n')
	}
	return source.Read(&b, "old.csv", csvlog.Options{})
}

func TestProofOldLogger(t *testing.T) {
	fmt.Printf("\n### The ratio through the CSV file of an old recorder: a row a reply, old values repeated; 8 free " +
		"revs from 5300 rpm a side\n\n" +
		"| link | time stamps | bias %% | sd %% | coverage | no answer |\n|---|---|---|---|---|---|\n")
	for _, link := range simLinks {
		for _, whole := range []bool{false, true} {
			o := &tally{}
			var mu sync.Mutex
			parallel(replications(), func(rep uint64) {
				rng := seeded(rep, 9000+uint64(link))
				var side [2]*inertia.Finding
				for k, i := range []float64{0.205, 0.160} {
					car := dirtyCar(i, 0)
					var plan []sim.Action
					for range 8 {
						plan = append(plan, sim.FreeRev(5300+100*rng.NormFloat64()))
					}
					log, err := oldLogger(sim.Drive(car, sim.LevelRoad(), plan, rng), link, whole, rng)
					if err != nil {
						t.Error(err)
						return
					}
					side[k], _ = inertia.Measure([]*drive.Log{log}, car.Vehicle, nil, inertia.Options{})
				}
				r := bestRatio(side[0], side[1])
				mu.Lock()
				defer mu.Unlock()
				o.add(r, math.Log(0.205/0.160))
			})
			bias, sd, _, cover, _ := o.row()
			fmt.Printf("| %v | %s | %+.2f | %.2f | %.3f | %d |\n", link,
				map[bool]string{false: "milliseconds", true: "whole seconds"}[whole], 100*bias, 100*sd, cover, o.missing)
			// An interval of 95 % that holds the truth in nine of ten through whole-second stamps, and a bias within half of
			// what a pair scatters, are what such a file can give; chance of this many pairs is allowed for.
			chance := 3 / math.Sqrt(float64(replications()))
			if cover < 0.90-chance*math.Sqrt(0.9*0.1) || math.Abs(bias) > (0.5+chance)*sd || o.missing > replications()/50 {
				t.Errorf("%v, whole seconds %v: bias %.2f %% of sd %.2f %%, coverage %.3f, %d without an answer",
					link, whole, 100*bias, 100*sd, cover, o.missing)
			}
		}
	}
}
