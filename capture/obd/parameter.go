// Package obd turns bytes of the diagnostic standard into values and back: requests and replies of service 01 and 09
// (SAE J1979 / ISO 15031-5), split over the frames of ISO 15765-2 on CAN or over the messages of a K-line. It does no
// I/O.
package obd

import (
	"fmt"
	"slices"

	"flywitness/drive"
)

// PID is a parameter identifier of service 01.
type PID byte

// The parameters that have no channel.
const (
	MonitorStatus        PID = 0x01 // fault lamp and number of codes
	WarmUpsSinceCleared  PID = 0x30
	DistanceSinceCleared PID = 0x31
)

// The two parameters without which nothing can be told.
var (
	EngineSpeed  = mustBe(drive.EngineSpeed)
	VehicleSpeed = mustBe(drive.VehicleSpeed)
)

// Parameter is a parameter of service 01 that becomes a channel: Size bytes, that become a value by (first byte [x
// 256 + second byte]) x Scale + Offset. Values outside Low..High are not those of a running car: the reply was
// damaged or the control unit has no such sensor.
type Parameter struct {
	PID     PID
	Channel string // canonical name
	drive.Request
	Low, High float64

	round func(float64) float64
}

// parameters are the channels of drive that the car can be asked for, in order of their identifiers.
var parameters = func() []Parameter {
	var list []Parameter
	for _, d := range drive.Definitions() {
		if d.Asked() {
			list = append(list, Parameter{PID(d.Request.PID), d.Name, d.Request, d.Low, d.High, d.Round})
		}
	}
	slices.SortFunc(list, func(a, b Parameter) int { return int(a.PID) - int(b.PID) })
	return list
}()

// mustBe returns the identifier of a channel that is in the list.
func mustBe(channel string) PID {
	p, ok := ByChannel(channel)
	if !ok {
		panic("no parameter carries " + channel)
	}
	return p.PID
}

// Parameters returns the parameters that become channels, in order of their identifiers.
func Parameters() []Parameter { return slices.Clone(parameters) }

// ByPID returns the parameter of an identifier.
func ByPID(pid PID) (Parameter, bool) {
	for _, p := range parameters {
		if p.PID == pid {
			return p, true
		}
	}
	return Parameter{}, false
}

// ByChannel returns the parameter that carries a channel.
func ByChannel(name string) (Parameter, bool) {
	for _, p := range parameters {
		if p.Channel == name {
			return p, true
		}
	}
	return Parameter{}, false
}

// Decode returns the value of the parameter's bytes, with the decimals that a recording keeps; len(b) must be p.Size.
func (p Parameter) Decode(b []byte) (float64, error) {
	if len(b) != p.Size {
		return 0, fmt.Errorf("parameter %02X has %d bytes, not %d", byte(p.PID), p.Size, len(b))
	}
	raw := float64(b[0])
	if p.Size == 2 && !p.FirstByteOnly {
		raw = raw*256 + float64(b[1])
	}
	return p.round(raw*p.Scale + p.Offset), nil
}

// Encode returns the bytes of the parameter that come nearest to v; ok is false when v does not fit.
func (p Parameter) Encode(v float64) (b []byte, ok bool) {
	raw := (v - p.Offset) / p.Scale
	limit := 255.0
	if p.Size == 2 && !p.FirstByteOnly {
		limit = 65535
	}
	if !(raw >= -0.5 && raw < limit+0.5) {
		return nil, false
	}
	n := int(raw + 0.5)
	switch {
	case p.Size == 1:
		return []byte{byte(n)}, true
	case p.FirstByteOnly:
		return []byte{byte(n), 0}, true
	default:
		return []byte{byte(n >> 8), byte(n)}, true
	}
}

// Plausible tells whether v is a value that a car can have.
func (p Parameter) Plausible(v float64) bool { return v >= p.Low && v <= p.High }
