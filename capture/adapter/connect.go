package adapter

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"flywitness/capture/clock"
)

// Options of an adapter.
type Options struct {
	Baud     int               // 0: tried out
	Network  bool              // the line has no baud rate
	Progress func(line string) // told what goes on while connecting; may be nil
}

// baudRates are tried in this order when none is given.
var baudRates = []int{38400, 115200, 9600, 230400, 57600, 500000, 19200}

const (
	probeTime   = 500 * time.Millisecond
	commandTime = time.Second
	resetTime   = 4 * time.Second
)

// Adapter is a diagnostic adapter on a serial line. Its methods are called from one goroutine.
type Adapter struct {
	Identity string   // what it calls itself
	Ignored  []string // settings that it did not take
	Baud     int      // in use
	Car      Car      // as FindCar learnt it

	open    Opener
	clock   clock.Clock
	options Options
	d       *dialogue
	echoes  bool        // it did not take the setting that turns echo off
	failed  bool        // the rate that worked before did not, when last tried alone
	astray  bool        // the last reply never ended: what comes next may belong to it
	counts  countMemory // reply counts by request

	lastReply time.Time // when the last line of the last reply came in
}

// New returns an adapter that is not connected yet.
func New(open Opener, c clock.Clock, o Options) *Adapter {
	return &Adapter{open: open, clock: c, options: o, counts: newCountMemory()}
}

// Connect opens the line, finding the baud rate where none is known, and sets the adapter up. An adapter that was connected
// before is opened again at the rate that worked.
func (a *Adapter) Connect(ctx context.Context) error {
	a.Close()
	rates := a.rates()
	var heard string // what the last unknown device said
	for _, baud := range rates {
		port, err := a.open(baud)
		if err != nil {
			return err
		}
		a.astray = false
		a.d = &dialogue{port: port, clock: a.clock, byteTime: byteTime(baud), progress: a.options.Progress}
		ok, said, err := a.probe(ctx)
		if err != nil {
			a.Close()
			return err
		}
		if ok {
			a.Baud, a.failed = baud, false
			return a.SetUp(ctx)
		}
		if said != "" {
			heard = said
		}
		a.Close()
	}
	a.failed = !a.failed
	return noAdapter(rates, heard)
}

// byteTime is the time of a byte on a serial line: ten bits; 0 where there is no rate.
func byteTime(baud int) time.Duration {
	if baud == 0 {
		return 0
	}
	return 10 * time.Second / time.Duration(baud)
}

// rates returns the baud rates to try: the given one alone, else the one that worked before; all of them when it failed last
// time.
func (a *Adapter) rates() []int {
	switch {
	case a.options.Network:
		return []int{0}
	case a.options.Baud != 0:
		return []int{a.options.Baud}
	case a.Baud == 0:
		return baudRates
	case !a.failed:
		return []int{a.Baud}
	}
	rates := []int{a.Baud}
	for _, r := range baudRates {
		if r != a.Baud {
			rates = append(rates, r)
		}
	}
	return rates
}

// noAdapter says what was tried and what was heard.
func noAdapter(rates []int, heard string) error {
	tried := strings.Trim(fmt.Sprint(rates), "[]") + " baud"
	if len(rates) == 1 && rates[0] == 0 {
		tried = "the network address"
	}
	switch {
	case strings.Contains(heard, "$G"):
		return &Failure{ReOpenNow, "it sends NMEA sentences: this is a GPS receiver, give it with --gps", ErrNotAdapter}
	case heard != "":
		return &Failure{ReOpenNow, fmt.Sprintf("it said %.40q at %s; check that this is the right port, or give --baud", heard, tried), ErrNotAdapter}
	default:
		return &Failure{ReOpenNow, fmt.Sprintf("tried %s; check the plug and the power of the adapter, or give another --port or --baud", tried), ErrNoAdapter}
	}
}

// Close closes the line. A closed adapter can be connected again.
func (a *Adapter) Close() {
	if a.d != nil {
		a.d.port.Close()
		a.d = nil
	}
}

// probe asks for the identity twice: the first answer may be spoilt by bytes of another baud rate. A request of an earlier
// recording may still run: a blank, which means nothing otherwise, stops it, and what still comes is let go by. said is what came
// when it was no adapter's answer.
func (a *Adapter) probe(ctx context.Context) (ok bool, said string, err error) {
	if _, err := a.d.port.Write([]byte(" ")); err != nil {
		return false, "", asHangup(err)
	}
	for try := 0; try < 2; try++ {
		before, err := a.drain(ctx)
		if said += before; err != nil {
			return false, said, err
		}
		r, err := a.d.ask(ctx, "ATI", probeTime)
		switch {
		case errors.Is(err, ErrTimeout), errors.Is(err, errBabble):
			said += heard(r)
			continue
		case err != nil:
			return false, said, err
		}
		if r.Stray == 0 && (r.has(Text) || r.has(OK)) && !r.has(Garbage) {
			a.Identity = r.firstText()
			return true, "", nil
		}
		said = r.words()
	}
	return false, strings.TrimSpace(said), nil
}

// heard returns what a reply without a prompt said.
func heard(r Reply) string {
	said := ""
	for _, l := range r.Lines {
		said += l.Text + " "
	}
	switch {
	case len(r.Lines) > 0 && strings.TrimSpace(said) == "":
		return r.words()
	case said == "" && r.Echoed:
		return "ATI"
	case said == "" && r.Stray > 0:
		return Garbage.String()
	}
	return said
}

// settings are sent after a reset, in this order: no echo, no line feeds, no blanks, headers on, long messages allowed,
// adaptive timing. The protocol follows.
var settings = []string{"ATE0", "ATL0", "ATS0", "ATH1", "ATAL", "ATAT1"}

// SetUp resets the adapter and sends its settings. A setting that it does not take is noted: replies are read with it or
// without it. Once the car is known its protocol is set, which saves the search, and a return to the defaults stands for the slower reset.
func (a *Adapter) SetUp(ctx context.Context) error {
	a.Ignored, a.counts, a.echoes = nil, newCountMemory(), true
	reset, protocol := "ATZ", "ATSP0"
	if a.Car.number != 0 {
		reset, protocol = "ATD", "ATSP"+string(a.Car.number)
	}
	r, err := a.ask(ctx, reset, resetTime)
	if err != nil && !errors.Is(err, ErrTimeout) { // some clones print no prompt after a reset
		return err
	}
	if s := r.firstText(); s != "" && a.Car.number == 0 {
		a.Identity = s
	}
	for _, command := range append(settings[:len(settings):len(settings)], protocol) {
		r, err := a.command(ctx, command)
		if err != nil {
			return err
		}
		if !r.has(OK) {
			a.Ignored = append(a.Ignored, command)
		}
		a.echoes = r.Echoed
	}
	return nil
}

// command sends an AT command. Without a prompt within commandTime it is sent once more, then the line is given up.
func (a *Adapter) command(ctx context.Context, command string) (Reply, error) {
	var r Reply
	var err error
	for try := 0; try < 2; try++ {
		r, err = a.ask(ctx, command, commandTime)
		if err == nil && !r.has(Stopped) && !r.has(Garbage) {
			return r, nil
		}
		if err != nil && !errors.Is(err, ErrTimeout) {
			return r, err
		}
	}
	if err != nil {
		return r, &Failure{ReOpenNow, "the adapter no longer answers " + command, err}
	}
	return r, nil
}

// ask sends a command, after bringing dialogue and adapter into step where the last reply never ended.
func (a *Adapter) ask(ctx context.Context, command string, timeout time.Duration) (Reply, error) {
	if a.d == nil {
		return Reply{}, ErrHangup
	}
	if a.astray {
		if err := a.resync(ctx); err != nil {
			return Reply{}, err
		}
	}
	r, err := a.d.ask(ctx, command, timeout)
	a.astray = err != nil || r.has(Stopped) || r.has(WasReset) || r.has(Garbage)
	return r, err
}

// quiet is how long nothing must come before the line counts as still; drainTime is when waiting for that ends.
const (
	quiet     = 80 * time.Millisecond
	drainTime = 2 * time.Second
)

// resync stops a request that may still be running with a blank, which means nothing otherwise, and lets everything go by that
// still comes: a late reply must not be taken for that of the next request.
func (a *Adapter) resync(ctx context.Context) error {
	a.astray = false
	if _, err := a.d.port.Write([]byte(" ")); err != nil {
		return asHangup(err)
	}
	var last error
	for try := 0; try < 3; try++ {
		if _, err := a.drain(ctx); err != nil {
			return err
		}
		r, err := a.d.ask(ctx, "ATE0", commandTime)
		switch {
		case err != nil && !errors.Is(err, ErrTimeout) && !errors.Is(err, errBabble):
			return err
		case err == nil && r.Echoed && !a.echoes:
			return &Failure{SetUp, "the echo is on again: the adapter was reset", nil}
		case err == nil && (r.has(OK) || r.has(NotUnderstood)) && len(r.Lines) == 1:
			return nil
		}
		last = err
	}
	return &Failure{ReOpenNow, "the adapter no longer answers", last}
}

// drain reads until the line is still, and returns what was said meanwhile.
func (a *Adapter) drain(ctx context.Context) (said string, err error) {
	for until := a.clock.Now().Add(drainTime); a.clock.Now().Before(until); {
		r := reader{}
		r.reply.Sent = a.clock.Now()
		err := a.d.read(ctx, &r, r.reply.Sent.Add(quiet))
		if errors.Is(err, ErrTimeout) && len(r.reply.Lines) == 0 && r.reply.Stray == 0 {
			return said, nil
		}
		if err != nil && !errors.Is(err, ErrTimeout) && !errors.Is(err, errBabble) {
			return said, err
		}
		if len(said) < 200 {
			said += heard(r.reply)
		}
	}
	return said, nil
}
