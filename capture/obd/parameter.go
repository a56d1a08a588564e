// Package obd turns bytes of the diagnostic standard into values and back: requests and replies of service 01 and 09
// (SAE J1979 / ISO 15031-5), split over the frames of ISO 15765-2 on CAN or over the messages of a K-line. It does no I/O.
package obd

import (
	"fmt"

	"flywitness/drive"
)

// PID is a parameter identifier of service 01.
type PID byte

// The parameters that this program asks for.
const (
	MonitorStatus        PID = 0x01 // fault lamp and number of codes
	FuelSystemStatus     PID = 0x03
	EngineLoad           PID = 0x04
	CoolantTemp          PID = 0x05
	IntakePressure       PID = 0x0B
	EngineSpeed          PID = 0x0C
	VehicleSpeed         PID = 0x0D
	IntakeTemp           PID = 0x0F
	AirFlow              PID = 0x10
	Throttle             PID = 0x11
	WarmUpsSinceCleared  PID = 0x30
	DistanceSinceCleared PID = 0x31
	BarometricPressure   PID = 0x33
	ModuleVoltage        PID = 0x42
	AmbientTemp          PID = 0x46
	Pedal                PID = 0x49
	OilTemp              PID = 0x5C
	DemandedTorque       PID = 0x61
	EngineTorque         PID = 0x62
	ReferenceTorque      PID = 0x63
)

// Parameter says how a parameter of service 01 is carried: Size bytes, that become a value of a channel by
// (first byte [x 256 + second byte]) x Scale + Offset. Values outside Low..High are not those of a running car: the
// reply was damaged or the control unit has no such sensor.
type Parameter struct {
	PID           PID
	Channel       string // canonical channel name
	Size          int    // bytes
	Scale, Offset float64
	Low, High     float64

	firstByteOnly bool // the second byte belongs to a second system
}

// parameters is the table of SAE J1979 / ISO 15031-5 service 01 (from memory); Low and High are the limits of what a car does.
var parameters = []Parameter{
	{PID: FuelSystemStatus, Channel: drive.FuelSystemStatus, Size: 2, Scale: 1, High: 255, firstByteOnly: true},
	{PID: EngineLoad, Channel: drive.EngineLoad, Size: 1, Scale: 100.0 / 255, High: 100},
	{PID: CoolantTemp, Channel: drive.CoolantTemp, Size: 1, Scale: 1, Offset: -40, Low: -40, High: 150},
	{PID: IntakePressure, Channel: drive.IntakePressure, Size: 1, Scale: 1, High: 255},
	{PID: EngineSpeed, Channel: drive.EngineSpeed, Size: 2, Scale: 0.25, High: 12000},
	{PID: VehicleSpeed, Channel: drive.VehicleSpeed, Size: 1, Scale: 1, High: 254},
	{PID: IntakeTemp, Channel: drive.IntakeTemp, Size: 1, Scale: 1, Offset: -40, Low: -40, High: 150},
	{PID: AirFlow, Channel: drive.AirFlow, Size: 2, Scale: 0.01, High: 655.35},
	{PID: Throttle, Channel: drive.Throttle, Size: 1, Scale: 100.0 / 255, High: 100},
	{PID: BarometricPressure, Channel: drive.BarometricPressure, Size: 1, Scale: 1, Low: 40, High: 120},
	{PID: ModuleVoltage, Channel: drive.ModuleVoltage, Size: 2, Scale: 0.001, Low: 4, High: 35},
	{PID: AmbientTemp, Channel: drive.AmbientTemp, Size: 1, Scale: 1, Offset: -40, Low: -40, High: 85},
	{PID: Pedal, Channel: drive.Pedal, Size: 1, Scale: 100.0 / 255, High: 100},
	{PID: OilTemp, Channel: drive.OilTemp, Size: 1, Scale: 1, Offset: -40, Low: -40, High: 180},
	{PID: DemandedTorque, Channel: drive.DemandedTorque, Size: 1, Scale: 1, Offset: -125, Low: -125, High: 130},
	{PID: EngineTorque, Channel: drive.EngineTorque, Size: 1, Scale: 1, Offset: -125, Low: -125, High: 130},
	{PID: ReferenceTorque, Channel: drive.ReferenceTorque, Size: 2, Scale: 1, Low: 10, High: 65535},
}

// Parameters returns the parameters that become channels, in order of their identifiers.
func Parameters() []Parameter { return append([]Parameter(nil), parameters...) }

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

// Decode returns the value of the parameter's bytes; len(b) must be p.Size.
func (p Parameter) Decode(b []byte) (float64, error) {
	if len(b) != p.Size {
		return 0, fmt.Errorf("parameter %02X has %d bytes, not %d", byte(p.PID), p.Size, len(b))
	}
	raw := float64(b[0])
	if p.Size == 2 && !p.firstByteOnly {
		raw = raw*256 + float64(b[1])
	}
	return raw*p.Scale + p.Offset, nil
}

// Encode returns the bytes of the parameter that come nearest to v; ok is false when v does not fit.
func (p Parameter) Encode(v float64) (b []byte, ok bool) {
	raw := (v - p.Offset) / p.Scale
	limit := 255.0
	if p.Size == 2 && !p.firstByteOnly {
		limit = 65535
	}
	if !(raw >= -0.5 && raw < limit+0.5) {
		return nil, false
	}
	n := int(raw + 0.5)
	switch {
	case p.Size == 1:
		return []byte{byte(n)}, true
	case p.firstByteOnly:
		return []byte{byte(n), 0}, true
	default:
		return []byte{byte(n >> 8), byte(n)}, true
	}
}

// Plausible tells whether v is a value that a car can have.
func (p Parameter) Plausible(v float64) bool { return v >= p.Low && v <= p.High }
