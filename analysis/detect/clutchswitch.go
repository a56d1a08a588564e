package detect

import (
	"flywitness/analysis/gearstate"
)

// A switch at the clutch pedal tells whether a foot was on it, if the log shows that it works: it is pressed when
// gears are changed and released while a gear is driven at light load. Some switches show the pedal as soon as it is
// touched, others when it is nearly down: a clutch that slides while a car sets off tells which.
type clutchSwitch struct {
	works    bool
	inverted bool // it shows a released pedal
	touched  bool // it shows a foot that only touches the pedal
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
	switchLook     = 0.05 // s by which a switch is looked at
	switchUndoubts = 0.6  // of a departure, from its start on, that a foot must stay off for it to have no part in it
)

// learnSwitch learns what a switch at the clutch pedal shows.
func (r *Record) learnSwitch() {
	if !r.HasClutchSwitch() {
		return
	}
	pressed, all := r.pressedLight()
	if all == 0 {
		return
	}
	s := clutchSwitch{inverted: pressed > 0.5*all}
	if s.inverted {
		pressed = all - pressed
	}
	r.foot = s
	changes, shown := r.changesShown()
	rests, shows := pressed <= switchRests*all, float64(shown) >= switchShows*float64(changes)
	r.foot.works = rests && shows && changes >= switchChanges
	slid, touched := r.startsShown()
	r.foot.touched = slid >= switchStarts && touched >= switchTouched*slid
}

// footOn is for how long (s) of a stretch of time a foot is on the clutch pedal.
func (r *Record) footOn(from, to float64) float64 {
	s := r.Pressed(from, to)
	if r.foot.inverted {
		return to - from - s
	}
	return s
}

// FootOn tells whether a foot is known to be on the clutch pedal at sample i.
func (r *Record) FootOn(i int) bool {
	t := r.Track.T[i]
	return r.foot.works && r.footOn(t-instant, t) > instant/2
}

// instant is what counts as no time, s.
const instant = 1e-3

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
			pressed, all = pressed+r.Pressed(from, to), all+to-from
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
		if r.footOn(from-switchReach-r.Period, to+switchReach+r.Period) > instant {
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
		slid, touched = slid+t.T[i]-t.T[run.Lo], touched+r.footOn(t.T[run.Lo], t.T[i])
	}
	return slid, touched
}

// underFoot tells whether a foot is known to be on the clutch pedal through most of a departure.
func (r *Record) underFoot(c *Departure) bool {
	return r.foot.works && r.footOn(c.Start, c.End) > switchMost*(c.End-c.Start)
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
	return r.footOn(from, most) < instant || r.footOff(from, c.End) > switchHeld+late
}

// footOff is the longest time (s) from one moment to another without a foot on the pedal.
func (r *Record) footOff(from, to float64) (s float64) {
	since := from
	for t := from; t < to; t += switchLook {
		if r.footOn(t, min(to, t+switchLook)) > 0 {
			since = t + switchLook
		}
		s = max(s, min(to, t+switchLook)-since)
	}
	return s
}
