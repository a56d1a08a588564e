package slip

import (
	"fmt"

	"flywitness/analysis/detect"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
)

// Before a clutch is said to hold, nothing else in the log may look like one that does not. What may have another cause is no slip, but it is a doubt.

const (
	doubtTime   = 1.8 // s, and one value, that a foot takes to let the clutch in, or a driver to catch spinning wheels, at most
	loadedShift = 2.0 // s, and one value, that an engine is kept under load with no gear in by those who change gear without a lift
)

// doubt returns why a clutch cannot be said to hold although no slip was seen, "" when nothing speaks against it.
func (j *judge) doubt() string {
	slow, spun, spunIn := 0.0, 0.0, 0
	for _, e := range j.out.Events {
		d := e.End - e.Start
		switch {
		case e.Gear < 3 || d < doubtTime+j.cal.Period:
		case e.Kind == detect.KindEngagement:
			slow = max(slow, d)
		case e.Kind == detect.KindWheelspin && d > spun:
			spun, spunIn = d, e.Gear
		}
	}
	if slow > 0 {
		return fmt.Sprintf("No slip was seen from a clutch that held, but after a gear change it took %.1f s under load to take hold: a slow foot or a weak clutch.", slow)
	}
	if spun > 0 {
		return fmt.Sprintf("No sure slip was seen, but for %.1f s in gear %d the wheels or the clutch slipped under load, and this road speed does not tell which: repeat it on a "+
			"dry road in a higher gear.", spun, spunIn)
	}
	for _, r := range j.records {
		if from, to, ok := runsFree(r); ok {
			return fmt.Sprintf("No sure slip was seen, but from %.0f to %.0f s the engine ran under load with no gear that fits: a clutch that let go, or a gear that was missed. "+
				"Repeat that pull.", from, to)
		}
	}
	return ""
}

// runsFree returns the first stretch (s) of the drive in which the engine was kept under load, without a lift, and locked to nothing for longer than any
// gear change takes.
func runsFree(r *detect.Record) (from, to float64, ok bool) {
	t := r.Track
	since, load, n := -1, 0.0, 0.0
	for i := range t.T {
		free := t.SpeedKmh[i] >= detect.PullSpeed && t.Clutch[i] != gearstate.Locked && t.Clutch[i] != gearstate.Unknown && t.Load[i] >= detect.FootOff
		if !free {
			since, load, n = -1, 0, 0
			continue
		}
		if since < 0 {
			since = i
		}
		load, n = load+t.Load[i], n+1
		if t.T[i]-t.T[since] >= loadedShift+r.Period && load/n >= motion.FootDown {
			return t.T[since], t.T[i], true
		}
	}
	return 0, 0, false
}
