package motion

import (
	"math"
	"sort"

	"flywitness/analysis/gearstate"
	"flywitness/drive"
)

// pressedFrom is how far a clutch pedal is down, of its way, when a foot is on it, where its position is known and not
// a switch alone: less is play. Common practice, no source.
const pressedFrom = 0.1

// ClutchSwitch is what a switch at the clutch pedal shows: when a foot is on it. Nil where a log has none.
type ClutchSwitch struct {
	from    float64 // s, of its first value
	pressed []Span  // in order; a value stands until the next one, the last for ever
}

// TakeClutchSwitch gives the record what a switch at the clutch pedal shows in a log.
func (r *Record) TakeClutchSwitch(l *drive.Log) {
	def, _ := drive.Define(drive.ClutchSwitch)
	t, v := gearstate.Usable(l.Channel(drive.ClutchSwitch), def.Low, def.High)
	if len(t) == 0 {
		return
	}
	s := &ClutchSwitch{from: t[0]}
	for i, x := range v {
		switch n := len(s.pressed); {
		case x < pressedFrom && n > 0 && math.IsInf(s.pressed[n-1].End, 1):
			s.pressed[n-1].End = t[i]
		case x >= pressedFrom && (n == 0 || !math.IsInf(s.pressed[n-1].End, 1)):
			s.pressed = append(s.pressed, Span{t[i], math.Inf(1)})
		}
	}
	r.ClutchSwitch = s
}

// Inverted is a switch that shows a released pedal.
func (s *ClutchSwitch) Inverted() *ClutchSwitch {
	out := &ClutchSwitch{from: s.from}
	at := s.from
	for _, p := range s.pressed {
		if p.Start > at {
			out.pressed = append(out.pressed, Span{at, p.Start})
		}
		at = p.End
	}
	if !math.IsInf(at, 1) {
		out.pressed = append(out.pressed, Span{at, math.Inf(1)})
	}
	return out
}

// next is the first stretch under a foot that ends behind a time.
func (s *ClutchSwitch) next(t float64) int {
	return sort.Search(len(s.pressed), func(k int) bool { return s.pressed[k].End > t })
}

// At tells whether a foot is on the pedal at a time.
func (s *ClutchSwitch) At(t float64) bool {
	k := s.next(t)
	return k < len(s.pressed) && s.pressed[k].Start <= t
}

// Pressed is for how long (s) a foot is on the pedal from one time to another.
func (s *ClutchSwitch) Pressed(from, to float64) (seconds float64) {
	for _, p := range s.pressed[s.next(from):] {
		if p.Start >= to {
			break
		}
		seconds += min(to, p.End) - max(from, p.Start)
	}
	return seconds
}

// Released is the longest time (s) without a foot on the pedal from one time to another.
func (s *ClutchSwitch) Released(from, to float64) (seconds float64) {
	for _, p := range s.pressed[s.next(from):] {
		if p.Start >= to {
			break
		}
		seconds, from = max(seconds, p.Start-from), p.End
	}
	return max(seconds, to-from)
}
