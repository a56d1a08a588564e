package adapter

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"sync"
	"time"

	"github.com/tarm/serial"
)

// tarm/serial reports a time-out and a hang-up alike, as io.EOF with no bytes; its time-out has steps of 100 ms. A time-out
// takes its time and a hang-up does not, so EOFs that come at once, several in a row, are a hang-up.
const (
	serialTick  = 100 * time.Millisecond
	atOnce      = serialTick / 4
	hangupAfter = 5
)

// OpenSerial opens a serial port for one user at a time. The error says what to do.
func OpenSerial(name string, baud int) (Port, error) {
	unlock, err := lockPort(name)
	if err != nil {
		return nil, portError(name, err)
	}
	port, err := serial.OpenPort(&serial.Config{Name: name, Baud: baud, ReadTimeout: serialTick})
	if err != nil {
		unlock()
		return nil, portError(name, err)
	}
	return newSerialPort(port, unlock), nil
}

// errBusy is a port that another program has open.
var errBusy = errors.New("busy")

// portError says what to do about a port that does not open.
func portError(name string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("there is no port %s: plug the adapter in, and see `fw-logger ports` (%w)", name, fs.ErrNotExist)
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("no permission for %s: %s (%w)", name, permissionHint(name), fs.ErrPermission)
	case errors.Is(err, errBusy), isBusy(err):
		return fmt.Errorf("%s is in use by another program: close that one first (%w)", name, errBusy)
	case isNoTerminal(err):
		return fmt.Errorf("%s is no serial port: see `fw-logger ports`", name)
	default:
		return fmt.Errorf("cannot open %s: %v", name, err)
	}
}

// serialPort is a Port on tarm/serial. A goroutine reads, so that a deadline is kept to the millisecond and bytes get the time at which
// they came.
type serialPort struct {
	rwc    io.ReadWriteCloser
	unlock func()
	chunks chan []byte
	gone   chan struct{} // closed when the line hung up
	closed chan struct{}
	once   sync.Once

	deadline time.Time
	rest     []byte // of the last chunk
}

func newSerialPort(rwc io.ReadWriteCloser, unlock func()) *serialPort {
	p := &serialPort{rwc: rwc, unlock: unlock, chunks: make(chan []byte, 64), gone: make(chan struct{}), closed: make(chan struct{})}
	go p.pump()
	return p
}

// pump reads until the line is closed or gone.
func (p *serialPort) pump() {
	defer close(p.gone)
	for quick := 0; quick < hangupAfter; {
		buf := make([]byte, 512)
		start := time.Now()
		n, err := p.rwc.Read(buf)
		if n > 0 {
			quick = 0
			select {
			case p.chunks <- buf[:n]:
			case <-p.closed:
				return
			}
			continue
		}
		select {
		case <-p.closed:
			return
		default:
		}
		switch {
		case err != nil && !errors.Is(err, io.EOF):
			return
		case time.Since(start) < atOnce:
			quick++
		default:
			quick = 0
		}
	}
}

func (p *serialPort) SetReadDeadline(t time.Time) error {
	p.deadline = t
	return nil
}

func (p *serialPort) Read(b []byte) (int, error) {
	if len(p.rest) > 0 {
		return p.take(b, p.rest), nil
	}
	timer := time.NewTimer(time.Until(p.deadline))
	defer timer.Stop()
	select {
	case c := <-p.chunks:
		return p.take(b, c), nil
	case <-timer.C:
		return 0, ErrTimeout
	case <-p.closed:
		return 0, ErrHangup
	case <-p.gone:
	}
	select {
	case c := <-p.chunks: // what came before the line went
		return p.take(b, c), nil
	default:
		return 0, ErrHangup
	}
}

func (p *serialPort) take(b, from []byte) int {
	n := copy(b, from)
	p.rest = from[n:]
	return n
}

func (p *serialPort) Write(b []byte) (int, error) {
	select {
	case <-p.gone:
		return 0, ErrHangup
	default:
	}
	n, err := p.rwc.Write(b)
	if err != nil {
		return n, asHangup(err)
	}
	return n, nil
}

// Close closes the line; the reading goroutine ends within one tick.
func (p *serialPort) Close() error {
	var err error
	p.once.Do(func() {
		close(p.closed)
		err = p.rwc.Close()
		<-p.gone
		p.unlock()
	})
	return err
}
