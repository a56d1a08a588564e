package adapter

import (
	"context"
	"errors"
	"fmt"
	"time"

	"flywitness/capture/obd"
)

// requestTime is how long a reply may take; an adapter gives up on the car after 0.2 to 1 s and says so.
const requestTime = 1500 * time.Millisecond

// Answer is the values of one reply.
type Answer struct {
	Values  []obd.Value
	Sampled time.Time     // best estimate of the moment at which the control unit took the values
	Latency time.Duration // from the request's first byte out to the reply's first byte in
}

// Query asks for 1 to obd.MaxPIDs parameters of the engine's control unit. Several in one request is for cars that have
// Car.Several. The error's StepOf says what to do; values that came before an error are returned with it.
func (a *Adapter) Query(ctx context.Context, pids ...obd.PID) (Answer, error) {
	request, err := obd.Request(pids...)
	if err != nil {
		return Answer{}, err
	}
	msg, r, err := a.engineMessage(ctx, request)
	if err != nil {
		return Answer{}, err
	}
	_, at := r.data()
	answer := a.stamp(r.Sent, at[msg.Line], len(request), len(msg.Data))
	a.lastReply = at[len(at)-1]
	answer.Values, err = obd.Values(msg.Data, pids)
	if err != nil {
		return answer, &Failure{AskAgain, "the reply cannot be used", err}
	}
	return answer, nil
}

// engineMessage sends a request and returns the message of the engine's control unit.
func (a *Adapter) engineMessage(ctx context.Context, request []byte) (obd.Message, Reply, error) {
	withCount := a.counts.suffix(text(request)) != ""
	msgs, r, err := a.messages(ctx, request)
	for _, m := range a.ofEngine(msgs) {
		return m, r, nil
	}
	if err == nil {
		a.counts.foreign(text(request), withCount)
		err = &Failure{AskAgain, "the engine's control unit did not answer", ErrNoData}
	}
	return obd.Message{}, r, err
}

// text writes a request as the adapter takes it.
func text(request []byte) string { return fmt.Sprintf("%X", request) }

// messages sends a request, with the number of lines to wait for where it is known, and assembles the reply.
func (a *Adapter) messages(ctx context.Context, request []byte) ([]obd.Message, Reply, error) {
	command := text(request)
	suffix := a.counts.suffix(command)
	r, err := a.ask(ctx, command+suffix, requestTime)
	if err := after(r, err); err != nil {
		a.counts.fail(command, suffix != "")
		return nil, r, err
	}
	if r.Echoed && !a.echoes {
		return nil, r, &Failure{SetUp, "the echo is on again: the adapter was reset", nil}
	}
	if r.has(NotUnderstood) || !r.has(Data) {
		a.counts.fail(command, suffix != "")
		return nil, r, &Failure{AskAgain, "the adapter answered " + r.words(), nil}
	}
	lines, _ := r.data()
	msgs, err := a.Car.Format.Messages(lines)
	switch {
	case err != nil:
		a.counts.fail(command, suffix != "")
		err = &Failure{AskAgain, "the reply cannot be used", err}
	case suffix == "":
		a.counts.learn(command, len(lines))
	default:
		a.counts.hit(command)
	}
	return msgs, r, err
}

// pending tells whether a message only says that the reply will follow.
func pending(m obd.Message) bool {
	_, err := obd.Values(m.Data, nil)
	var n obd.NegativeReply
	return errors.As(err, &n) && n.Pending()
}
