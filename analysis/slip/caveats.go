package slip

import (
	"fmt"
	"math"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/detect"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
)

// Before a clutch is said to hold, nothing in the log may be left that looks like one that does not. What may have another cause is no slip, but it
// is a doubt: it is named, with what settles it.

const (
	leftTime    = 0.9 // s of a departure that is worth a doubt,
	briefMost   = 3   // and how many shorter ones are
	footTime    = 1.8 // s, and one value, that a foot takes to let the clutch in, or a driver to catch spinning wheels, at most
	loadedShift = 2.0 // s, and one value, that an engine is kept under load with no gear in by those who change gear without a lift
)

// caveat returns why a clutch cannot be said to hold although no slip was seen, and what settles it; "" when nothing speaks against it.
func (j *judge) caveat() (reason, next string) {
	for _, r := range j.records {
		if r.Misunderstood() {
			return "Engine speed and road speed do not keep step in this log even at light load, where no clutch slips: the gears, the delay or the signals are not understood, " +
				"so nothing smaller can be told.", "a drive with few channels on a quick link, some minutes of it at light throttle in each gear"
		}
	}
	if reason, next = j.leftOver(); reason != "" {
		return reason, next
	}
	for _, r := range j.records {
		if from, to, ok := runsFree(r); ok {
			return fmt.Sprintf("No sure slip was seen, but from %.0f to %.0f s the engine ran under load with no gear that fits: a clutch that let go, or a gear that was missed.",
				from, to), "that pull again"
		}
		if at, ok := r.DoubtfulGap(); ok {
			return fmt.Sprintf("No sure slip was seen, but at %.0f s values are missing under load, and beside the gap the engine stood off its gear: a clutch that let go, or a "+
				"gear change.", at), "that pull again, without a gap in the recording"
		}
	}
	if n := len(j.cal.Gears); n > mostGears {
		return fmt.Sprintf("The log shows %d ratios of engine speed to road speed, more than a manual gearbox has gears: some of them may be slip of a constant size.", n),
			"a few minutes at light throttle in each gear, recorded before the pulls"
	}
	if gear, ok := j.onlyUnderLoad(); ok {
		return fmt.Sprintf("No sure slip was seen, but gear %d was only driven under load, entered from a taller gear without a break of force: slip of a constant size looks the same.",
			gear), fmt.Sprintf("gear %d once gently, for ten seconds", gear)
	}
	if len(j.cal.OffFile) > 0 {
		return fmt.Sprintf("No slip was seen against the log's own gearing, but gear %d stands more than %.0f %% off its place in the vehicle file: a wrong ratio, or slip at any load.",
			j.cal.OffFile[0], 100*calibrate.FileApart), "nothing before the ratio in the vehicle file is checked"
	}
	return "", ""
}

// mostGears is how many gears a manual gearbox of a road car has at most. Common practice, no source.
const mostGears = 7

// leftOver names the departures that no harmless explanation covers.
func (j *judge) leftOver() (reason, next string) {
	n, brief := 0, 0
	var worst *Event
	for i := range j.out.Events {
		e := &j.out.Events[i]
		if !j.suspect[i] {
			continue
		}
		if e.End-e.Start < leftTime {
			brief++
			continue
		}
		n++
		if worst == nil || e.End-e.Start > worst.End-worst.Start {
			worst = e
		}
	}
	if n == 0 && brief >= briefMost {
		return fmt.Sprintf("The engine ran ahead for less than a second %s, locked before and after: too short to be sure, too often to be chance.", times(brief)), threePulls
	}
	if n == 0 {
		return "", ""
	}
	x := alternatives[worst.Kind]
	return fmt.Sprintf("What looks like slip was seen %s, but not for sure: at %.0f s the engine ran %.0f %% ahead in gear %d for %.1f s, which %s could have made.",
		times(n), worst.Start, worst.PeakSlip, worst.Gear, worst.End-worst.Start, x.what), x.next
}

// alternatives are what could have made a departure of each kind, and what settles it.
var alternatives = map[string]struct{ what, next string }{
	detect.KindEngagement:  {"a clutch let in slowly, or a gear that the log does not show otherwise,", "the lower gears once gently, and that pull again with the foot well off the pedal"},
	detect.KindWheelspin:   {"spinning wheels", "that pull on a dry road in a higher gear"},
	detect.KindShift:       {"a late lift before a gear change", "that pull again, held in gear to its end"},
	detect.KindPedal:       {"a foot on the clutch pedal", "that pull again with the foot well off the pedal"},
	detect.KindNoForce:     {"a gear change or a lift", "that pull again, held in gear to its end"},
	detect.KindOtherGear:   {"another gear", "that pull again, held in gear to its end"},
	detect.KindSignal:      {"what this log shows at light load too, a delay or a dial,", "that pull again on a quicker link"},
	detect.KindCarriedMore: {"something that is not the clutch, which carried far more at another time,", "that pull again"},
	detect.KindShort:       {"one late value", "that pull again"},
}

// knownGear is the gear from which a clutch that is let in takes no longer than a foot takes: in first and second cars set off.
const knownGear = 3

// isSuspect tells whether a departure may be slip after all.
func (j *judge) isSuspect(d *detect.Departure) bool {
	t := d.End - d.Start
	switch d.Kind {
	case detect.KindSlip:
		return true
	case detect.KindEngagement:
		return d.Gear >= knownGear && d.Moving && t >= footTime+j.cal.Period
	case detect.KindWheelspin:
		return d.Gear >= knownGear && t >= footTime+j.cal.Period
	case detect.KindPedal:
		return t >= footTime && (d.Relocks() || d.ForceKept()) // who dabs at the clutch pedal is off it within that time
	case detect.KindShift:
		return d.ForceKept()
	}
	return d.Moving && (t >= leftTime || d.Relocks())
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

// onlyUnderLoad returns a gear that was driven only under load and entered from a taller one without a break of force.
func (j *judge) onlyUnderLoad() (gear int, ok bool) {
	light, entered := map[int]float64{}, map[int]bool{}
	for _, r := range j.records {
		r.LightTime(light)
		for _, g := range r.EnteredUnderForce() {
			entered[g] = true
		}
	}
	for _, g := range j.cal.Gears {
		if entered[g.Gear] && light[g.Gear] < lightLeast {
			return g.Gear, true
		}
	}
	return 0, false
}

// lightLeast is how long (s) a gear must be driven at light load to be one.
const lightLeast = 1.5

// hardPull is the power per mass (W/kg) that a pull must reach to test a clutch where nothing else tells how hard the engine worked.
const hardPull = 35.0

// fullByForce marks as full the pulls that asked for the highest engine torque of the logs, where no channel tells how hard the engine worked: by torque
// where it is known, else by the force at the wheels over the gearing, if the hardest pull deserves the name.
func (j *judge) fullByForce() {
	top := 0.0
	for i := range j.out.Pulls {
		top = math.Max(top, j.asked[i].torque)
	}
	hard := false
	for i := range j.out.Pulls {
		hard = hard || j.asked[i].torque >= detect.FullFrom*top && j.asked[i].power >= hardPull
	}
	for i := range j.out.Pulls {
		j.full[i] = hard && j.asked[i].torque >= detect.FullFrom*top
	}
}
