package cli

import (
	"context"
	"fmt"
	"io"
	"sync"
	"time"
)

// Status is the one line at the foot of a terminal that is rewritten in place. Where the output is no terminal it shows
// nothing, so a file or a pipe gets the messages alone.
type Status struct {
	mu       sync.Mutex // a line is told from several goroutines
	w        io.Writer
	fd       int
	terminal bool
	shown    bool
}

// NewStatus returns the status line of w.
func NewStatus(w io.Writer) *Status {
	fd, ok := Terminal(w)
	return &Status{w: w, fd: fd, terminal: ok}
}

// Terminal tells whether anything is shown.
func (s *Status) Terminal() bool { return s.terminal }

// Show rewrites the line, cut at the edge of the terminal: a line that wraps cannot be rewritten.
func (s *Status) Show(text string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.terminal {
		return
	}
	fmt.Fprintf(s.w, "\r\x1b[K%.*s", terminalWidth(s.fd, mostStatus)-1, text)
	s.shown = true
}

// mostStatus is how much of a status anybody reads on a wide terminal.
const mostStatus = 160

// Say prints a line of its own above the status.
func (s *Status) Say(text string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.clear()
	fmt.Fprintln(s.w, text)
}

// End takes the line off the terminal.
func (s *Status) End() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.clear()
}

func (s *Status) clear() {
	if s.shown {
		fmt.Fprint(s.w, "\r\x1b[K")
		s.shown = false
	}
}

// Work of less than a second needs no word; after it the seconds are told.
const (
	silentFor = time.Second
	toldEvery = 500 * time.Millisecond
)

// during shows what is done, and for how long already, until done is called. text is asked each time.
func (s *Status) during(text func() string) (done func()) {
	if !s.terminal {
		return func() {}
	}
	end, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		began := time.Now()
		wait := time.NewTimer(silentFor)
		defer wait.Stop()
		for {
			select {
			case <-end:
				s.End()
				return
			case <-wait.C:
				s.Show(fmt.Sprintf("%s, %.0f s", text(), time.Since(began).Seconds()))
				wait.Reset(toldEvery)
			}
		}
	}()
	return sync.OnceFunc(func() { close(end); <-ended })
}

// statusKey finds the status line of a program in its context.
type statusKey struct{}

// Working tells on the terminal of a running command what takes long, until done is called.
func Working(ctx context.Context, text func() string) (done func()) {
	if s, ok := ctx.Value(statusKey{}).(*Status); ok {
		return s.during(text)
	}
	return func() {}
}
