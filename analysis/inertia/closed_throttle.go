package inertia

import (
	"flywitness/analysis/stats"
	"flywitness/drive"
)

// closedThrottle is a channel that tells whether the engine is shut off from fuel and air, with the level that it
// has when the foot is off. Closed levels differ from car to car (a throttle may read 10 to 18 % when shut), so
// they are learnt.
type closedThrottle struct {
	s     *series
	level float64
	slack float64 // above level + slack is open
	foot  bool    // tells of the foot, not of the throttle
}

// learnClosed finds the signals and their closed levels. The throttle of a diesel and the pressure in its manifold say
// nothing of its torque.
func (s *preparedLog) learnClosed() {
	add := func(name string, slack float64, foot bool) {
		c := s.channel(name)
		if c == nil || len(c.v) < fewestOfScale {
			return
		}
		s.closed = append(s.closed, closedThrottle{s: c, level: stats.Quantile(some(c.v), 0.02), slack: slack, foot: foot})
	}
	add(drive.Pedal, 3, true)
	add(drive.DemandedTorque, 8, false)
	if s.veh.ThrottleTellsLoad() {
		add(drive.Throttle, 3, false)
	}
}

// lastOpen returns the last moment in [from, to] at which the signal was open, with how far above closed it was.
func (c closedThrottle) lastOpen(from, to float64) (t, above float64, open bool) {
	i, j := c.s.between(from, to)
	for k := j - 1; k >= i; k-- {
		if a := c.s.v[k] - c.level; a > c.slack {
			return c.s.t[k], a, true
		}
	}
	return 0, 0, false
}
