package adapter

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// First contact is tried so often before it is given up, with a pause between: a cheap adapter may miss the first search.
const (
	meetTries = 3
	meetPause = time.Second
)

// Meet connects to adapter and car. A port that cannot be opened is told at once; an adapter or a car that does not answer is
// tried meetTries times, and say is told of each that failed.
func (a *Adapter) Meet(ctx context.Context, say func(string)) error {
	for try := 1; ; try++ {
		err := a.Connect(ctx)
		if err == nil {
			say(fmt.Sprintf("adapter: %s%s; looking for the car, ignition on, engine running or not", a.Identity, a.Rate()))
			err = a.FindCar(ctx)
		}
		var failure *Failure
		hopeless := !errors.As(err, &failure) && !errors.Is(err, ErrHangup)
		if err == nil || try == meetTries || hopeless || ctx.Err() != nil {
			return err
		}
		say(fmt.Sprintf("%v; trying again, %d of %d", err, try+1, meetTries))
		if serr := a.clock.Sleep(ctx, meetPause); serr != nil {
			return serr
		}
	}
}

// Rate returns ", N baud", or ", over the network".
func (a *Adapter) Rate() string {
	if a.options.Network {
		return ", over the network"
	}
	return fmt.Sprintf(", %d baud", a.Baud)
}
