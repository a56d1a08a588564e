//go:build proof

package slip_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"flywitness/analysis/detect"
	"flywitness/analysis/slip"
	"flywitness/sim"
)

// verbose makes the proofs name every miss.
var verbose = os.Getenv("FLYWITNESS_PROOF_VERBOSE") != ""

// worn is a clutch of a share of the engine's peak torque, and a driver who keeps his foot down when it slips.
func worn(lo, hi float64) func(car *sim.Car, rng *rand.Rand) {
	return func(car *sim.Car, rng *rand.Rand) {
		peak, _ := car.Engine.PeakNm()
		car.Clutch.Capacity = peak * (lo + (hi-lo)*rng.Float64())
		car.Driver.LiftsOnFlare = false
	}
}

// wornDrive is what an hour with a worn clutch gave.
type wornDrive struct {
	truths, found, live                int
	inside                             int // onset torques whose truth lies inside the 95 % interval
	fresh, freshFound                  int // those that began from a locked clutch
	extra                              int // sure events where the clutch did not slip
	slips, called                      bool
	start, peak, peakShare, onset, lag []float64
	heat                               []float64
	misses                             []string
}

// TestProofWornClutch lets clutches slip by themselves.
func TestProofWornClutch(t *testing.T) {
	fmt.Println("| clutch, share of peak torque | link | events > 3 %, > 1.5 s | found | those from a locked clutch " +
		"| found | logs with slip | called slips | sure events without slip | start error (s; 10, 50, 90 %) | peak " +
		"error (points; 10, 50, 90 %) | peak error / peak, 10 % | onset torque error (10, 50, 90 %) | within 12 % | " +
		"inside the 95 % interval | heat error (50 %) | alarm | alarm delay (s; 50, 95 %) |")
	fmt.Println("|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|")
	for _, class := range []struct {
		name   string
		lo, hi float64
	}{{"0.93-1.03", 0.93, 1.03}, {"0.80-0.93", 0.80, 0.93}} {
		for _, link := range []sim.Link{sim.KLine, sim.CANSequential, sim.CANMulti} {
			var sum wornDrive
			logs, called := 0, 0
			for n := 0; sum.truths < int(10*hours()) && n < 400; n += 20 {
				for _, d := range each(20, func(i int) wornDrive { return wear(uint64(n+i)+30000, link, class.lo, class.hi) }) {
					sum.add(d)
					if d.slips {
						logs++
						if d.called {
							called++
						}
					}
					if verbose {
						for _, m := range d.misses {
							t.Logf("%s %v: %s", class.name, link, m)
						}
					}
				}
			}
			share := func(a, b int) float64 { return float64(a) / float64(max(b, 1)) }
			within := 0
			for _, x := range sum.onset {
				if math.Abs(x) <= 0.12 {
					within++
				}
			}
			fmt.Printf("| %s | %v | %d | %.3f | %d | %.3f | %d | %d | %d | %.2f, %.2f, %.2f | %.2f, %.2f, %.2f | %.2f | "+
				"%.3f, %.3f, %.3f | %.2f | %.3f | %.2f | %.2f | %.2f, %.2f |\n",
				class.name, link, sum.truths, share(sum.found, sum.truths), sum.fresh, share(sum.freshFound, sum.fresh), logs,
				called, sum.extra,
				at(sum.start, 0.1), at(sum.start, 0.5), at(sum.start, 0.9), at(sum.peak, 0.1), at(sum.peak, 0.5),
				at(sum.peak, 0.9),
				at(sum.peakShare, 0.1), at(sum.onset, 0.1), at(sum.onset, 0.5), at(sum.onset, 0.9), share(within, len(sum.onset)),
				share(sum.inside, len(sum.onset)), at(sum.heat, 0.5),
				share(sum.live, sum.truths), at(sum.lag, 0.5), at(sum.lag, 0.95))
			if share(sum.found, sum.truths) < 0.9 || called < logs {
				t.Errorf("%s %v: found %.3f of the events, called %d of %d logs", class.name, link, share(sum.found, sum.truths),
					called, logs)
			}
		}
	}
}

func (w *wornDrive) add(d wornDrive) {
	w.truths, w.found, w.live, w.extra = w.truths+d.truths, w.found+d.found, w.live+d.live, w.extra+d.extra
	w.inside += d.inside
	w.fresh, w.freshFound = w.fresh+d.fresh, w.freshFound+d.freshFound
	w.start, w.peak, w.peakShare = append(w.start, d.start...), append(w.peak, d.peak...),
		append(w.peakShare, d.peakShare...)
	w.onset, w.lag, w.heat = append(w.onset, d.onset...), append(w.lag, d.lag...), append(w.heat, d.heat...)
}

// wear drives an hour and compares events with the truth: those in third and higher, above 3 % and longer than 1.5 s.
func wear(seed uint64, link sim.Link, lo, hi float64) wornDrive {
	o := newOuting(seed, link, mixed(60), worn(lo, hi))
	o.analyse(rand.New(rand.NewPCG(seed, 98)))
	d := wornDrive{called: o.finding.Verdict == slip.Slips}
	warned := alarms(o)
	for _, te := range o.truth.Events {
		if te.EndS-te.StartS < 1.5 || te.PeakPct < 3 || te.Gear < 3 {
			continue
		}
		d.slips = true
		d.truths++
		if !te.FromEngagement {
			d.fresh++
		}
		seen := ""
		hit := false
		for _, e := range o.finding.Events {
			if e.Start > te.EndS || e.End < te.StartS {
				continue
			}
			seen += fmt.Sprintf(" [%.1f-%.1f gear %d %.1f %% %s]", e.Start, e.End, e.Gear, e.PeakSlip, e.Kind)
			if e.Kind == detect.KindSlip && !hit {
				hit = true
				d.compare(e, te)
			}
		}
		for _, w := range warned {
			if w.T >= te.StartS && w.T < te.EndS+1 {
				d.live++
				d.lag = append(d.lag, w.T-te.StartS)
				break
			}
		}
		if !hit {
			d.misses = append(d.misses, fmt.Sprintf("missed: drive %d, %s, %s, %.1f-%.1f gear %d, %.1f %%, from engagement "+
				"%v:%s", seed, o.car.Vehicle.Name,
				o.car.Vehicle.SpeedSource, te.StartS, te.EndS, te.Gear, te.PeakPct, te.FromEngagement, seen))
		}
	}
	for _, e := range o.finding.Events {
		if e.Kind == detect.KindSlip && !o.slipped(e.Start, e.End) {
			d.extra++
			d.misses = append(d.misses, fmt.Sprintf("not there: drive %d %.1f-%.1f gear %d %.1f %%; %s", seed, e.Start, e.End,
				e.Gear, e.PeakSlip,
				o.whatHappened(e.Start, e.End)))
		}
	}
	if d.slips && !d.called {
		d.misses = append(d.misses, fmt.Sprintf("log: drive %d %s: %s %s", seed, o.car.Vehicle.Name, o.finding.Verdict,
			o.finding.Reason))
	}
	return d
}

// compare takes the errors of a found event.
func (d *wornDrive) compare(e slip.Event, te sim.SlipEvent) {
	d.found++
	d.start = append(d.start, e.Start-te.StartS)
	d.peak = append(d.peak, e.PeakSlip-te.PeakPct)
	d.peakShare = append(d.peakShare, e.PeakSlip/te.PeakPct-1)
	if e.OnsetTorque != nil && te.OnsetNm > 0 {
		d.onset = append(d.onset, e.OnsetTorque.Value/te.OnsetNm-1)
		if e.OnsetTorque.CI95[0] <= te.OnsetNm && te.OnsetNm <= e.OnsetTorque.CI95[1] {
			d.inside++
		}
	}
	if e.Energy != nil && te.EnergyJ > 0 {
		d.heat = append(d.heat, *e.Energy/te.EnergyJ-1)
	}
	if !te.FromEngagement {
		d.freshFound++
	}
}

// slipped tells whether the clutch slipped by itself in a stretch.
func (o *outing) slipped(from, to float64) bool {
	for _, te := range o.truth.Events {
		if from < te.EndS && to > te.StartS {
			return true
		}
	}
	return false
}
