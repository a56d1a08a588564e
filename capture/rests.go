package capture

import (
	"time"

	"flywitness/drive"
)

// When a channel counts as lost: so many requests in a row brought no value of it, and so long it has brought none. A channel that
// skips a beat is not lost.
const (
	lostAfterMisses = 3
	lostAfter       = 2 * time.Second
)

// How long a channel that brings nothing is left alone: at first, and at most. It is never given up: what it gives later is
// worth as much as what it gave before.
const (
	firstRest   = time.Second
	longestRest = time.Minute
)

// rests holds what every channel has brought, and how long those that bring nothing are left alone.
type rests map[string]*rest

// rest is one channel.
type rest struct {
	gave   bool      // a value, ever
	last   time.Time // when it gave the last one, or was asked first
	misses int       // requests in a row without a value
	until  time.Time // not asked before
	length time.Duration
	lost   bool
}

func (r rests) of(channel string, now time.Time) *rest {
	c := r[channel]
	if c == nil {
		c = &rest{last: now}
		r[channel] = c
	}
	return c
}

// resting tells whether a channel is left alone for now. Engine speed, and road speed that was ever given, are asked for at full
// rate always: without them a stretch of the drive is worth nothing.
func (r rests) resting(channel string, now time.Time) bool {
	c := r[channel]
	if c == nil || channel == drive.EngineSpeed || channel == drive.VehicleSpeed && c.gave {
		return false
	}
	return now.Before(c.until)
}

// missed notes a request that brought no value of a channel; lost is true when the channel counts as lost from now on, since its
// last value.
func (r rests) missed(channel string, now time.Time) (lost bool, since time.Time) {
	c := r.of(channel, now)
	if c.misses++; c.misses < lostAfterMisses {
		return false, since
	}
	c.length = min(max(firstRest, 2*c.length), longestRest)
	c.until = now.Add(c.length)
	if c.lost || c.gave && now.Sub(c.last) < lostAfter {
		return false, since
	}
	c.lost = true
	return true, c.last
}

// got notes a value of a channel; back is true when it had given values before and counted as lost, since its last one.
func (r rests) got(channel string, now time.Time) (back bool, since time.Time) {
	c := r.of(channel, now)
	back, since = c.lost && c.gave, c.last
	*c = rest{gave: true, last: now}
	return back, since
}

// gave tells whether a channel has ever given a value.
func (r rests) gave(channel string) bool { return r[channel] != nil && r[channel].gave }
