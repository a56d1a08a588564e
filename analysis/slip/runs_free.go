package slip

import (
	"math"

	"flywitness/analysis/detect"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
)

// An engine that no gear holds is soon at its limit, or the foot is off. One that is kept under load for longer, or
// rises for longer, works against something: a clutch that slips, or a gear that was missed.

const (
	// s, and one value, that an engine is kept under load with no gear in by those who change gear without a
	// lift
	loadedShift = 2.0
	// s in which a free engine goes from idle to its limit with the foot down, or to the speed of the
	// next gear with the foot half down. Common practice, no source
	freeRev    = 1.5
	leastRise  = 0.1 // of engine speed: by less, an engine drifts at idle
	riseValues = 3   // that show one rise: two may be of two
)

// runsFree returns the first stretch (s) of the drive in which the engine was kept under load, without a lift, and
// locked to nothing for longer than any gear change takes, or rose above its gear for longer than a free engine does,
// with no foot that a switch shows on the clutch pedal. Where no load is known the wheels tell that they are pushed. A
// car that sets off or speeds up from a crawl is in lower gears until one is seen to hold, whatever the log shows of
// them.
func runsFree(r *detect.Record) (from, to float64, ok bool) {
	t := r.Track
	since, low := -1, 0 // samples from which the engine was under load, and has risen
	load, n := 0.0, 0.0
	gear, crawled := 0, false // gear that was engaged last; the car was too slow for it since one held
	other := r.OtherGear()
	for i := range t.T {
		if t.Gear[i] != 0 {
			gear = int(t.Gear[i])
		}
		held := t.Clutch[i] == gearstate.Locked || r.Geared(i) || r.Fits(i) || other[i] || r.FootOn(i)
		crawled = !held && (crawled || !r.Moving(i, gear))
		seen := i > 0 && t.T[i]-t.T[i-1] <= t.Model.Gap() && t.Clutch[i] != gearstate.Unknown
		if held || crawled || !seen || t.SpeedKmh[i] < detect.PullSpeed {
			since, low = -1, i
			continue
		}
		if !math.IsNaN(t.Load[i]) || !(t.RPM[i] > t.RPM[i-1]) || !r.Ahead(i-1, gear) {
			low = i
		}
		if r.Ahead(i, gear) && i-low+1 >= riseValues && t.T[i]-t.T[low] >= freeRev &&
			t.RPM[i] >= (1+leastRise)*t.RPM[low] {
			return t.T[low], t.T[i], true
		}
		asked := t.Load[i]
		if math.IsNaN(asked) && r.Phi(i) >= detect.PushedFrom {
			asked = motion.FootDown
		}
		if !(asked >= detect.FootOff) {
			since = -1
			continue
		}
		if since < 0 {
			since, load, n = i, 0, 0
		}
		load, n = load+asked, n+1
		if t.T[i]-t.T[since] >= loadedShift+r.Period && load/n >= motion.FootDown {
			return t.T[since], t.T[i], true
		}
	}
	return 0, 0, false
}

// leftAndBack returns the first stretch (s) in which the engine stood above its gear with the foot down, and in no
// other one, in two values or more that stand for longer than a change of gear takes, before the same gear held again:
// none was changed. From the lowest gear that was learnt the driver may have gone to one that was not.
func leftAndBack(r *detect.Record) (from, to float64, ok bool) {
	t := r.Track
	held := -1          // last sample that a gear held,
	var above []float64 // and times of values above it with the foot down since
	for i := range t.T {
		switch {
		case t.Clutch[i] == gearstate.Locked:
			if n := len(above); n >= 2 && t.Gear[i] == t.Gear[held] && above[n-1]-above[0]+r.Period >= loadedShift {
				return above[0], above[n-1], true
			}
			held, above = i, above[:0]
		case held < 0 || t.T[i]-t.T[i-1] > t.Model.Gap() || t.Place(held) == 0 || r.FootOn(i) ||
			!r.Moving(i, int(t.Gear[held])) || r.FitsAnother(i, int(t.Gear[held])):
			held, above = -1, above[:0]
		case r.Ahead(i, int(t.Gear[held])) && t.Load[i] >= motion.FootDown:
			above = append(above, t.T[i])
		}
	}
	return 0, 0, false
}
