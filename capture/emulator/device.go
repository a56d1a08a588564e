package emulator

import (
	"math/rand/v2"
	"strconv"
	"strings"
	"time"

	"flywitness/capture/obd"
)

// Sample is the truth behind one reply.
type Sample struct {
	PIDs    []obd.PID
	Sampled time.Duration // when the control unit took the values
	Ended   time.Duration // when the adapter had printed its prompt: the earliest moment for the next request
	Began   time.Duration // when the request was complete at the adapter
}

// Quirks are habits of cheap copies of an adapter.
type Quirks struct {
	Ignores map[string]string // commands and what they are answered with instead
	NoCount bool              // the number of lines behind a request is not understood
	Stray   float64           // chance of a NUL before a line
}

// Device is an emulated adapter with its car. It has no clock: every byte comes with its time since the start, and every
// byte that it sends has the time at which it reaches the computer.
type Device struct {
	Link   Link
	Quirks Quirks
	Faults Faults
	// Gearbox makes a second control unit answer requests to all.
	Gearbox bool
	// OnSample is told of every reply; may be nil.
	OnSample func(Sample)

	car Car
	rng *rand.Rand

	in       []byte
	out      []outByte
	lastOut  time.Duration
	busyTill time.Duration // a byte that comes before stops the request
	busFree  time.Duration // K-line: end of the last reply
	state    settings
	lastText string // a bare carriage return repeats it
}

// outByte is a byte and when it reaches the computer.
type outByte struct {
	at time.Duration
	b  byte
}

// settings are what the AT commands set; a reset brings them back to powerOn.
type settings struct {
	echo, lineFeeds, blanks, headers bool
	fixed                            byte // number of the protocol that was set, 0 or '0' for a search
	found                            bool // the bus is started
	filter                           bool // only the engine's control unit is heard
}

var powerOn = settings{echo: true, blanks: true}

// banner is what the emulated adapter calls itself.
const banner = "FLYWITNESS EMULATED ADAPTER v1"

// New returns an adapter that was just plugged in.
func New(car Car, link Link, rng *rand.Rand) *Device {
	return &Device{Link: link, car: car, rng: rng, state: powerOn}
}

// receive takes a byte from the computer that arrives at a time; times never fall.
func (d *Device) receive(at time.Duration, b byte) {
	if d.Faults.active(Mute, at) {
		return
	}
	d.resets(at)
	if at < d.busyTill {
		d.stop(at)
		return
	}
	switch {
	case b == '\r':
		text := strings.ToUpper(strings.Join(strings.Fields(string(d.in)), ""))
		typed := string(d.in)
		d.in = d.in[:0]
		if d.state.echo {
			d.print(at, typed+d.eol())
		}
		if text == "" {
			text = d.lastText
		}
		d.lastText = text
		d.execute(at, text)
	case b == '\n' || b == 0:
	case len(d.in) < 128:
		d.in = append(d.in, b)
	}
}

// stop ends the request that is running, as any byte does.
func (d *Device) stop(at time.Duration) {
	for i, o := range d.out {
		if o.at > at {
			d.out = d.out[:i]
			break
		}
	}
	d.lastOut, d.busyTill, d.busFree = at, at, min(d.busFree, at)
	d.print(at, d.eol()+"STOPPED"+d.eol())
	d.prompt(at)
}

// resets forgets the settings when a reset of the faults lies behind.
func (d *Device) resets(at time.Duration) {
	if d.Faults.pendingReset(at) {
		d.powerUp(at)
		d.print(at, d.eol()+banner+d.eol())
		d.prompt(at)
	}
}

// powerUp is a reset, by command, by fault or by plugging in.
func (d *Device) powerUp(at time.Duration) {
	d.state, d.in, d.out, d.lastText = powerOn, nil, nil, ""
	d.lastOut, d.busyTill, d.busFree = at, at, min(d.busFree, at)
}

// execute runs a command line.
func (d *Device) execute(at time.Duration, text string) {
	if other, ok := d.Quirks.Ignores[text]; ok {
		d.say(at, other)
		return
	}
	if command, ok := strings.CutPrefix(text, "AT"); ok {
		d.at(at, command)
		return
	}
	d.request(at, text)
}

// at runs an AT command.
func (d *Device) at(at time.Duration, command string) {
	const soon = 2 * time.Millisecond
	s := &d.state
	switch command {
	case "Z", "WS":
		d.powerUp(at)
		d.say(at+700*time.Millisecond, banner)
		return
	case "D":
		*s = powerOn
	case "E0", "E1":
		s.echo = command == "E1"
	case "L0", "L1":
		s.lineFeeds = command == "L1"
	case "S0", "S1":
		s.blanks = command == "S1"
	case "H0", "H1":
		s.headers = command == "H1"
	case "I":
		d.say(at+soon, banner)
		return
	case "RV":
		d.say(at+soon, "14.1V")
		return
	case "DPN":
		d.say(at+soon, "A"+string(d.Link.Protocol))
		return
	case "AT0", "AT1", "AT2", "AL", "NL", "CAF1":
	case "SP0", "SP1", "SP2", "SP3", "SP4", "SP5", "SP6", "SP7", "SP8", "SP9":
		s.fixed, s.found = command[2], false
	case "SH7E0", "CRA7E8":
		s.filter = true
	case "AR", "SH7DF", "CRA":
		s.filter = false
	default:
		d.say(at+soon, "?")
		return
	}
	d.say(at+soon, "OK")
}

// request runs a request to the car: bytes, and a digit more when the number of lines to wait for is given.
func (d *Device) request(at time.Duration, text string) {
	count := 0
	if len(text)%2 == 1 && len(text) > 1 {
		n, err := strconv.ParseUint(text[len(text)-1:], 16, 8)
		if err != nil || d.Quirks.NoCount {
			d.say(at, "?")
			return
		}
		count, text = int(n), text[:len(text)-1]
	}
	bytes, ok := parseBytes(text)
	if !ok {
		d.say(at, "?")
		return
	}
	start := at + d.Link.Processing.draw(d.rng)
	if d.Faults.active(Unpowered, at) {
		if d.state.found { // it notices at the next search
			d.state.found = false
			d.say(start+d.Link.GivesUp, "NO DATA")
			return
		}
		d.unreachable(start)
		return
	}
	if fixed := d.state.fixed; fixed > '0' && fixed != d.Link.Protocol {
		d.unreachable(start)
		return
	}
	if !d.state.found {
		start = d.search(start)
	}
	d.exchange(at, start, bytes, count)
}

func parseBytes(text string) ([]byte, bool) {
	if len(text) < 2 || len(text)%2 != 0 {
		return nil, false
	}
	var out []byte
	for i := 0; i < len(text); i += 2 {
		x, err := strconv.ParseUint(text[i:i+2], 16, 8)
		if err != nil {
			return nil, false
		}
		out = append(out, byte(x))
	}
	return out, true
}

// search prints the progress of finding the protocol and returns when it ends.
func (d *Device) search(at time.Duration) time.Duration {
	took := d.Link.Search.draw(d.rng)
	if d.state.fixed > '0' {
		took = d.Link.Init.draw(d.rng)
	}
	if d.Link.CAN && d.state.fixed > '0' {
		d.state.found = true
		return at + took
	}
	if d.Link.CAN {
		d.print(at, "SEARCHING...")
		d.print(at+took, d.eol())
	} else {
		d.print(at, "BUS INIT: ")
		d.print(at+took, "...OK"+d.eol())
	}
	d.state.found = true
	return at + took
}

func (d *Device) unreachable(at time.Duration) {
	end := at + d.Link.Search.Max
	if d.state.fixed > '0' {
		end = at + d.Link.Init.Max
	}
	if d.Link.CAN {
		d.print(at, "SEARCHING...")
		d.print(end, d.eol()+"UNABLE TO CONNECT"+d.eol())
	} else {
		d.print(at, "BUS INIT: ")
		d.print(end, "...ERROR"+d.eol())
	}
	d.prompt(end)
}

// say prints one line and the prompt.
func (d *Device) say(at time.Duration, text string) {
	if text != "" {
		d.print(at, text+d.eol()+d.eol())
	}
	d.prompt(at)
}

func (d *Device) eol() string {
	if d.state.lineFeeds {
		return "\r\n"
	}
	return "\r"
}

func (d *Device) prompt(at time.Duration) {
	d.print(at, ">")
	d.busyTill = max(d.busyTill, d.lastOut)
}

// print sends text from a time on, byte after byte on the serial line, and lets the transport carry it.
func (d *Device) print(at time.Duration, text string) {
	if d.Faults.active(Unplugged, at) {
		return
	}
	t := at + d.Link.Transport.draw(d.rng)
	for i := 0; i < len(text); i++ {
		t = max(t, d.lastOut) + d.Link.byteTime()
		d.lastOut = t
		b := text[i]
		if d.Faults.active(Garbage, t) && d.rng.Float64() < 0.1 {
			b = byte(d.rng.Uint32())
		}
		d.out = append(d.out, outByte{t, b})
	}
}

// next returns when the next byte reaches the computer.
func (d *Device) next() (at time.Duration, ok bool) {
	if len(d.out) == 0 {
		return 0, false
	}
	return d.out[0].at, true
}

// take returns the bytes that have reached the computer by now, at most n.
func (d *Device) take(now time.Duration, n int) []byte {
	var b []byte
	for len(d.out) > 0 && d.out[0].at <= now && len(b) < n {
		b = append(b, d.out[0].b)
		d.out = d.out[1:]
	}
	return b
}
