package obd

import (
	"errors"
	"fmt"
)

// Services of the standard that this program uses, and what is added to a service in its reply.
const (
	CurrentData   byte = 0x01
	VehicleInfo   byte = 0x09
	replyOffset   byte = 0x40
	negativeReply byte = 0x7F
)

// MaxPIDs is how many parameters one request may carry on CAN (ISO 15765-4, from memory).
const MaxPIDs = 6

// Request returns the bytes of a request of service 01 for 1 to MaxPIDs parameters.
func Request(pids ...PID) ([]byte, error) {
	if len(pids) == 0 || len(pids) > MaxPIDs {
		return nil, fmt.Errorf("a request carries 1 to %d parameters, not %d", MaxPIDs, len(pids))
	}
	b := []byte{CurrentData}
	for _, p := range pids {
		b = append(b, byte(p))
	}
	return b, nil
}

// errIncomplete is a reply that ends before all that it announces was there.
var errIncomplete = errors.New("the reply is incomplete")

// NegativeReply is a control unit's refusal.
type NegativeReply struct{ Service, Code byte }

func (n NegativeReply) Error() string {
	reason := map[byte]string{
		0x10: "general reject", 0x11: "service not supported", 0x12: "parameter not supported",
		0x21: "busy, repeat the request", 0x22: "conditions not correct", 0x31: "request out of range", 0x78: "reply pending",
	}[n.Code]
	if reason == "" {
		reason = "no reason given"
	}
	return fmt.Sprintf("the control unit refused service %02X: %s (code %02X)", n.Service, reason, n.Code)
}

// Pending tells that the control unit needs more time and will answer by itself.
func (n NegativeReply) Pending() bool { return n.Code == 0x78 }

// Lasting tells whether asking again is of no use: the control unit does not have what was asked for.
func (n NegativeReply) Lasting() bool { return n.Code == 0x11 || n.Code == 0x12 || n.Code == 0x31 }

// Value is one decoded parameter of a reply.
type Value struct {
	Parameter
	V float64
}

// Values decodes a reply of service 01 that answers a request for the parameters asked; they may come in any order and
// some may be missing (a car leaves out what it lacks). Bytes after the last asked parameter are padding. The values
// before an error are good.
func Values(data []byte, asked []PID) ([]Value, error) {
	rest, err := body(data, CurrentData)
	if err != nil {
		return nil, err
	}
	open := append([]PID(nil), asked...)
	var values []Value
	for len(rest) > 0 && len(open) > 0 {
		at := indexOf(open, PID(rest[0]))
		if at < 0 {
			if len(values) > 0 && padding(rest) {
				break
			}
			return values, fmt.Errorf("the reply carries parameter %02X, which was not asked for", rest[0])
		}
		p, ok := ByPID(open[at])
		if !ok {
			return values, fmt.Errorf("parameter %02X has no channel", byte(open[at]))
		}
		if len(rest) < 1+p.Size {
			return values, fmt.Errorf("parameter %02X: %w", byte(p.PID), errIncomplete)
		}
		v, err := p.Decode(rest[1 : 1+p.Size])
		if err != nil {
			return values, err
		}
		values = append(values, Value{p, v})
		open = append(open[:at], open[at+1:]...)
		rest = rest[1+p.Size:]
	}
	if len(values) == 0 {
		return nil, errIncomplete
	}
	return values, nil
}

// rawBytes returns the bytes of one parameter of service 01 that has no channel (support masks, 01, 30, 31); size is their number.
func rawBytes(data []byte, pid PID, size int) ([]byte, error) {
	rest, err := body(data, CurrentData)
	if err != nil {
		return nil, err
	}
	if len(rest) == 0 || PID(rest[0]) != pid {
		return nil, fmt.Errorf("the reply does not answer parameter %02X", byte(pid))
	}
	if len(rest) < 1+size {
		return nil, fmt.Errorf("parameter %02X: %w", byte(pid), errIncomplete)
	}
	return rest[1 : 1+size], nil
}

// body checks that data answers the service and returns what follows the service byte.
func body(data []byte, service byte) ([]byte, error) {
	switch {
	case len(data) == 0:
		return nil, errIncomplete
	case data[0] == negativeReply:
		if len(data) < 3 {
			return nil, errIncomplete
		}
		return nil, NegativeReply{Service: data[1], Code: data[2]}
	case data[0] != service+replyOffset:
		return nil, fmt.Errorf("the reply begins with %02X, not with %02X", data[0], service+replyOffset)
	}
	return data[1:], nil
}

// padding tells whether b is nothing but one of the bytes that control units fill frames with.
func padding(b []byte) bool {
	for _, x := range b {
		if x != b[0] {
			return false
		}
	}
	return b[0] == 0x00 || b[0] == 0x55 || b[0] == 0xAA || b[0] == 0xFF || b[0] == 0xCC
}

func indexOf(pids []PID, p PID) int {
	for i, q := range pids {
		if q == p {
			return i
		}
	}
	return -1
}

// Support is the set of parameters that a control unit has, learnt from the masks of parameters 00, 20, 40, 60..., and from
// what it answers.
type Support struct {
	bits [256]bool
	read [256 / maskRange]bool // whether the mask of the range was read, or one below it says that there are no more
}

// maskRange is how many parameters one mask tells of.
const maskRange = 32

// maskPIDs are the parameters that carry support masks and that can lead to a parameter this program asks for.
func maskPIDs() []PID { return []PID{0x00, 0x20, 0x40, 0x60} }

// Add takes a reply to a mask parameter: 4 bytes, whose bits from the highest are the parameters mask+1 to mask+32.
func (s *Support) Add(mask PID, data []byte) error {
	b, err := rawBytes(data, mask, 4)
	if err != nil {
		return err
	}
	s.read[mask/maskRange] = true
	for i := 0; i < maskRange; i++ {
		if b[i/8]&(0x80>>(i%8)) != 0 && int(mask)+1+i < len(s.bits) {
			s.bits[int(mask)+1+i] = true
		}
	}
	if b[3]&1 == 0 { // no mask behind this one
		for i := int(mask/maskRange) + 1; i < len(s.read); i++ {
			s.read[i] = true
		}
	}
	return nil
}

// Give adds a parameter that the control unit has answered, whatever its masks say.
func (s *Support) Give(p PID) { s.bits[p] = true }

// Has tells whether the control unit has the parameter.
func (s *Support) Has(p PID) bool { return s.bits[p] }

// MayHave tells whether the control unit has the parameter, or may have it because the mask that would tell was not read.
func (s *Support) MayHave(p PID) bool {
	return s.bits[p] || p%maskRange != 0 && !s.read[(p-1)/maskRange]
}

// Unread returns the masks of maskPIDs that could not be read yet and may be there.
func (s *Support) Unread() []PID {
	var list []PID
	for _, mask := range maskPIDs() {
		if !s.read[mask/maskRange] {
			list = append(list, mask)
		}
	}
	return list
}
