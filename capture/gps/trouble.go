package gps

import (
	"errors"
	"time"
)

// silentAfter is how long nothing of a kind must have come before that is told. Receivers send once a second or more often.
const silentAfter = 4 * time.Second

// seen is when what last came from a receiver.
type seen struct {
	since                              time.Time // begun, or opened again
	byteAt, sentenceAt, noFixAt, speed time.Time
	tooFast                            time.Time
	lost                               error  // why the line is gone; nil while it is open
	before                             string // trouble that lasts until a speed comes: the line was lost and is open again
}

func newSeen(now time.Time) seen { return seen{since: now} }

// opened begins anew: what came before the line was lost says nothing of it now. Only a speed ends the trouble.
func (s *seen) opened(now time.Time) {
	if s.lost != nil {
		*s = seen{since: now, before: s.trouble(now)}
	}
}

// sentence notes a line that parseSpeed has read.
func (s *seen) sentence(at time.Time, _ float64, err error) {
	switch {
	case err == nil:
		s.speed = at
	case errors.Is(err, errNoFix):
		s.noFixAt = at
	case errors.Is(err, errTooFast):
		s.tooFast = at
	case !errors.Is(err, errOther):
		return
	}
	s.sentenceAt = at
}

// trouble says why no speed comes and what to do about it.
func (s *seen) trouble(now time.Time) string {
	recent := func(t time.Time) bool { return now.Sub(t) < silentAfter }
	switch {
	case s.lost != nil:
		return "the GPS receiver is lost (" + s.lost.Error() + "); check its plug"
	case recent(s.speed):
		return ""
	case recent(s.since):
		return s.before
	case recent(s.tooFast):
		return "it tells speeds that no car drives; it may be set to another unit"
	case recent(s.noFixAt):
		return "it has no fix; give it a free view of the sky"
	case recent(s.sentenceAt):
		return "its sentences carry no speed; set it to send RMC or VTG"
	case recent(s.byteAt):
		return "what comes are no NMEA sentences; check --gps-baud, and that this is the receiver's port"
	}
	return "nothing comes; check its plug, its power, --gps and --gps-baud"
}
