package main

import (
	"context"
	"fmt"
	"slices"

	"flywitness/analysis/plan"
	"flywitness/capture/source"
	"flywitness/cmd/internal/logfiles"
)

// readEarlier takes the speeds at which the engine is to be held from the recordings of --earlier. Both sides of a job
// are compared at the speeds that they share.
func (r *recording) readEarlier(ctx context.Context) error {
	names, err := logfiles.Expand(r.flags.earlier)
	if err != nil || len(names) == 0 {
		return err
	}
	sets, err := source.OpenAll(ctx, names, source.Options{}, func() {})
	if err != nil {
		return err
	}
	at, ok := plan.HoldsOf(slices.Concat(sets...), r.vehicle)
	if !ok {
		r.say("the earlier recording has neither holds nor free revs: the engine is held where the vehicle file says")
		return nil
	}
	r.held = at
	r.say(fmt.Sprintf("the engine is held at %.0f and %.0f rpm, as the earlier recording asks for", at[0], at[1]))
	return nil
}
