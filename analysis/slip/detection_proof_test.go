//go:build proof

package slip_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/detect"
	"flywitness/analysis/slip"
	"flywitness/sim"
)

// sizes of injected slip, % of engine speed.
var sizes = []float64{1, 1.5, 2, 2.5, 3, 4, 5, 7, 10}

// injected is one slip of known size put into a healthy full-load pull, and what was seen of it.
type injected struct {
	size             float64
	found, live      bool
	smallest         float64 // that its pull is said to show without it, %; infinite where it is said to show none
	peakErr          float64 // points
	delay            float64 // s from the start of the slip to the alarm
	otherwise, where string
}

// TestProofDetection gives the share of slips found against their size: a trapezoid of 1.5 s on CAN and 2 s on
// a K-line, flanks 0.3 s.
func TestProofDetection(t *testing.T) {
	fmt.Println("| link | slip, time | slips | found | qualified | found of these | peak error, points (10, 50, 90 " +
		"%) | alarm | alarm delay (s; 50, 95 %) |")
	fmt.Println("|---|---|---|---|---|---|---|---|---|")
	for _, link := range []sim.Link{sim.KLine, sim.CANSequential, sim.CANMulti} {
		dur := 1.5
		if link == sim.KLine {
			dur = 2
		}
		drives := int(math.Ceil(hours() * 10 * float64(len(sizes)) / 13)) // about 13 pulls a drive, 1,000 of a size at 100 h
		all := each(drives, func(i int) []injected { return injectInto(uint64(i)+70000, link, dur) })
		for _, size := range sizes {
			row(t, link, size, dur, all)
		}
	}
}

func row(t *testing.T, link sim.Link, size, dur float64, all [][]injected) {
	var n, found, qualified, both, live int
	var peak, delay []float64
	why := map[string]int{}
	for _, drive := range all {
		for _, s := range drive {
			if s.size != size {
				continue
			}
			n++
			if s.smallest <= size {
				qualified++
			}
			if s.found {
				found++
				peak = append(peak, s.peakErr)
				if s.smallest <= size {
					both++
				}
			} else {
				why[s.otherwise]++
				if verbose {
					t.Logf("%v %.0f %%: %s, smallest %.1f: %s", link, size, s.otherwise, s.smallest, s.where)
				}
			}
			if s.live {
				live++
				delay = append(delay, s.delay)
			}
		}
	}
	share := func(a, b int) float64 { return float64(a) / float64(max(b, 1)) }
	fmt.Printf("| %v | %g %%, %.1f s | %d | %.3f | %d | %.3f | %.2f, %.2f, %.2f | %.3f | %.2f, %.2f |\n", link, size,
		dur, n, share(found, n), qualified,
		share(both, qualified), at(peak, 0.1), at(peak, 0.5), at(peak, 0.9), share(live, n), at(delay, 0.5), at(delay, 0.95))
	t.Logf("%v %g %% not found as slip, but as: %v", link, size, why)
	needed := link == sim.KLine && size >= 5 || link != sim.KLine && size >= 3
	if needed && (share(both, qualified) < 0.95 || share(found, n) < 0.90) {
		t.Errorf("%v %g %%: found %.3f of all, %.3f of the qualified", link, size, share(found, n), share(both, qualified))
	}
}

// pullAfterPull is a short mixed drive and then one full-load pull after another.
func pullAfterPull(car sim.Car, rng *rand.Rand) []sim.Action {
	calm := sim.MixedTraffic()
	calm.PullsPerHour, calm.LowPullsPerHour, calm.StabsPerHour = 0, 4, 0
	plan := []sim.Action{sim.Idle(5), sim.Traffic(rng, 12, calm)}
	limit, idle := car.Vehicle.Engine.LimitRPM, car.Vehicle.Engine.IdleRPM
	gears := len(car.Vehicle.Gearbox.Ratios)
	for range 14 {
		g := 3 + rng.IntN(min(gears-2, 3))
		from := idle + 0.2*(limit-idle) + 500*rng.Float64()
		to := math.Min(limit-400-800*rng.Float64(), car.Vehicle.RPMPerKmh(g)*(125+35*rng.Float64()))
		plan = append(plan, sim.Pull(g, from, to), sim.Cruise(50+40*rng.Float64(), 4+6*rng.Float64()))
	}
	return plan
}

// injectInto drives pulls, analyses them, puts a slip of a random size into each, and analyses them again.
func injectInto(seed uint64, link sim.Link, dur float64) []injected {
	o := newOuting(seed, link, pullAfterPull, nil)
	o.analyse(rand.New(rand.NewPCG(seed, 98)))
	healthy := o.finding
	rng := rand.New(rand.NewPCG(seed, 97))
	var out []injected
	var starts []float64
	for _, l := range o.truth.Labelled("pull") {
		from := hardest(o.truth, l.StartS, l.EndS, dur)
		if from < 0 {
			continue
		}
		size := sizes[rng.IntN(len(sizes))]
		o.truth.InjectSlip(from, dur, size)
		out = append(out, injected{size: size, otherwise: "nothing", smallest: toldBefore(healthy, from, dur)})
		starts = append(starts, from)
	}
	o.analyse(rand.New(rand.NewPCG(seed, 98)))
	warned := alarms(o)
	for i, from := range starts {
		s := &out[i]
		s.where = fmt.Sprintf("drive %d at %.1f s, %s, %s (seen as %s), %.0f km/h", seed, from, o.car.Vehicle.Name,
			o.car.Vehicle.SpeedSource,
			o.cal.SpeedSource, o.truth.GroundKmh[o.at(from)])
		for _, e := range o.finding.Events {
			switch {
			case e.Start > from+dur || e.End < from:
			case e.Kind == detect.KindSlip:
				s.found, s.peakErr = true, e.PeakSlip-s.size
			default:
				s.otherwise = string(e.Kind)
			}
		}
		for _, w := range warned {
			if w.T >= from && w.T < from+dur+1 && !s.live {
				s.live, s.delay = true, w.T-from
			}
		}
	}
	return out
}

// hardest finds the moment from which the clutch carries most for the length of a slip, of those where the throttle is
// open and the clutch stuck for that and a little more; -1 for none. A clutch gives way to what it cannot carry: one
// that slips elsewhere, and then carries more, is another one.
func hardest(tr *sim.Truth, from, to, dur float64) float64 {
	start, most, sum, run := -1.0, 0.0, 0.0, 0
	n := int((dur+1)/tr.Step) + 1
	for i := tr.At(from); i < tr.At(to); i++ {
		if !(tr.Throttle[i] > 90 && tr.Clutch[i] == sim.Stuck && tr.WheelKmh[i] > 45 && tr.Engagement[i] >= 1) {
			sum, run = 0, 0
			continue
		}
		sum, run = sum+tr.ClutchTorqueNm[i], run+1
		if run > n {
			sum -= tr.ClutchTorqueNm[i-n]
		}
		if run >= n && sum > most {
			start, most = tr.T[i]-dur-0.2, sum
		}
	}
	return start
}

// toldBefore is the smallest slip (%) that the pull about a time of the healthy drive is said to show within the length
// of a slip; infinite where it is said to show none.
func toldBefore(healthy *slip.Finding, from, dur float64) float64 {
	least := math.Inf(1)
	for _, p := range healthy.Pulls {
		if p.Start < from+dur && p.End > from && p.SmallestDetectable != nil && *p.SmallestSeconds <= dur {
			least = math.Min(least, *p.SmallestDetectable)
		}
	}
	return least
}
