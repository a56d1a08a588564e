package adapter

import (
	"context"
	"errors"
	"fmt"

	"flywitness/capture/obd"
)

// learnTries is how often a question is put whose answer decides for the whole drive: one reply may get lost.
const learnTries = 3

// insist puts a question up to learnTries times, until good takes the reply. The error is that of the last try.
func (a *Adapter) insist(ctx context.Context, command string, good func(Reply) bool) (Reply, error) {
	var r Reply
	var err error
	for range learnTries {
		r, err = a.ask(ctx, command, searchTime)
		timedOut := errors.Is(err, ErrTimeout)
		err = after(r, err)
		if err == nil && good(r) || timedOut || StepOf(err) > AskAgain {
			break
		}
	}
	return r, err
}

// chooseUnit finds the control unit that gives engine speed.
func (a *Adapter) chooseUnit(ctx context.Context, car *Car, masks []obd.Message) error {
	sources := map[uint32]bool{}
	for _, m := range masks {
		sources[m.Source] = true
	}
	car.Units = max(len(sources), 1)
	r, err := a.insist(ctx, "010C", func(r Reply) bool { return car.chooseIn(r) })
	if err != nil {
		return a.noCar(err)
	}
	if !car.chooseIn(r) {
		return &Failure{Search, fmt.Sprintf("no control unit gives engine speed (%s)", r.words()), ErrNoCar}
	}
	car.Support.Give(obd.EngineSpeed)
	return nil
}

// chooseIn takes the unit of the lowest identifier that gives engine speed in a reply.
func (c *Car) chooseIn(r Reply) (found bool) {
	lines, _ := r.data()
	msgs, _ := c.Format.Messages(lines)
	for _, m := range msgs {
		if v, err := obd.Values(m.Data, []obd.PID{obd.EngineSpeed}); err != nil || len(v) == 0 {
			continue
		}
		if !found || m.Source < c.Engine {
			c.Engine, found = m.Source, true
		}
	}
	return found
}

// addressing returns the commands that address a control unit alone and let only its replies through, and those that take
// them back. ISO 15765-4: a unit that answers as 7E8 to 7EF is addressed as 7E0 to 7E7; one that answers as 18DAF1xx as 18DAxxF1.
func (c *Car) addressing() (set, undo []string) {
	switch {
	case !c.Format.Headers:
	case c.Format.Link == obd.CAN11 && c.Engine >= 0x7E8 && c.Engine <= 0x7EF:
		return []string{fmt.Sprintf("ATSH%X", c.Engine-8), fmt.Sprintf("ATCRA%X", c.Engine)}, []string{"ATAR", "ATSH7DF"}
	case c.Format.Link == obd.CAN29 && c.Engine>>8 == 0x18DAF1:
		return []string{fmt.Sprintf("ATSHDA%02XF1", c.Engine&0xFF), fmt.Sprintf("ATCRA%08X", c.Engine)}, []string{"ATAR", "ATSHDB33F1"}
	}
	return nil, nil
}

// address speaks to the engine's control unit alone. It is done with a single unit too: a second one may answer now and then, and a
// reply that was counted would then be the wrong one.
func (a *Adapter) address(ctx context.Context, car *Car) error {
	set, undo := car.addressing()
	if len(set) == 0 {
		return nil
	}
	for _, command := range set {
		r, err := a.command(ctx, command)
		if err != nil {
			return err
		}
		if !r.has(OK) {
			a.Ignored = append(a.Ignored, command)
			continue
		}
		car.commands = append(car.commands, command)
	}
	engine := car.Engine
	r, err := a.insist(ctx, "010C", func(r Reply) bool { return car.chooseIn(r) && car.Engine == engine })
	if StepOf(err) >= SetUp {
		return err
	}
	if err == nil && car.chooseIn(r) && car.Engine == engine {
		car.alone = len(car.commands) == len(set)
		return nil
	}
	car.Engine, car.commands = engine, nil
	for _, command := range undo { // the car does not like it: everyone again
		if _, err := a.command(ctx, command); err != nil {
			return err
		}
	}
	return nil
}

// learnSupport reads the support masks, first from the reply to 01 00 that is in hand. A mask that does not come stays unread:
// what it would tell is not known, and it is asked for again later.
func (a *Adapter) learnSupport(ctx context.Context, car *Car, first []obd.Message) error {
	car.takeMask(0, first)
	for _, mask := range car.Support.Unread() {
		if !car.mayHaveMask(mask) {
			continue
		}
		_, err := a.insist(ctx, maskRequest(mask), func(r Reply) bool { return car.maskIn(mask, r) })
		if StepOf(err) >= SetUp {
			return err
		}
	}
	return nil
}

func maskRequest(mask obd.PID) string { return fmt.Sprintf("01%02X", byte(mask)) }

// mayHaveMask tells whether a mask is still unread: one below it may have said meanwhile that there are no more.
func (c *Car) mayHaveMask(mask obd.PID) bool {
	for _, m := range c.Support.Unread() {
		if m == mask {
			return true
		}
	}
	return false
}

func (c *Car) maskIn(mask obd.PID, r Reply) bool {
	lines, _ := r.data()
	msgs, _ := c.Format.Messages(lines)
	return c.takeMask(mask, msgs)
}

// takeMask takes the engine's mask from messages; a refusal or a torn mask leaves the set as it is.
func (c *Car) takeMask(mask obd.PID, msgs []obd.Message) bool {
	for _, m := range msgs {
		if (!c.Format.Headers || m.Source == c.Engine) && c.Support.Add(mask, m.Data) == nil {
			return true
		}
	}
	return false
}

// LearnMore asks once more for the first support mask that could not be read; learnt tells whether it came. Without such a mask
// nothing is asked.
func (a *Adapter) LearnMore(ctx context.Context) (learnt bool, err error) {
	unread := a.Car.Support.Unread()
	if len(unread) == 0 {
		return false, nil
	}
	r, err := a.ask(ctx, maskRequest(unread[0]), requestTime)
	if err = after(r, err); err != nil {
		return false, err
	}
	return a.Car.maskIn(unread[0], r), nil
}

// tryRoadSpeed asks for road speed where the masks do not announce it: some cars give it all the same.
func (a *Adapter) tryRoadSpeed(ctx context.Context) error {
	for range learnTries {
		if a.Car.Support.Has(obd.VehicleSpeed) {
			return nil
		}
		answer, err := a.Query(ctx, obd.VehicleSpeed)
		if StepOf(err) >= SetUp {
			return err
		}
		if len(answer.Values) == 1 {
			a.Car.Support.Give(obd.VehicleSpeed)
		}
	}
	return nil
}

// dropHeaders turns the identifiers off where only one control unit is heard: on CAN the adapter itself has checked the frame,
// and their characters cost up to 4 % of the poll rate. On the other links they bring the check byte, and stay.
func (a *Adapter) dropHeaders(ctx context.Context) error {
	if !a.Car.alone || !a.Car.Format.Headers || !a.Car.Format.Link.CAN() {
		return nil
	}
	r, err := a.command(ctx, "ATH0")
	if err != nil || !r.has(OK) {
		return err
	}
	a.Car.Format.Headers = false
	for range learnTries {
		if _, err = a.Query(ctx, obd.EngineSpeed); err == nil {
			a.Car.commands = append(a.Car.commands, "ATH0")
			return nil
		} else if StepOf(err) >= SetUp {
			return err
		}
	}
	a.Car.Format.Headers = true
	_, err = a.command(ctx, "ATH1")
	return err
}

// trySeveral finds out whether the car answers engine speed and road speed in one request.
func (a *Adapter) trySeveral(ctx context.Context) error {
	for range learnTries {
		answer, err := a.Query(ctx, obd.EngineSpeed, obd.VehicleSpeed)
		if StepOf(err) >= SetUp {
			return err
		}
		if len(answer.Values) > 0 {
			a.Car.Several = err == nil && len(answer.Values) == 2
			return nil
		}
	}
	return nil
}
