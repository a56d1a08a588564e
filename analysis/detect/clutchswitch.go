package detect

import (
	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
)

// A switch at the clutch pedal tells whether a foot was on it, if the log shows that it works: it is pressed when
// gears are changed and released while a gear is driven at light load. Some switches show the pedal as soon as it is
// touched, others when it is nearly down: a clutch that slides while a car sets off tells which.
type clutchSwitch struct {
	*motion.ClutchSwitch
	works   bool
	touched bool // it shows a foot that only touches the pedal
}

// All of these: common practice, no source.
const (
	switchChanges  = 5    // changes of gear that must be seen to know a switch,
	switchShows    = 0.8  // in so many of which it is pressed,
	switchRests    = 0.05 // and the share of driving at light load in which it may be
	switchReach    = 0.4  // s that its clock may be off
	switchStarts   = 3.0  // s of sliding while the car sets off that tell what it shows,
	switchTouched  = 0.8  // if it is pressed through so much of that
	switchMost     = 0.5  // of a departure under a foot that is a foot's doing
	switchHeld     = 1.0  // s after which a clutch has taken hold that the pedal lets go,
	switchUndoubts = 0.6  // of a departure, from its start on, that a foot must stay off for it to have no part in it
)

// learnSwitch learns what a switch at the clutch pedal shows, and which way round.
func (r *Record) learnSwitch() {
	if r.ClutchSwitch == nil {
		return
	}
	r.foot.ClutchSwitch = r.ClutchSwitch
	pressed, all := r.pressedLight()
	if all == 0 {
		return
	}
	if pressed > 0.5*all {
		r.foot.ClutchSwitch, pressed = r.ClutchSwitch.Inverted(), all-pressed
	}
	changes, shown := r.changesShown()
	rests, shows := pressed <= switchRests*all, float64(shown) >= switchShows*float64(changes)
	r.foot.works = rests && shows && changes >= switchChanges
	slid, touched := r.startsShown()
	r.foot.touched = slid >= switchStarts && touched >= switchTouched*slid
}

// FootOn tells whether a foot is known to be on the clutch pedal at sample i.
func (r *Record) FootOn(i int) bool { return r.foot.works && r.foot.At(r.Track.T[i]) }

// pressedLight is for how long (s) the switch is pressed of all driving at light load with the clutch locked.
func (r *Record) pressedLight() (pressed, all float64) {
	t := r.Track
	rests := func(i int) bool { return r.light[i] && t.Clutch[i] == gearstate.Locked }
	for lo := 0; lo < t.Len(); lo++ {
		hi := lo
		for hi < t.Len() && rests(hi) {
			hi++
		}
		if hi > lo {
			from, to := t.T[lo], t.T[hi-1]
			pressed, all = pressed+r.foot.Pressed(from, to), all+to-from
			lo = hi
		}
	}
	return pressed, all
}

// changesShown counts changes of gear, and those of them in which a foot is on the pedal at some time.
func (r *Record) changesShown() (changes, shown int) {
	t := r.Track.T
	for q := 1; q < len(r.Runs); q++ {
		a, b := &r.Runs[q-1], &r.Runs[q]
		from, to := t[a.Hi-1], t[b.Lo]
		if a.Gear == b.Gear || to-from > lockedAbout {
			continue
		}
		changes++
		if late := switchReach + r.Period; r.foot.Pressed(from-late, to+late) > 0 {
			shown++
		}
	}
	return changes, shown
}

// startsShown is for how long (s) the clutch slides as cars set off, and for how much of that a foot is on the pedal.
func (r *Record) startsShown() (slid, touched float64) {
	t := r.Track
	for q := range r.Runs {
		run := &r.Runs[q]
		if !run.FromOpen || run.Index > 0 {
			continue
		}
		i := run.Lo
		for i+1 < run.Hi && t.Clutch[i+1] != gearstate.Locked {
			i++
		}
		slid, touched = slid+t.T[i]-t.T[run.Lo], touched+r.foot.Pressed(t.T[run.Lo], t.T[i])
	}
	return slid, touched
}

// underFoot tells whether a foot is known to be on the clutch pedal through most of a departure.
func (r *Record) underFoot(c *Departure) bool {
	return r.foot.works && r.foot.Pressed(c.Start, c.End) > switchMost*(c.End-c.Start)
}

// UnderFoot tells whether a switch showed a foot on the clutch pedal through most of a departure.
func (c *Departure) UnderFoot() bool { return c.seen.underFoot }

// WithoutFoot tells whether a switch showed that no foot had a part in a departure.
func (c *Departure) WithoutFoot() bool { return c.seen.withoutFoot }

// withoutFoot tells whether a foot is known to have no part in a departure: it was off the pedal before it and
// through most of it, and what follows may be the next change of gear. Or it was off for so long without a break that
// a clutch which holds would have held: it takes hold at once when the pedal is up.
func (r *Record) withoutFoot(c *Departure) bool {
	if !r.foot.works || !r.foot.touched {
		return false
	}
	late := switchReach + r.Period
	from, most := c.Start-late, c.Start+switchUndoubts*(c.End-c.Start)
	return r.foot.Pressed(from, most) == 0 || r.foot.Released(from, c.End) > switchHeld+late
}
