//go:build linux || darwin

package emulator

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"time"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"
	"golang.org/x/term"
)

// Serve runs the device in real time behind a pseudo-terminal, to which path becomes a link, until ctx ends. ready is told
// once the link stands. While the device is unplugged by a fault there is no link.
func Serve(ctx context.Context, d *Device, path string, noise *rand.Rand, ready func()) error {
	if err := clearLink(path); err != nil {
		return err
	}
	s := server{device: d, path: path, noise: noise, start: time.Now()}
	defer s.unplug()
	for ctx.Err() == nil {
		if s.device.Faults.active(Unplugged, s.now()) {
			s.unplug()
			s.pause(ctx, 20*time.Millisecond)
			continue
		}
		if s.master == nil {
			if err := s.plug(); err != nil {
				return err
			}
			if ready != nil {
				ready()
				ready = nil
			}
		}
		s.step(ctx)
	}
	return nil
}

// clearLink removes a link that an earlier emulator left behind; anything else of that name is somebody's.
func clearLink(path string) error {
	info, err := os.Lstat(path)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return nil
	case err != nil:
		return err
	case info.Mode()&os.ModeSymlink == 0:
		return fmt.Errorf("%s exists and is no link: give another --path", path)
	}
	if _, err := os.Stat(path); err == nil {
		return fmt.Errorf("%s is in use, by another emulator it seems: give another --path", path)
	}
	return os.Remove(path)
}

// server is a device on a pseudo-terminal.
type server struct {
	device *Device
	path   string
	noise  *rand.Rand
	start  time.Time

	lastIn        time.Duration // when the last byte from the computer reached the adapter
	master, slave *os.File
	bytes         chan []byte
}

func (s *server) now() time.Duration { return time.Since(s.start) }

func (s *server) plug() error {
	blocking, slave, err := pty.Open()
	if err != nil {
		return fmt.Errorf("cannot open a pseudo-terminal: %w", err)
	}
	master, err := pollable(blocking)
	if err != nil {
		return errors.Join(err, slave.Close())
	}
	if _, err := term.MakeRaw(int(slave.Fd())); err != nil { // no echo before the other side has set the line up
		return errors.Join(err, master.Close(), slave.Close())
	}
	if err := os.Symlink(slave.Name(), s.path); err != nil {
		return errors.Join(err, master.Close(), slave.Close())
	}
	s.device.powerUp(s.now())
	s.master, s.slave, s.bytes = master, slave, make(chan []byte, 16)
	go pump(master, s.bytes)
	return nil
}

// pollable returns the file in the form that Close and deadlines can interrupt, and closes the one given.
func pollable(f *os.File) (*os.File, error) {
	defer f.Close()
	fd, err := unix.Dup(int(f.Fd()))
	if err != nil {
		return nil, err
	}
	unix.CloseOnExec(fd)
	if err := unix.SetNonblock(fd, true); err != nil {
		return nil, errors.Join(err, unix.Close(fd))
	}
	return os.NewFile(uintptr(fd), f.Name()), nil
}

// pump reads until the pseudo-terminal is closed.
func pump(f *os.File, to chan<- []byte) {
	defer close(to)
	for {
		b := make([]byte, 256)
		n, err := f.Read(b)
		if n > 0 {
			to <- b[:n]
		}
		if err != nil {
			return
		}
	}
}

func (s *server) unplug() {
	if s.master == nil {
		return
	}
	os.Remove(s.path)
	s.slave.Close()
	s.master.Close()
	for range s.bytes { // let the reader go
	}
	s.master = nil
}

func (s *server) pause(ctx context.Context, d time.Duration) {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
	case <-t.C:
	}
}

// step waits for bytes from the computer or for the time of bytes to it, at most a tick in which faults may begin.
func (s *server) step(ctx context.Context) {
	wait := 20 * time.Millisecond
	if at, ok := s.device.next(); ok {
		wait = min(wait, at-s.now())
	}
	t := time.NewTimer(wait)
	defer t.Stop()
	select {
	case <-ctx.Done():
	case b, ok := <-s.bytes:
		if ok {
			s.receive(b)
		}
	case <-t.C:
	}
	s.device.resets(s.now())
	s.send()
}

// receive lets bytes reach the adapter after the transport's time and their own on the line.
func (s *server) receive(b []byte) {
	at := max(s.now()+s.device.Link.Transport.draw(s.device.rng), s.lastIn)
	wrong := s.mismatch(at)
	for _, x := range b {
		at += s.device.Link.byteTime()
		if wrong {
			x = byte(s.noise.Uint32()) | 0x80
		}
		s.device.receive(at, x)
	}
	s.lastIn = at
}

func (s *server) send() {
	now := s.now()
	out := s.device.take(now, 512)
	if len(out) == 0 {
		return
	}
	if s.mismatch(now) {
		for i := range out {
			out[i] = byte(s.noise.Uint32()) | 0x80
		}
	}
	_ = s.master.SetWriteDeadline(time.Now().Add(50 * time.Millisecond)) // nobody may be reading
	_, _ = s.master.Write(out)
}

// mismatch tells whether the two ends of the line have different baud rates.
func (s *server) mismatch(at time.Duration) bool {
	baud := lineSpeed(s.slave)
	return (baud != 0 && baud != s.device.Link.Baud) != s.device.Faults.active(WrongBaud, at)
}
