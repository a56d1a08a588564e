package emulator

import (
	"context"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"time"

	"flywitness/capture/adapter"
)

// Bench is an emulated clock with an emulated line to a Device: waiting costs no time, and a test of a day's drive is exact and
// repeatable. It is a clock.Clock; everything on it runs in one goroutine.
type Bench struct {
	Device *Device
	Start  time.Time // what the clock showed at the start

	now time.Duration
	rng *rand.Rand
}

// NewBench returns a bench whose clock starts at start. The rng is for the noise of a wrong baud rate.
func NewBench(d *Device, start time.Time, rng *rand.Rand) *Bench {
	return &Bench{Device: d, Start: start, rng: rng}
}

// Now returns the emulated time.
func (b *Bench) Now() time.Time { return b.Start.Add(b.now) }

// Elapsed returns the emulated time since the start.
func (b *Bench) Elapsed() time.Duration { return b.now }

// Sleep moves the clock on.
func (b *Bench) Sleep(ctx context.Context, d time.Duration) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	b.now += max(d, 0)
	return ctx.Err()
}

// Open opens the line; it is an adapter.Opener.
func (b *Bench) Open(baud int) (adapter.Port, error) {
	if b.Device.Faults.active(Unplugged, b.now) {
		return nil, fmt.Errorf("there is no port: %w", fs.ErrNotExist)
	}
	return &benchPort{bench: b, baud: baud}, nil
}

// benchPort is the computer's end of the line.
type benchPort struct {
	bench    *Bench
	baud     int
	deadline time.Duration
	gone     bool
}

func (p *benchPort) SetReadDeadline(t time.Time) error {
	p.deadline = t.Sub(p.bench.Start)
	return nil
}

// lost tells whether the line is gone; a device that is plugged in again has forgotten its settings.
func (p *benchPort) lost() bool {
	if !p.gone && p.bench.Device.Faults.active(Unplugged, p.bench.now) {
		p.gone = true
		p.bench.Device.powerUp(p.bench.now)
	}
	return p.gone
}

func (p *benchPort) Write(text []byte) (int, error) {
	if p.lost() {
		return 0, adapter.ErrHangup
	}
	d := p.bench.Device
	at := p.bench.now + d.Link.Transport.draw(d.rng)
	for _, x := range text {
		at += 10 * time.Second / time.Duration(p.baud)
		if p.mismatch() {
			x = byte(p.bench.rng.Uint32()) | 0x80
		}
		d.receive(at, x)
	}
	return len(text), nil
}

func (p *benchPort) mismatch() bool {
	d := p.bench.Device
	return (p.baud != d.Link.Baud) != d.Faults.active(WrongBaud, p.bench.now)
}

func (p *benchPort) Read(buf []byte) (int, error) {
	if p.lost() {
		return 0, adapter.ErrHangup
	}
	b := p.bench
	b.Device.resets(b.now)
	at, ok := b.Device.next()
	if !ok || at > p.deadline {
		b.now = max(b.now, p.deadline)
		return 0, adapter.ErrTimeout
	}
	b.now = max(b.now, at)
	if p.lost() {
		return 0, adapter.ErrHangup
	}
	got := b.Device.take(b.now, len(buf))
	for i := range got {
		if p.mismatch() {
			got[i] = byte(b.rng.Uint32()) | 0x80
		}
	}
	return copy(buf, got), nil
}

func (p *benchPort) Close() error { return nil }
