package gps

import (
	"context"
	"errors"
	"sync"
	"time"

	"flywitness/capture"
	"flywitness/capture/adapter"
	"flywitness/capture/clock"
	"flywitness/drive"
)

// Receiver reads a GPS receiver beside a recording. A value is stamped with the arrival of its sentence's first byte,
// on the recorder's clock; how long the receiver took before that, it does not tell, and the analysis learns the lag
// from the drive.
type Receiver struct {
	open  func() (adapter.Port, error)
	clock clock.Clock

	kind   string    // of the sentences in use: a receiver tells the same speed in several kinds
	kindAt time.Time // when the last of them came

	mu       sync.Mutex
	readings []capture.Reading
	seen     seen
}

// maxKept bounds the readings that wait to be taken.
const maxKept = 4096

// stale is how long after opening everything is let go by: what had been buffered before would be stamped as if it
// were new.
const stale = 300 * time.Millisecond

// New returns a receiver that is not running yet.
func New(open func() (adapter.Port, error), c clock.Clock) *Receiver {
	return &Receiver{open: open, clock: c, seen: newSeen(c.Now())}
}

// Take returns what was measured since it was last called.
func (r *Receiver) Take() []capture.Reading {
	r.mu.Lock()
	defer r.mu.Unlock()
	list := r.readings
	r.readings = nil
	return list
}

// Trouble says why no speed comes and what to do; "" while speeds come, and while it is too early to tell.
func (r *Receiver) Trouble() string {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.seen.trouble(r.clock.Now())
}

// note notes what came.
func (r *Receiver) note(f func(s *seen)) {
	r.mu.Lock()
	defer r.mu.Unlock()
	f(&r.seen)
}

// Run reads until ctx ends. A receiver that is lost is opened again every few seconds.
func (r *Receiver) Run(ctx context.Context) {
	for ctx.Err() == nil {
		port, err := r.open()
		if err == nil {
			r.note(func(s *seen) { s.opened(r.clock.Now()) })
			err = r.read(ctx, port)
			port.Close()
		}
		if ctx.Err() != nil {
			return
		}
		r.note(func(s *seen) { s.lost = err })
		if r.clock.Sleep(ctx, 3*time.Second) != nil {
			return
		}
	}
}

// read reads sentences until the line is gone.
func (r *Receiver) read(ctx context.Context, port adapter.Port) error {
	var line lineReader
	buf := make([]byte, 256)
	fresh := r.clock.Now().Add(stale)
	for ctx.Err() == nil {
		if err := port.SetReadDeadline(r.clock.Now().Add(500 * time.Millisecond)); err != nil {
			return err
		}
		n, err := port.Read(buf)
		now := r.clock.Now()
		if n > 0 {
			r.note(func(s *seen) { s.byteAt = now })
		}
		for _, b := range buf[:n] {
			if now.Before(fresh) {
				break
			}
			if sentence, at, ok := line.feed(b, now); ok {
				r.sentence(sentence, at)
			}
		}
		if err != nil && !errors.Is(err, adapter.ErrTimeout) {
			return err
		}
	}
	return ctx.Err()
}

func (r *Receiver) sentence(text string, at time.Time) {
	v, err := parseSpeed(text)
	r.note(func(s *seen) { s.sentence(at, v, err) })
	if err == nil && r.inUse(text[3:6], at) { // parseSpeed has seen to it that there is a kind
		r.keep(capture.Reading{At: at, Channel: drive.GPSSpeed, V: v})
	}
	if m, err := parseAltitude(text); err == nil {
		r.keep(capture.Reading{At: at, Channel: drive.Altitude, V: m})
	}
}

// inUse tells whether speeds are taken from sentences of a kind: the one that came first, until it stays away.
func (r *Receiver) inUse(kind string, at time.Time) bool {
	const patience = 3 * time.Second
	if r.kind != kind && at.Sub(r.kindAt) < patience {
		return false
	}
	r.kind, r.kindAt = kind, at
	return true
}

func (r *Receiver) keep(x capture.Reading) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if len(r.readings) < maxKept {
		r.readings = append(r.readings, x)
	}
}

// lineReader cuts bytes into sentences, at a line feed or, for receivers that send nothing else, at a carriage
// return; one longer than the standard's 82 characters, with room for the loose ones, is dropped.
type lineReader struct {
	line []byte
	at   time.Time
}

func (l *lineReader) feed(b byte, now time.Time) (sentence string, at time.Time, ok bool) {
	switch {
	case b == '\n' || b == '\r':
		sentence, at, ok = string(l.line), l.at, len(l.line) > 0
		l.line = l.line[:0]
		return sentence, at, ok
	case b == '$':
		l.line, l.at = append(l.line[:0], b), now
	case len(l.line) > 0 && len(l.line) < 200:
		l.line = append(l.line, b)
	}
	return "", time.Time{}, false
}
