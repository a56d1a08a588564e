package adapter

import (
	"errors"
	"fmt"
)

// Failure is a request or a connection that brought no value, and what to do next.
type Failure struct {
	Step Step
	What string // for a person
	Err  error  // the cause, may be nil
}

func (f *Failure) Error() string {
	if f.Err != nil {
		return fmt.Sprintf("%s: %v", f.What, f.Err)
	}
	return f.What
}

func (f *Failure) Unwrap() error { return f.Err }

// Errors that a person can do something about.
var (
	ErrNoAdapter  = errors.New("no diagnostic adapter answers")
	ErrNotAdapter = errors.New("what answers there is no diagnostic adapter")
	ErrNoCar      = errors.New("the adapter answers, the car does not")
	ErrNoData     = errors.New("no data from the car")
)

// StepOf returns what to do after an error of this package.
func StepOf(err error) Step {
	var f *Failure
	switch {
	case err == nil:
		return GoOn
	case errors.Is(err, ErrHangup):
		return ReOpenNow
	case errors.As(err, &f):
		return f.Step
	default:
		return ReOpenNow
	}
}

// after turns a failed dialogue or a reply that calls for a step into an error; nil when the reply is to be used.
func after(r Reply, err error) error {
	switch {
	case errors.Is(err, ErrTimeout):
		return &Failure{AskAgain, "the adapter did not come back to its prompt", ErrTimeout}
	case err != nil:
		return err
	}
	step := r.step()
	if step == GoOn {
		return nil
	}
	f := &Failure{Step: step, What: r.words()}
	if r.has(NoData) {
		f.Err = ErrNoData
	}
	return f
}
