package capture

import (
	"context"
	"errors"
	"fmt"
	"time"

	"flywitness/capture/adapter"
	"flywitness/capture/obd"
)

// missed notes which channels a request did not bring, and tells of a channel that is lost. A link that brings nothing at all
// says nothing of a channel.
func (r *recorder) missed(pids []obd.PID, a adapter.Answer, err error) error {
	var refused obd.NegativeReply
	if err != nil && !errors.Is(err, adapter.ErrNoData) && !(errors.As(err, &refused) && refused.Lasting()) {
		return nil
	}
	if r.bad > 0 && len(a.Values) == 0 {
		return nil
	}
	now := r.Clock.Now()
	for _, pid := range pids {
		p, ok := obd.ByPID(pid)
		if !ok || carries(a, pid) {
			continue
		}
		lost, since := r.schedule.rests.missed(p.Channel, now)
		if !lost {
			continue
		}
		if !r.schedule.rests.gave(p.Channel) {
			r.notice("the car announces %s and has not given it yet: asked for now and then", p.Channel)
			continue
		}
		if err := r.lost(p.Channel, since); err != nil {
			return err
		}
	}
	return nil
}

func carries(a adapter.Answer, pid obd.PID) bool {
	for _, v := range a.Values {
		if v.PID == pid {
			return true
		}
	}
	return false
}

// lost tells of a channel that gave values and gives none now: to the person, in the file, and in the summary.
func (r *recorder) lost(channel string, since time.Time) error {
	r.stats.lose(channel, since)
	r.notice("the car no longer gives %s: asked for on and on", channel)
	return r.note("lost: " + channel)
}

// back tells of a lost channel that gives values again.
func (r *recorder) back(channel string, since, now time.Time) error {
	r.stats.regain(channel, now)
	text := fmt.Sprintf("%s is back after %.1f s", channel, now.Sub(since).Seconds())
	r.notice("%s", text)
	return r.note(text)
}

// note writes a note with the time of now.
func (r *recorder) note(text string) error {
	return r.Sink.WriteNote(r.Clock.Now().Sub(r.Created).Seconds(), text)
}

// got takes note of a value that came. A channel that was never announced is then known to be there.
func (r *recorder) got(v obd.Value, now time.Time) error {
	r.Adapter.Car.Support.Give(v.PID)
	back, since := r.schedule.rests.got(v.Channel, now)
	r.stats.value(v.Channel)
	if back {
		return r.back(v.Channel, since, now)
	}
	return nil
}

// How often a support mask that could not be read is asked for again: at first, and at most.
const (
	firstLearn   = 15 * time.Second
	longestLearn = 2 * time.Minute
)

// learnMore asks again for what could not be learnt of the car, when it is time.
func (r *recorder) learnMore(ctx context.Context) {
	now := r.Clock.Now()
	if r.gap != nil || now.Before(r.learnAt) || len(r.Adapter.Car.Support.Unread()) == 0 {
		return
	}
	learnt, err := r.Adapter.LearnMore(ctx)
	if learnt && len(r.Adapter.Car.Support.Unread()) == 0 {
		r.notice("what the car supports is learnt now")
		r.tellMissing()
	}
	if r.learnWait = min(max(firstLearn, 2*r.learnWait), longestLearn); learnt {
		r.learnWait = 0
	}
	r.learnAt = now.Add(r.learnWait)
	_ = err // a lost adapter shows at the next request
}

// tellMissing tells which channels the car lacks, and of which that is not known.
func (r *recorder) tellMissing() {
	lacking, unknown := r.schedule.missing(r.Plan())
	if len(lacking) > 0 {
		r.notice("the car does not give %s", join(lacking))
	}
	if len(unknown) > 0 {
		r.notice("whether the car gives %s could not be learnt: they are asked for all the same", join(unknown))
	}
}
