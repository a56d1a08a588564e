// Package emulator is a car behind an AT-command adapter: on a pseudo-terminal for trying the logger out, and on an
// emulated line with an emulated clock for tests, where a day passes in seconds. It knows the true moment at which
// every value was taken.
package emulator

import (
	"math"

	"flywitness/capture/obd"
	"flywitness/drive"
	"flywitness/sim"
)

// Car is what the control unit reads: the value of a canonical channel at t seconds, ok false when the car does not
// have it.
type Car interface {
	Value(channel string, t float64) (v float64, ok bool)
}

// simCar answers from a simulated drive.
type simCar struct {
	shown    func(channel string, t float64) (float64, bool)
	duration float64
	loop     bool
}

// FromDrive returns the car of a simulated drive, as lg says that its channels show it. After the end it starts
// again, or stands idling as it was left, when loop is false.
func FromDrive(tr *sim.Truth, lg sim.Logger, loop bool) Car {
	return simCar{shown: lg.Shown(tr), duration: tr.Duration(), loop: loop}
}

func (c simCar) Value(channel string, t float64) (float64, bool) {
	if channel == drive.RunTime {
		return math.Floor(t), true
	}
	if t > c.duration {
		if c.loop {
			t = math.Mod(t, c.duration)
		} else {
			t = c.duration
		}
	}
	if v, ok := c.shown(channel, t); ok {
		return v, true
	}
	if channel == drive.FuelRate {
		return c.fuelRate(t)
	}
	v, ok := steady[channel]
	return v, ok
}

// steady is what the simulated drive does not know of: a warm petrol engine in closed loop, whose control unit has
// learnt to add a little.
var steady = map[string]float64{
	drive.ModuleVoltage: 14.1, drive.FuelSystemStatus: 2,
	drive.ShortFuelTrim: 0, drive.LongFuelTrim: 2.34375, drive.CommandedLambda: 1,
	drive.SparkAdvance: 22, drive.CanisterPurge: 100.0 * 31 / 255,
}

// fuelRate is that of petrol burnt completely: 14.7 g of air to 1 g of fuel, 745 g/L (from memory). It does not know
// of fuel that is cut.
func (c simCar) fuelRate(t float64) (float64, bool) {
	const perLitre = 14.7 * 745 / 3600 // g/s of air for 1 L/h
	air, ok := c.shown(drive.AirFlow, t)
	return air / perLitre, ok
}

// identity is what the emulated car tells of itself by service 09 and parameters 01, 30 and 31.
var identity = struct {
	vin, calibration  string
	verification      [4]byte
	warmUps, distance int
}{"FLYWTNSS000MULE01", "MULE-0001-A", [4]byte{0x1A, 0x2B, 0x3C, 0x4D}, 41, 1630}

// reply returns the bytes with which the engine's control unit answers a request at t seconds, nil when it has
// nothing to say.
func reply(car Car, request []byte, t float64) []byte {
	if len(request) < 2 {
		return nil
	}
	switch request[0] {
	case obd.VehicleInfo:
		return infoReply(obd.Item(request[1]))
	case obd.CurrentData:
		out := []byte{obd.CurrentData + 0x40}
		for _, pid := range request[1:] {
			out = append(out, parameter(car, obd.PID(pid), t)...)
		}
		if len(out) > 1 {
			return out
		}
	}
	return nil
}

// parameter returns identifier and bytes of one parameter, nil when the car does not have it.
func parameter(car Car, pid obd.PID, t float64) []byte {
	switch pid {
	case 0x00, 0x20, 0x40, 0x60:
		m := mask(car, pid)
		return append([]byte{byte(pid)}, m[:]...)
	case obd.MonitorStatus:
		return []byte{byte(pid), 0x00, 0x07, 0xE5, 0x00}
	case obd.WarmUpsSinceCleared:
		return []byte{byte(pid), byte(identity.warmUps)}
	case obd.DistanceSinceCleared:
		return []byte{byte(pid), byte(identity.distance >> 8), byte(identity.distance)}
	}
	p, ok := obd.ByPID(pid)
	if !ok {
		return nil
	}
	v, ok := car.Value(p.Channel, t)
	if !ok {
		return nil
	}
	b, ok := p.Encode(v)
	if !ok {
		return nil
	}
	return append([]byte{byte(pid)}, b...)
}

// mask returns the support mask of the parameters from+1 to from+32.
func mask(car Car, from obd.PID) (m [4]byte) {
	set := func(pid int) {
		if i := pid - int(from) - 1; i >= 0 && i < 32 {
			m[i/8] |= 0x80 >> (i % 8)
		}
	}
	for _, p := range []obd.PID{0x01, 0x20, 0x30, 0x31, 0x40, 0x60} {
		set(int(p))
	}
	for _, p := range obd.Parameters() {
		if _, ok := car.Value(p.Channel, 0); ok {
			set(int(p.PID))
		}
	}
	return m
}

func infoReply(item obd.Item) []byte {
	head := []byte{obd.VehicleInfo + 0x40, byte(item), 1}
	switch item {
	case obd.VIN:
		return append(head, identity.vin...)
	case obd.CalibrationID:
		id := make([]byte, 16)
		copy(id, identity.calibration)
		return append(head, id...)
	case obd.CalibrationVerification:
		return append(head, identity.verification[:]...)
	}
	return nil
}
