package csvlog

import (
	"iter"
	"math"
	"slices"

	"flywitness/drive"
	"flywitness/finding"
	"flywitness/vehicle"
)

// Gears, in rpm per km/h, as the columns show them.
const (
	heldRatio   = 1.06 // of the largest to the smallest ratio of a stretch in one gear: the steps of whole km/h at 20, and what speed is late by
	heldSpeed   = 1.12 // of the largest to the smallest speed of it: an engine that idles does not follow
	heldRows    = 5    // of it, at least
	heldFewest  = 5    // stretches that tell; the outermost on either side may be a chance,
	heldChance  = 20   // as may one in so many of a long drive: an engine that idles, revs or is let in while the car creeps
	severalOf   = 1.3  // of the largest to the smallest ratio of all: more than one gear
	pairRows    = 10   // rows, within which an engine speed stands with a road speed
	pairsLooked = 200_000
)

// gears are the smallest and the largest ratio of engine speed to road speed that was held; both 0 where too few were.
type gears struct{ low, high float64 }

func (g gears) told() bool { return g.high > 0 }

func (g gears) scaled(by float64) gears { return gears{g.low * by, g.high * by} }

// doubt warns of gears that no car has.
func (g gears) doubt(l *drive.Log, engine, speed *quantity) {
	if g.ofNoCar() {
		l.Warnings = append(l.Warnings, finding.New(finding.GearsOfNoCar, finding.Name("file", l.Path), finding.Name("engine", engine.col().raw),
			finding.Name("speed", speed.col().raw), finding.Number("low", g.low), finding.Number("high", g.high)))
	}
}

// ofNoCar tells whether no car has these gears.
func (g gears) ofNoCar() bool {
	return g.told() && (g.low < vehicle.LongestGear || g.high > vehicle.CrawlerGear || g.several() && g.low > vehicle.ShortestTop)
}

// impossible tells whether no car has these gears, or reaches these speeds.
func (g gears) impossible(rpm, kmh float64) bool {
	return kmh > topKmhSure || rpm > topRPMSure || rpm < neverRuns || g.ofNoCar()
}

// usual tells whether they are those of a usual car. Without gears, the speeds alone tell little.
func (g gears) usual(rpm, kmh float64) bool {
	return kmh >= leastTopKmh && kmh <= topKmh && rpm >= leastTopRPM && rpm <= topRPM &&
		(!g.told() || g.low >= vehicle.LongestGear && g.low <= vehicle.ShortestTop && g.high <= vehicle.ShortestFirst)
}

func (g gears) several() bool { return g.high >= severalOf*g.low }

// pairsOf yields engine speeds and road speeds of the same moments, in the order of rows.
func pairsOf(engine, speed *quantity) iter.Seq2[float64, float64] {
	if engine.set != speed.set {
		return pairsByTime(engine, speed)
	}
	return func(yield func(n, v float64) bool) {
		last, at, pairs := math.NaN(), 0, 0
		n := engine.values()
		for k, x := range speed.values() {
			if e := n[k]; !math.IsNaN(e) {
				last, at = e, k
			}
			if x > 0 && last > 0 && k-at <= pairRows {
				if pairs++; !yield(last, x) || pairs == pairsLooked {
					return
				}
			}
		}
	}
}

// pairsByTime does so for two clocks, nothing where either runs back.
func pairsByTime(engine, speed *quantity) iter.Seq2[float64, float64] {
	return func(yield func(n, v float64) bool) {
		te, ts, pairs := engine.set.t, speed.set.t, 0
		if !slices.IsSorted(te) || !slices.IsSorted(ts) {
			return
		}
		for k, x := range speed.values() {
			i, _ := slices.BinarySearch(te, ts[k])
			if i < len(te) && x > 0 && engine.values()[i] > 0 {
				if pairs++; !yield(engine.values()[i], x) || pairs == pairsLooked {
					return
				}
			}
		}
	}
}

// heldGears finds the ratios that stay while the speed changes: the car is in gear.
func heldGears(pairs iter.Seq2[float64, float64]) gears {
	var held []float64
	var low, high, slow, fast float64
	rows := 0 // with one ratio
	end := func() {
		if rows >= heldRows && fast >= heldSpeed*slow {
			held = append(held, math.Sqrt(low*high))
		}
	}
	for n, v := range pairs {
		ratio := n / v
		if rows == 0 || max(high, ratio) > heldRatio*min(low, ratio) {
			end()
			low, high, slow, fast, rows = ratio, ratio, v, v, 1
			continue
		}
		low, high, slow, fast = min(low, ratio), max(high, ratio), min(slow, v), max(fast, v)
		rows++
	}
	end()
	if len(held) < heldFewest {
		return gears{}
	}
	slices.Sort(held)
	chance := max(1, len(held)/heldChance)
	return gears{held[chance], held[len(held)-1-chance]}
}
