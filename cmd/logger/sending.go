package main

import (
	"context"
	"errors"
	"fmt"
	"sync/atomic"
	"time"

	"flywitness/capture/clock"
	"flywitness/capture/influx"
	"flywitness/cmd/internal/cli"
	"flywitness/cmd/internal/database"
)

// sending is a recording that is sent while it goes on; nil sends nothing.
type sending struct {
	sender influx.Sender
	ended  chan struct{}
	done   chan struct{}
	state  chan influx.State // the latest
	rows   atomic.Int64
	stop   context.CancelFunc
	report influx.Report
	err    error
}

// startSending begins to send the file of a recording. It has a goroutine and a reader of its own, so that no request
// to the car waits for it.
func startSending(ctx context.Context, db *database.Flags, as, path string, grace time.Duration,
	say func(string)) (*sending, error) {
	if !db.Given() {
		return nil, nil
	}
	server, err := db.Server()
	if err != nil {
		return nil, err
	}
	ctx, stop := context.WithCancel(ctx)
	s := &sending{stop: stop, ended: make(chan struct{}), done: make(chan struct{}), state: make(chan influx.State, 1)}
	s.sender = influx.Sender{Server: server, Clock: clock.System{}, As: as, Grace: grace, Tell: s.tell}
	go func() {
		defer close(s.done)
		s.report, s.err = s.sender.Follow(ctx, path, s.ended)
		if s.err != nil && !errors.Is(s.err, influx.ErrLeft) {
			say("not sent: " + s.err.Error())
		}
	}()
	return s, nil
}

// tell keeps the latest state for the status line.
func (s *sending) tell(st influx.State) {
	s.rows.Store(int64(st.Rows))
	for {
		select {
		case s.state <- st:
			return
		default:
			select {
			case <-s.state:
			default:
			}
		}
	}
}

// line is what the status line adds: what is in the way, or how much is there.
func (s *sending) line() string {
	if s == nil {
		return ""
	}
	select {
	case st := <-s.state:
		s.tell(st)
		if st.Waiting != "" {
			return "; not sent: " + cli.OneLine(st.Waiting)
		}
		return fmt.Sprintf("; %d rows sent", st.Rows)
	default:
		return ""
	}
}

// await waits for the sender, and ends it when it got no further for twice the grace: the server takes a connection
// and never answers.
func (s *sending) await() {
	tick := time.NewTicker(2 * s.sender.Grace)
	defer tick.Stop()
	for last := int64(-1); ; last = s.rows.Load() {
		select {
		case <-s.done:
			return
		case <-tick.C:
			if s.rows.Load() == last {
				s.stop()
				<-s.done
				return
			}
		}
	}
}

// finish waits until the rest is sent, sends the files in which the recording went on, and tells what came of it.
func (s *sending) finish(ctx context.Context, more []string, say func(string)) error {
	if s == nil {
		return nil
	}
	close(s.ended)
	s.await()
	defer s.stop()
	defer s.sender.Server.Close()
	reports, err := []influx.Report{s.report}, s.err
	for _, path := range more {
		if err != nil {
			break
		}
		var r influx.Report
		ended := make(chan struct{})
		close(ended)
		r, err = s.sender.Follow(ctx, path, ended)
		reports = append(reports, r)
	}
	switch {
	case errors.Is(err, influx.ErrLeft):
		why := ""
		if f := new(influx.Fault); errors.As(err, &f) {
			why = " (" + f.Text + ")"
		}
		say("not everything was sent" + why + "; nothing is lost: send the rest with fw-logger push")
		return nil
	case err != nil:
		return &cli.InputError{Err: err, Hint: "the recording is complete on this machine; send it with fw-logger push"}
	}
	for _, r := range reports {
		if r.Refused > 0 {
			return &cli.InputError{Err: fmt.Errorf("the database refused %d rows of %s", r.Refused, r.Path),
				Hint: "see " + r.RejectedFile}
		}
		say("sent as " + r.Name)
	}
	return nil
}
