// Package adapter holds the dialogue with a serial diagnostic adapter that takes AT commands: finding its baud rate,
// setting it up, searching the car's protocol, asking for values. Every answer that such an adapter is known to give leads
// to a defined step.
package adapter

import (
	"errors"
	"io"
	"os"
	"time"
)

// Port is the serial line to the adapter. Read returns as soon as at least one byte is there. When nothing came until the
// read deadline it returns 0 and ErrTimeout; when the line is gone, Read and Write return an error that is ErrHangup.
type Port interface {
	io.ReadWriteCloser
	SetReadDeadline(t time.Time) error
}

// Opener opens the line at a baud rate. The line that was opened before is closed by then.
type Opener func(baud int) (Port, error)

// ErrTimeout is a read deadline that passed.
var ErrTimeout = os.ErrDeadlineExceeded

// ErrHangup is a line that is gone: the adapter was unplugged, or its driver gave up.
var ErrHangup = errors.New("the adapter is gone")
