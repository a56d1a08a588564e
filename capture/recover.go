package capture

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"flywitness/capture/adapter"
)

// gap is a stretch without values from the car.
type gap struct {
	from time.Time
	why  string
}

// Limits after which a link that brings nothing is given up: with words from the adapter that the car is silent, and with
// nothing usable at all.
const (
	silentAfter = 4
	deafAfter   = 8
)

// markAfter is how long nothing may come before that is a gap, whatever is being done about it.
const markAfter = 2 * time.Second

// backOff is how long to wait before a new attempt after a gap that has lasted so long: a fifth of it. A short gap then costs
// little more than itself, and a car that sleeps for hours is not kept awake.
func backOff(lasted time.Duration) time.Duration {
	return min(max(lasted/5, 200*time.Millisecond), 10*time.Second)
}

// searchAfter is how long a gap lasts before everything is learnt anew, as with a car in which somebody changed the adapter.
const searchAfter = time.Minute

// fault does what an error of a request calls for. The error it returns is one of the file.
func (r *recorder) fault(ctx context.Context, err error) error {
	step := adapter.StepOf(err)
	r.bad++
	if step == adapter.AskAgain {
		r.stats.rejected++
		switch {
		case errors.Is(err, adapter.ErrNoData) && r.bad >= silentAfter:
			step = adapter.Search
		case r.bad >= deafAfter:
			step = adapter.SetUp
		case r.Clock.Now().Sub(r.stats.lastRow) > markAfter:
			return r.beginGap(err)
		default:
			return nil
		}
	}
	if err := r.beginGap(err); err != nil {
		return err
	}
	return r.reconnect(ctx, step)
}

// beginGap marks the beginning of a gap, unless it is marked already.
func (r *recorder) beginGap(why error) error {
	if r.gap != nil {
		return nil
	}
	now := r.Clock.Now()
	text := strings.ReplaceAll(why.Error(), "\n", "; ")
	r.gap = &gap{from: r.stats.lastRow, why: text}
	r.notice("gap: %s; trying again until it comes back", text)
	return r.Sink.WriteNote(now.Sub(r.Created).Seconds(), "gap: "+text)
}

// endGap marks the end of a gap; why is empty when values come again.
func (r *recorder) endGap(why string) error {
	now := r.Clock.Now()
	length := now.Sub(r.gap.from)
	text := fmt.Sprintf("recording again after %.1f s", length.Seconds())
	if why != "" {
		text = fmt.Sprintf("%s in a gap of %.1f s", why, length.Seconds())
	}
	r.stats.gap(length)
	r.gap = nil
	r.notice("%s", text)
	return r.Sink.WriteNote(now.Sub(r.Created).Seconds(), text)
}

// reconnect tries, with back-off, until the car answers or the recording is over.
func (r *recorder) reconnect(ctx context.Context, step adapter.Step) error {
	for n := 0; !r.over(ctx); n++ {
		err := r.attempt(ctx, step)
		if err == nil {
			r.schedule.queue, r.bad = nil, 0
			return nil
		}
		if ctx.Err() != nil {
			return nil
		}
		r.gap.why = err.Error()
		step = max(adapter.StepOf(err), adapter.Search)
		if n >= 2 && step < adapter.ReOpenNow && n%3 == 2 {
			step++ // what is enough by the book has not been enough
		}
		if err := r.wait(ctx, backOff(r.Clock.Now().Sub(r.gap.from))); err != nil {
			return err
		}
	}
	return nil
}

// attempt is one try of a step and of all that follows it.
func (r *recorder) attempt(ctx context.Context, step adapter.Step) error {
	a := r.Adapter
	var err error
	switch step {
	case adapter.ReOpenNow:
		err = a.Connect(ctx)
	case adapter.SetUp:
		err = a.SetUp(ctx)
	}
	if err != nil {
		return err
	}
	if r.Clock.Now().Sub(r.gap.from) > searchAfter {
		return a.FindCar(ctx)
	}
	return a.Resume(ctx)
}

// wait sleeps in short pieces, in which the second instrument is still recorded.
func (r *recorder) wait(ctx context.Context, d time.Duration) error {
	const piece = 250 * time.Millisecond
	for d > 0 && !r.over(ctx) {
		if r.Clock.Sleep(ctx, min(d, piece)) != nil {
			return nil
		}
		d -= piece
		if err := r.side(); err != nil {
			return err
		}
	}
	return nil
}
