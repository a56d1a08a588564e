package obd

import (
	"fmt"
	"sort"
	"strings"
)

// Item is an item of service 09.
type Item byte

// The items of service 09 that identify car and calibration.
const (
	VIN                     Item = 0x02
	CalibrationID           Item = 0x04
	CalibrationVerification Item = 0x06
)

// InfoRequest returns the bytes of a request of service 09.
func InfoRequest(i Item) []byte { return []byte{VehicleInfo, byte(i)} }

// Info decodes the messages of one sender that answer an item of service 09: one VIN, any number of calibration
// identifications, any number of verification numbers (in hexadecimal).
// On CAN one message carries everything behind a count; on other links messages of 4 bytes are numbered from 1.
func Info(msgs []Message, item Item) ([]string, error) {
	payload, err := infoPayload(msgs, item)
	if err != nil {
		return nil, err
	}
	switch item {
	case VIN:
		s := printable(payload)
		if len(s) != 17 {
			return nil, fmt.Errorf("the car's VIN %q has %d characters, not 17", s, len(s))
		}
		return []string{s}, nil
	case CalibrationID:
		return split(payload, 16, printable), nil
	case CalibrationVerification:
		return split(payload, 4, func(b []byte) string { return fmt.Sprintf("%X", b) }), nil
	}
	return nil, fmt.Errorf("item %02X of service 09 is not known", byte(item))
}

// infoPayload joins what follows the item and the count or number.
func infoPayload(msgs []Message, item Item) ([]byte, error) {
	type part struct {
		number byte
		data   []byte
	}
	var parts []part
	for _, m := range msgs {
		rest, err := body(m.Data, VehicleInfo)
		if err != nil {
			return nil, err
		}
		if len(rest) < 3 || Item(rest[0]) != item {
			return nil, fmt.Errorf("the reply does not answer item %02X of service 09", byte(item))
		}
		parts = append(parts, part{rest[1], rest[2:]})
	}
	switch len(parts) {
	case 0:
		return nil, errIncomplete
	case 1:
		return parts[0].data, nil
	}
	sort.SliceStable(parts, func(i, j int) bool { return parts[i].number < parts[j].number })
	var all []byte
	for i, p := range parts {
		if int(p.number) != i+1 {
			return nil, fmt.Errorf("message %d of item %02X is missing: %w", i+1, byte(item), errIncomplete)
		}
		all = append(all, p.data...)
	}
	return all, nil
}

// printable keeps the characters that an identification is made of; control units fill with 00, FF or blanks.
func printable(b []byte) string {
	var s strings.Builder
	for _, x := range b {
		if x >= 0x20 && x < 0x7F {
			s.WriteByte(x)
		}
	}
	return strings.TrimSpace(s.String())
}

func split(b []byte, size int, text func([]byte) string) []string {
	var list []string
	for len(b) >= size {
		if s := text(b[:size]); s != "" {
			list = append(list, s)
		}
		b = b[size:]
	}
	return list
}

// Lamp is what parameter 01 tells: whether the fault lamp is lit, and how many codes are stored.
type Lamp struct {
	On    bool
	Codes int
}

// DecodeLamp reads a reply to parameter 01.
func DecodeLamp(data []byte) (Lamp, error) {
	b, err := rawBytes(data, MonitorStatus, 4)
	if err != nil {
		return Lamp{}, err
	}
	return Lamp{On: b[0]&0x80 != 0, Codes: int(b[0] & 0x7F)}, nil
}

// DecodeWarmUps reads a reply to parameter 30: warm-ups since the codes were cleared; 255 stands for 255 or more.
func DecodeWarmUps(data []byte) (int, error) {
	b, err := rawBytes(data, WarmUpsSinceCleared, 1)
	if err != nil {
		return 0, err
	}
	return int(b[0]), nil
}

// DecodeDistance reads a reply to parameter 31: km driven since the codes were cleared; 65535 stands for 65535 or more.
func DecodeDistance(data []byte) (int, error) {
	b, err := rawBytes(data, DistanceSinceCleared, 2)
	if err != nil {
		return 0, err
	}
	return int(b[0])<<8 | int(b[1]), nil
}
