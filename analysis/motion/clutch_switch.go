package motion

import (
	"sort"

	"flywitness/analysis/gearstate"
	"flywitness/drive"
)

// pressedFrom is how far a clutch pedal is down, of its way, when a foot is on it, where its position is known and not
// a switch alone: less is play. Common practice, no source.
const pressedFrom = 0.1

// TakeClutchSwitch gives the record what a switch at the clutch pedal shows in a log.
func (r *Record) TakeClutchSwitch(l *drive.Log) {
	def, _ := drive.Define(drive.ClutchSwitch)
	r.switchT, r.pressed = gearstate.Usable(l.Channel(drive.ClutchSwitch), def.Low, def.High)
}

// HasClutchSwitch tells whether a log shows a switch at the clutch pedal.
func (r *Record) HasClutchSwitch() bool { return len(r.switchT) > 0 }

// Pressed is for how long (s) of a stretch of time the switch at the clutch pedal shows a foot on it: a value stands
// until the next one.
func (r *Record) Pressed(from, to float64) (s float64) {
	k := max(0, sort.SearchFloat64s(r.switchT, from)-1)
	for ; k < len(r.switchT) && r.switchT[k] < to; k++ {
		until := to
		if k+1 < len(r.switchT) {
			until = min(to, r.switchT[k+1])
		}
		if r.pressed[k] >= pressedFrom {
			s += max(0, until-max(from, r.switchT[k]))
		}
	}
	return s
}
