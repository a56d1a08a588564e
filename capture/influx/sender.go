package influx

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"flywitness/capture/clock"
	"flywitness/drive"
)

// State is how a sender stands.
type State struct {
	Rows     int    // sent and held by the server
	Refused  int    // rows that the server will not take
	Waiting  string // why nothing goes, "" while it goes
	Complete bool   // all of the file is there
}

// Report is what sending a file came to.
type Report struct {
	Path, Name   string // the file, and the name of the drive in the database
	Rows         int    // sent this time
	Refused      int    // ever
	RejectedFile string // where the refused ones are, "" without any
}

// Sender sends session files. The zero value of everything but Server and Clock is usable.
type Sender struct {
	Server *Server
	Clock  clock.Clock
	As     string        // the vehicle's name; "": what the file says, else its VIN
	Afresh bool          // send everything again, wherever the cursor stands
	Tell   func(State)   // told of every change; must not wait
	Grace  time.Duration // Follow: how long a silent server is tried after the recording ended
}

// Send sends what the server does not hold yet of a finished file. While the server cannot be reached it tries again
// until ctx ends. An error is a file that cannot be sent, or a server that will not have it until somebody changes
// something.
func (s *Sender) Send(ctx context.Context, path string) (Report, error) {
	return s.run(ctx, path, nil)
}

// Follow sends a file while it is written, until ended is closed and everything is sent. What cannot be sent Grace
// after the end is left for Send.
func (s *Sender) Follow(ctx context.Context, path string, ended <-chan struct{}) (Report, error) {
	return s.run(ctx, path, ended)
}

// ErrLeft is a file of which rows are still to be sent.
var ErrLeft = errors.New("not everything is sent")

func (s *Sender) run(ctx context.Context, path string, ended <-chan struct{}) (Report, error) {
	f, err := os.Open(path)
	if err != nil {
		return Report{Path: path}, fmt.Errorf("cannot read the session file: %w", err)
	}
	defer f.Close()
	if st, err := f.Stat(); err == nil && st.IsDir() {
		return Report{Path: path}, fmt.Errorf("%s is a folder: name the session files in it", path)
	}
	start := make([]byte, 4096)
	n, err := f.ReadAt(start, 0)
	if err != nil && err != io.EOF {
		return Report{Path: path}, fmt.Errorf("%s: %w", path, err)
	}
	if !drive.IsSession(start[:n]) {
		return Report{Path: path}, fmt.Errorf("%s is no session file: make one of it with fw-logger import", path)
	}
	d := &delivery{Sender: s, ctx: ctx, path: path, file: f, sum: sha256.New(), pause: firstPause,
		report: Report{Path: path}}
	if ended != nil {
		d.live, d.ended = true, ended
	}
	l, err := drive.ScanSession(d, path, d.head, d.row)
	if err == nil {
		err = d.finish(l)
	}
	return d.report, err
}
