//go:build proof

package slip_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/detect"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/slip"
	"flywitness/drive"
	"flywitness/sim"
)

// healthyHour is what an hour of healthy driving gave.
type healthyHour struct {
	link             sim.Link
	seed             uint64
	hours            float64
	verdict          slip.Verdict
	events, alarms   int
	plain, loaded    int // events of the naive rule
	labels, right    int // moments with a locked clutch, and those labelled so in the right gear
	open, openRight  int
	took             float64 // s
	lagErr, worstErr float64 // of lag, s; of the gear constants, second and higher, relative
	said             string
}

// TestProofHealthy drives hours of healthy driving on every link: what is called slip there is false.
func TestProofHealthy(t *testing.T) {
	fmt.Println("| link | hours | logs called slips | sure events | live alarms | 5 % rule, events an hour | 5 % " +
		"rule with lag and load | gear and clutch right (locked) | open seen | lag error p95 (s) | gearing error p95 | " +
		"holds / inconclusive |")
	fmt.Println("|---|---|---|---|---|---|---|---|---|---|---|---|")
	for _, link := range []sim.Link{sim.KLine, sim.CANSequential, sim.CANMulti} {
		all := each(int(math.Ceil(hours())), func(i int) healthyHour { return healthy(uint64(i), link) })
		var sum healthyHour
		var lag, k []float64
		verdicts := map[slip.Verdict]int{}
		for _, h := range all {
			sum.hours += h.hours
			sum.events += h.events
			sum.alarms += h.alarms
			sum.plain += h.plain
			sum.loaded += h.loaded
			sum.labels, sum.right = sum.labels+h.labels, sum.right+h.right
			sum.open, sum.openRight = sum.open+h.open, sum.openRight+h.openRight
			verdicts[h.verdict]++
			lag, k = append(lag, h.lagErr), append(k, h.worstErr)
			if h.verdict == slip.Slips || h.events > 0 || h.alarms > 0 {
				t.Logf("%v drive %d: %s, %d events, %d alarms: %s", link, h.seed, h.verdict, h.events, h.alarms, h.said)
			}
		}
		fmt.Printf("| %v | %.1f | %d | %d | %d | %.1f | %.2f | %.4f | %.2f | %.3f | %.2f %% | %d / %d |\n", link, sum.hours,
			verdicts[slip.Slips], sum.events,
			sum.alarms, float64(sum.plain)/sum.hours, float64(sum.loaded)/sum.hours, float64(sum.right)/float64(sum.labels),
			float64(sum.openRight)/float64(sum.open), at(lag, 0.95), 100*at(k, 0.95), verdicts[slip.Holds],
			verdicts[slip.Inconclusive])
		if limit := 1 + int(sum.hours/100); verdicts[slip.Slips] >= limit {
			t.Errorf("%v: %d of %d healthy logs called slips", link, verdicts[slip.Slips], len(all))
		}
	}
}

func healthy(seed uint64, link sim.Link) healthyHour {
	o := newOuting(seed, link, mixed(60), nil)
	o.analyse(rand.New(rand.NewPCG(seed, 99)))
	h := healthyHour{link: link, seed: seed, hours: o.truth.Duration() / 3600, verdict: o.finding.Verdict,
		took: o.took.Seconds()}
	for _, e := range o.finding.Events {
		if e.Kind == detect.KindSlip {
			h.events++
			h.said += fmt.Sprintf("[%.1f-%.1f gear %d, %.1f %%; %s]", e.Start, e.End, e.Gear, e.PeakSlip,
				o.whatHappened(e.Start, e.End))
		}
	}
	for _, w := range alarms(o) {
		h.alarms++
		h.said += fmt.Sprintf("(alarm %.1f gear %d %.1f %%; %s)", w.T, w.Gear, w.SlipPct, o.whatHappened(w.T-2, w.T))
	}
	h.plain, h.loaded = o.naive()
	h.count(o)
	if o.cal.SpeedLag != nil {
		h.lagErr = math.Abs(o.cal.SpeedLag.Value - o.trueLag())
	}
	for _, g := range o.cal.Gears {
		if g.Gear >= 2 && g.Gear <= len(o.car.Vehicle.Gearbox.Ratios) {
			h.worstErr = math.Max(h.worstErr, math.Abs(g.RPMPerKmh.Value/o.trueK(g.Gear)-1))
		}
	}
	return h
}

// count compares the labels with the truth above 8 km/h.
func (h *healthyHour) count(o *outing) {
	tr := o.track
	for i := range tr.T {
		j := o.at(tr.T[i])
		if o.truth.WheelKmh[j] < 8 || tr.Clutch[i] == gearstate.Unknown {
			continue
		}
		if o.truth.Clutch[j] == sim.Stuck && o.truth.Gear[j] > 0 {
			h.labels++
			if tr.Clutch[i] == gearstate.Locked && int(tr.Gear[i]) == int(o.truth.Gear[j]) {
				h.right++
			}
		}
		if o.truth.Clutch[j] == sim.Open {
			h.open++
			if tr.Clutch[i] == gearstate.Open {
				h.openRight++
			}
		}
	}
}

// whatHappened tells the truth of a stretch, for the log of a proof.
func (o *outing) whatHappened(from, to float64) string {
	gears := ""
	foot, most := 1.0, 0.0
	last := int8(-1)
	for i := o.at(from - 0.5); i <= o.at(to+0.5); i++ {
		if g := o.truth.Gear[i]; g != last {
			gears += fmt.Sprint(g)
			last = g
		}
		foot, most = math.Min(foot, o.truth.Engagement[i]), math.Max(most, math.Abs(o.truth.SlipPct[i]))
	}
	return fmt.Sprintf("truth: %s, %s, gears %s, foot off the clutch %.2f, slip %.1f %%", o.car.Vehicle.Name,
		o.car.Vehicle.SpeedSource, gears, foot, most)
}

// naive counts the events of the rule "the ratio of engine speed to road speed is 5 % above that of the nearest
// gear for half a second": as logged, and with the lag taken out and the engine under load. It is given the
// true gearing.
func (o *outing) naive() (plain, loaded int) {
	rpm, speed := o.log.Channel(drive.EngineSpeed), o.log.Channel(o.cal.SpeedChannel)
	plain = o.ruleOfFive(speed.T, speed.V, func(i int) float64 { return held(rpm, speed.T[i]) },
		func(int) bool { return true })
	tr := o.track
	loaded = o.ruleOfFive(tr.T, tr.SpeedKmh, func(i int) float64 { return tr.RPM[i] },
		func(i int) bool { return tr.Load[i] > 0.5 })
	return plain, loaded
}

func (o *outing) ruleOfFive(ts, v []float64, rpm func(i int) float64, gate func(i int) bool) int {
	n, since, counted := 0, math.NaN(), false
	for i := range ts {
		over := math.Inf(1)
		r := rpm(i)
		for g := 1; g <= len(o.car.Vehicle.Gearbox.Ratios); g++ {
			if d := r/(o.trueK(g)*v[i]) - 1; math.Abs(d) < math.Abs(over) {
				over = d
			}
		}
		if !(v[i] > 25) || !gate(i) || !(over > 0.05 && over < 0.5) {
			since, counted = math.NaN(), false
			continue
		}
		if math.IsNaN(since) {
			since = ts[i]
		}
		if ts[i]-since >= 0.5 && !counted {
			n++
			counted = true
		}
	}
	return n
}

// held is the last value of a channel at a time.
func held(c *drive.Channel, t float64) float64 {
	lo, hi := 0, len(c.T)
	for lo < hi {
		if m := (lo + hi) / 2; c.T[m] <= t {
			lo = m + 1
		} else {
			hi = m
		}
	}
	if lo == 0 {
		return math.NaN()
	}
	return c.V[lo-1]
}

// alarms drives the log through the live decoder and the alarm, sample by sample, with the calibration of the log.
func alarms(o *outing) []detect.Alert { return alarmed(o.log, o.cal) }
