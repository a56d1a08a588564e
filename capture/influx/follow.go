package influx

import (
	"context"
	"fmt"
	"io"
	"time"
)

// wait waits after a failure, longer each time. During a recording also what somebody must put right is tried again.
func (d *delivery) wait(f *Fault) error {
	if d.over() && d.Clock.Now().Sub(d.endedAt) >= d.Grace {
		return fmt.Errorf("%w: %w", ErrLeft, f)
	}
	pause := max(d.pause, f.After)
	d.pause = min(2*d.pause, longestPause)
	if d.over() {
		pause = min(pause, d.Grace)
	}
	d.tell(f.Text)
	ctx, stop := d.untilEnd()
	err := d.Clock.Sleep(ctx, pause)
	stop()
	if d.ctx.Err() != nil {
		return fmt.Errorf("%w: %w", ErrLeft, err)
	}
	return nil
}

// over tells whether the recording has ended, and notes when it did.
func (d *delivery) over() bool {
	if !d.live {
		return false
	}
	select {
	case <-d.ended:
		if d.endedAt.IsZero() {
			d.endedAt = d.Clock.Now()
		}
		return true
	default:
		return false
	}
}

// untilEnd is a context that also ends with the recording, if that is still to come.
func (d *delivery) untilEnd() (context.Context, context.CancelFunc) {
	if !d.live || d.over() {
		return d.ctx, func() {}
	}
	ctx, cancel := context.WithCancel(d.ctx)
	stop := make(chan struct{})
	go func() {
		select {
		case <-d.ended:
			cancel()
		case <-stop:
		}
	}()
	return ctx, func() { close(stop); cancel() }
}

// lookEvery is how often a file that is being written is looked at.
const lookEvery = time.Second

// Read reads the file. At the end of one that is still being written it sends what there is and waits for more.
func (d *delivery) Read(b []byte) (int, error) {
	for {
		over := !d.live || d.over()
		n, err := d.file.Read(b)
		if n > 0 {
			d.sum.Write(b[:n])
			return n, nil
		}
		if err != nil && err != io.EOF || over {
			return 0, err
		}
		if d.lines != nil {
			if err := d.flush(); err != nil {
				return 0, err
			}
		}
		ctx, stop := d.untilEnd()
		_ = d.Clock.Sleep(ctx, lookEvery) // its end is seen by over and ctx
		stop()
		if err := d.ctx.Err(); err != nil {
			return 0, fmt.Errorf("%w: %w", ErrLeft, err)
		}
	}
}
