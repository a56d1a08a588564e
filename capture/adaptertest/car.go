package adaptertest

import (
	"encoding/hex"
	"fmt"
	"strings"
	"time"
)

// Unit is a control unit. Its values count up, so that each recorded value tells which one it was.
type Unit struct {
	Address uint32
	Has     map[byte]int    // parameters and their bytes
	Masks   map[byte]uint32 // what it says it has, where that is not Has
	Silent  func(at time.Duration, pid byte) bool

	next map[byte]int
}

// newEngine returns the engine's unit: both speeds, and eight more in all four ranges of the support masks.
func newEngine(address uint32) *Unit {
	return &Unit{Address: address, next: map[byte]int{}, Has: map[byte]int{
		0x04: 1, 0x05: 1, 0x0B: 1, 0x0C: 2, 0x0D: 1, 0x0F: 1, 0x11: 1, 0x33: 1, 0x49: 1, 0x62: 1,
	}}
}

// NewGearbox returns a second unit, that gives road speed too: 99 km/h always.
func NewGearbox(address uint32) *Unit { return &Unit{Address: address, Has: map[byte]int{0x0D: 1}} }

// mask returns the support mask of a range: bit 31 is parameter from+1.
func (u *Unit) mask(from byte) uint32 {
	if m, ok := u.Masks[from]; ok {
		return m
	}
	var m uint32
	for pid := range u.Has {
		if pid > from && int(pid) <= int(from)+32 {
			m |= 1 << (31 - (pid - from - 1))
		}
		if int(pid) > int(from)+32 {
			m |= 1 // the next range has something
		}
	}
	return m
}

// counts are the first and last number of a parameter, within what a car can have.
func counts(pid byte) (first, last int) {
	switch pid {
	case 0x0C:
		return 3000, 47000
	case 0x33:
		return 60, 110
	case 0x05, 0x0F:
		return 1, 180
	}
	return 1, 240
}

// value returns the bytes of a parameter, nil when the unit does not answer. taken is told of a number that was given out.
func (u *Unit) value(at time.Duration, pid byte, taken func(Value)) []byte {
	if pid%0x20 == 0 {
		if m := u.mask(pid); m != 0 || pid == 0 {
			return []byte{byte(m >> 24), byte(m >> 16), byte(m >> 8), byte(m)}
		}
		return nil
	}
	size := u.Has[pid]
	if size == 0 || u.Silent != nil && u.Silent(at, pid) {
		return nil
	}
	if u.next == nil { // not the engine's
		return []byte{99, 99}[:size]
	}
	first, last := counts(pid)
	n := max(u.next[pid], first)
	u.next[pid] = n + 1
	if n == last {
		u.next[pid] = first
	}
	taken(Value{At: at, PID: pid, Raw: n})
	if size == 2 {
		return []byte{byte(n >> 8), byte(n)}
	}
	return []byte{byte(n)}
}

// request answers a request of service 01; the other services are not there.
func (d *Double) request(at time.Duration, x *Exchange) {
	b, err := hex.DecodeString(x.Command)
	if err != nil || len(b) == 0 || x.Count > 0 && d.NoCount == "?" {
		d.print(at, "?\r\r>")
		return
	}
	if !d.found {
		d.found = true
		d.print(at, "SEARCHING...")
		at += searchTime
		d.print(at, "\r")
	}
	if x.Count > 0 && d.NoCount != "" {
		d.print(at+givesUp, d.NoCount+"\r\r>")
		return
	}
	at += replyAfter
	var lines []string
	var sent []Value
	for _, u := range d.inOrder() {
		if !d.heard(u) {
			continue
		}
		var taken []Value
		data := u.reply(at, b, d.Several, func(v Value) { taken = append(taken, v) })
		if data == nil || x.Lost {
			continue
		}
		more := d.lines(u, data)
		if x.Count > 0 {
			more = more[:max(0, min(len(more), x.Count-len(lines)))]
		}
		if u.next != nil && len(more) > 0 {
			sent = taken
		}
		lines = append(lines, more...)
	}
	if len(lines) == 0 {
		d.print(at+givesUp, "NO DATA\r\r>")
		return
	}
	from := len(d.out)
	for _, l := range lines {
		d.print(at, l+"\r")
	}
	if x.Count == 0 || len(lines) < x.Count {
		at = max(at, d.end) + quietTime
	}
	d.print(at, "\r>")
	damaged := x.Spoil != nil && d.spoil(from, x.Spoil)
	for _, v := range sent {
		v.done, v.Damaged = d.end, damaged
		d.Sent = append(d.Sent, v)
	}
}

// spoil changes the bytes on the line from an index on; it tells whether any is another now.
func (d *Double) spoil(from int, change func([]byte)) (damaged bool) {
	b := make([]byte, len(d.out)-from)
	for i := range b {
		b[i] = d.out[from+i].b
	}
	before := string(b)
	change(b)
	for i := range b {
		d.out[from+i].b = b[i]
	}
	return string(b) != before
}

// reply returns the data of a unit's answer, nil when it does not answer.
func (u *Unit) reply(at time.Duration, request []byte, several bool, taken func(Value)) []byte {
	if request[0] != 1 || len(request) > 2 && !several {
		return nil
	}
	out := []byte{0x41}
	for _, pid := range request[1:] {
		if v := u.value(at, pid, taken); v != nil {
			out = append(append(out, pid), v...)
		}
	}
	if len(out) == 1 {
		return nil
	}
	return out
}

func (d *Double) inOrder() []*Unit {
	if !d.OtherFirst {
		return d.Units
	}
	var last []*Unit
	return append(append(last, d.Units[1:]...), d.Units[0])
}

// heard tells whether a unit gets the request and whether its reply passes the filter.
func (d *Double) heard(u *Unit) bool {
	var own string
	switch d.Protocol {
	case '6':
		own = fmt.Sprintf("%03X", u.Address-8)
	case '7':
		own = fmt.Sprintf("DA%02XF1", u.Address&0xFF)
	default:
		return true
	}
	to := d.set["SH"]
	if to != "" && to != own && to != "7DF" && to != "DB33F1" {
		return false
	}
	only := d.set["CRA"]
	return only == "" || only == fmt.Sprintf("%X", u.Address)
}

// lines prints a message as the settings want it.
func (d *Double) lines(u *Unit, data []byte) []string {
	var out []string
	headers := d.set["H"] == "1"
	switch {
	case d.Protocol == '5' && headers:
		b := append([]byte{0x80 | byte(len(data)), 0xF1, byte(u.Address)}, data...)
		sum := byte(0)
		for _, x := range b {
			sum += x
		}
		out = []string{hexText(append(b, sum))}
	case d.Protocol == '5', !headers && len(data) <= 7:
		out = []string{hexText(data)}
	case len(data) <= 7:
		out = []string{d.id(u) + hexText(append([]byte{byte(len(data))}, data...))}
	case headers:
		out = []string{d.id(u) + hexText(append([]byte{0x10, byte(len(data))}, data[:6]...))}
		for n, rest := 1, data[6:]; len(rest) > 0; n, rest = n+1, rest[min(7, len(rest)):] {
			out = append(out, d.id(u)+hexText(append([]byte{0x20 | byte(n&15)}, rest[:min(7, len(rest))]...)))
		}
	default:
		out = []string{fmt.Sprintf("%03X", len(data)), "0: " + hexText(data[:6])}
		for n, rest := 1, data[6:]; len(rest) > 0; n, rest = n+1, rest[min(7, len(rest)):] {
			out = append(out, fmt.Sprintf("%X: ", n&15)+hexText(rest[:min(7, len(rest))]))
		}
	}
	if d.set["S"] == "0" {
		for i := range out {
			out[i] = strings.ReplaceAll(out[i], " ", "")
		}
	}
	return out
}

func (d *Double) id(u *Unit) string {
	if d.Protocol == '7' {
		b := []byte{byte(u.Address >> 24), byte(u.Address >> 16), byte(u.Address >> 8), byte(u.Address)}
		return hexText(b) + " "
	}
	return fmt.Sprintf("%03X ", u.Address)
}

func hexText(b []byte) string { return strings.ToUpper(strings.TrimSpace(fmt.Sprintf("% x", b))) }
