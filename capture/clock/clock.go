// Package clock is where recording takes its time from: the machine's monotonic clock in a car, an emulated one in tests.
package clock

import (
	"context"
	"time"
)

// Clock tells the time and waits.
type Clock interface {
	Now() time.Time
	// Sleep waits for d, or until ctx is done; it then returns ctx.Err().
	Sleep(ctx context.Context, d time.Duration) error
}

// System is the machine's clock. Differences of its times are monotonic: setting the wall clock does not move them.
type System struct{}

// Now returns time.Now().
func (System) Now() time.Time { return time.Now() }

// Sleep waits on a timer.
func (System) Sleep(ctx context.Context, d time.Duration) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-t.C:
		return nil
	}
}
