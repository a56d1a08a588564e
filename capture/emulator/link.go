package emulator

import (
	"fmt"
	"math/rand/v2"
	"time"
)

// Span is a range of times from which one is drawn.
type Span struct{ Min, Max time.Duration }

func (s Span) draw(rng *rand.Rand) time.Duration {
	if s.Max <= s.Min {
		return s.Min
	}
	return s.Min + time.Duration(rng.Int64N(int64(s.Max-s.Min)))
}

// Sampling is when, between request and reply, the control unit takes the value.
type Sampling uint8

// The ways of taking a value. Control units differ and nothing on the link tells; Anywhere is the least that can be said.
const (
	Anywhere  Sampling = iota // any moment equally likely
	OnRequest                 // as the request arrives
	OnReply                   // as the reply begins
	FromTask                  // the last value of a 10 ms task before a moment anywhere
)

// Link is how an emulated adapter is connected to car and computer. The figures are of the order of cheap adapters (common
// practice, no source).
type Link struct {
	Name     string
	Protocol byte // number that the adapter gives to the protocol
	CAN      bool
	Several  bool // the car takes several parameters in one request
	Baud     int  // of the serial line

	Transport  Span // computer to adapter and back, one way: USB or radio
	Processing Span // adapter, before it sends a request
	Control    Span // control unit, from the request's end to the reply's beginning
	ByteGap    Span // K-line: between the bytes of a request
	ReplyGap   Span // K-line: between the bytes of a reply
	Pause      time.Duration
	NextFrame  Span          // CAN: from one frame of a long reply to the next
	Quiet      time.Duration // that the adapter waits for more when it was not told how many lines will come
	GivesUp    time.Duration // after which it says NO DATA
	Search     Span          // that finding the protocol takes
	Init       Span          // that starting the bus takes when the protocol is set

	Sampling Sampling
}

// Links returns the three kinds of link.
func Links() []Link {
	const ms = time.Millisecond
	return []Link{
		{
			Name: "kline", Protocol: '5', Baud: 38400,
			Transport: Span{ms / 2, 3 * ms}, Processing: Span{ms / 2, 2 * ms}, Control: Span{25 * ms, 48 * ms},
			ByteGap: Span{5 * ms, 6 * ms}, ReplyGap: Span{0, ms / 2}, Pause: 55 * ms,
			Quiet: 60 * ms, GivesUp: 200 * ms, Search: Span{3 * time.Second, 6 * time.Second}, Init: Span{300 * ms, 1200 * ms},
		},
		{
			Name: "can", Protocol: '6', CAN: true, Baud: 38400,
			Transport: Span{3 * ms, 12 * ms}, Processing: Span{ms / 2, 2 * ms}, Control: Span{8 * ms, 30 * ms}, NextFrame: Span{ms / 4, 3 * ms},
			Quiet: 32 * ms, GivesUp: 200 * ms, Search: Span{time.Second, 3 * time.Second}, Init: Span{20 * ms, 200 * ms},
		},
		{
			Name: "canmulti", Protocol: '6', CAN: true, Several: true, Baud: 115200,
			Transport: Span{ms / 2, 2 * ms}, Processing: Span{ms / 5, ms}, Control: Span{5 * ms, 25 * ms}, NextFrame: Span{ms / 4, 2 * ms},
			Quiet: 32 * ms, GivesUp: 200 * ms, Search: Span{time.Second, 3 * time.Second}, Init: Span{20 * ms, 200 * ms},
		},
	}
}

// LinkByName returns the link of that name.
func LinkByName(name string) (Link, error) {
	var names []string
	for _, l := range Links() {
		if l.Name == name {
			return l, nil
		}
		names = append(names, l.Name)
	}
	return Link{}, fmt.Errorf("there is no link %q, the links are %v", name, names)
}

// byteTime is the time of one character on the serial line.
func (l Link) byteTime() time.Duration { return 10 * time.Second / time.Duration(l.Baud) }

// Times on the bus. CAN at 500 kbit/s: 108 to 132 bits a frame of 8 bytes with stuffing. K-line at 10.4 kbit/s, 10 bits a byte.
const (
	canFrame = 230 * time.Microsecond
	kByte    = 962 * time.Microsecond
	kExtra   = 4 // header and check bytes
)

// onBus returns how long a message of n bytes is on the bus, with the gaps between its bytes drawn.
func (l Link) onBus(n int, gap Span, rng *rand.Rand) time.Duration {
	if l.CAN {
		return canFrame
	}
	d := time.Duration(n+kExtra) * kByte
	for i := 1; i < n+kExtra; i++ {
		d += gap.draw(rng)
	}
	return d
}
