// Package capture records a drive: it asks the car in turn, stamps every value with the best estimate of the moment at
// which it was true, writes each reply at once, and goes on by itself after whatever happens to adapter and car.
package capture

import "flywitness/drive"

// Plan is a poll list: which channels are asked for, and how often.
type Plan struct {
	Name       string
	Every      []string // in every cycle
	Often      []string // one of them, in turn, after OftenEvery cycles
	OftenEvery int
	Slow       []string // one of them, in turn, after SlowEvery cycles
	SlowEvery  int
}

// The channels that change slowly; they cost one request in many.
var slowChannels = []string{
	drive.CoolantTemp, drive.Throttle, drive.DemandedTorque, drive.FuelSystemStatus, drive.AirFlow, drive.OilTemp,
	drive.ModuleVoltage, drive.IntakeTemp, drive.BarometricPressure, drive.AmbientTemp, drive.ReferenceTorque,
}

// RoadPlan is for any drive: engine speed and road speed always, what tells load and pedal now and then.
func RoadPlan() Plan {
	return Plan{
		Name: "road", Every: []string{drive.EngineSpeed, drive.VehicleSpeed},
		Often: []string{drive.EngineLoad, drive.Pedal, drive.IntakePressure, drive.EngineTorque}, OftenEvery: 3,
		Slow: slowChannels, SlowEvery: 16,
	}
}

// RevDownPlan is for free revs: a fall from 3500 to 1500 rpm lasts a second or two, and every sample of it counts. Road speed
// only shows that the car stands.
func RevDownPlan() Plan {
	return Plan{
		Name: "free revs", Every: []string{drive.EngineSpeed},
		Often: []string{drive.Pedal}, OftenEvery: 8,
		Slow: []string{drive.VehicleSpeed, drive.IntakePressure, drive.CoolantTemp}, SlowEvery: 20,
	}
}

// PullPlan is for pulls, overruns and coast-downs: both speeds in turn, load and pedal seldom.
func PullPlan() Plan {
	return Plan{
		Name: "pull", Every: []string{drive.EngineSpeed, drive.VehicleSpeed},
		Often: []string{drive.EngineLoad, drive.Pedal, drive.IntakePressure}, OftenEvery: 6,
		Slow: []string{drive.CoolantTemp, drive.EngineTorque, drive.OilTemp}, SlowEvery: 40,
	}
}

// Columns are the channels of a session file, in the order of its columns.
func Columns(gps bool) []string {
	cols := []string{
		drive.EngineSpeed, drive.VehicleSpeed, drive.EngineLoad, drive.Pedal, drive.Throttle, drive.IntakePressure,
		drive.EngineTorque, drive.DemandedTorque, drive.ReferenceTorque, drive.FuelSystemStatus, drive.AirFlow, drive.CoolantTemp,
		drive.OilTemp, drive.IntakeTemp, drive.AmbientTemp, drive.BarometricPressure, drive.ModuleVoltage,
	}
	if gps {
		cols = append(cols, drive.GPSSpeed)
	}
	return cols
}
