// Package capture records a drive: it asks the car in turn, stamps every value with the best estimate of the moment
// at which it was true, writes each reply at once, and goes on by itself after whatever happens to adapter and car.
package capture

import (
	"slices"
	"sync"
	"time"

	"flywitness/drive"
)

// Plan is a poll list: which channels are asked for, and how often. Its lists are shared: nobody changes them.
type Plan struct {
	Name       string
	Every      []string // in every cycle
	Often      []string // one of them, in turn, after OftenEvery cycles
	OftenEvery int
	Slow       []string // one of them, in turn, after SlowEvery cycles
	SlowEvery  int
	// Timed are asked for once in Period each. A link that carries one parameter a request asks for one of them in a
	// cycle at most, so that they never hold up the channels of every cycle for long.
	Timed  []string
	Period time.Duration

	StandIn map[string]string // what is asked for instead of a channel that the car lacks
}

// RoadPlan is for any drive: engine speed and road speed always, what tells load and pedal now and then, what changes
// slowly one request in many.
func RoadPlan() Plan { return roadPlan() }

// The recorder asks for its plan before every request, so the list of channels is searched once.
var roadPlan = sync.OnceValue(func() Plan {
	return Plan{
		Name: "road", Every: atPace(drive.EveryCycle),
		Often: atPace(drive.Often), OftenEvery: 3,
		Slow: atPace(drive.Seldom), SlowEvery: 16,
		StandIn: throttleForPedal(),
	}
})

// RevDownPlan is for free revs: a fall from 3500 to 1500 rpm lasts a second or two, and every sample of it counts.
// Road speed only shows that the car stands.
func RevDownPlan() Plan {
	return Plan{
		Name: "free revs", Every: []string{drive.EngineSpeed},
		Often: []string{drive.Pedal}, OftenEvery: 8,
		Slow: []string{drive.VehicleSpeed, drive.IntakePressure, drive.CoolantTemp}, SlowEvery: 20,
		StandIn: throttleForPedal(),
	}
}

// PullPlan is for pulls, overruns and coast-downs: both speeds in turn, load and pedal seldom.
func PullPlan() Plan {
	return Plan{
		Name: "pull", Every: []string{drive.EngineSpeed, drive.VehicleSpeed},
		Often: []string{drive.EngineLoad, drive.Pedal, drive.IntakePressure}, OftenEvery: 6,
		Slow: []string{drive.CoolantTemp, drive.EngineTorque, drive.OilTemp}, SlowEvery: 40,
		StandIn: throttleForPedal(),
	}
}

// HoldPlan is for an engine held at a speed: its air and its trims tell the drag, the rest whether two sittings are
// alike: spark and vapour of the tank tell what air and fuel cannot. A car without trims, as a diesel, may tell the fuel itself.
func HoldPlan() Plan {
	return Plan{
		Name: "hold", Every: []string{drive.EngineSpeed, drive.AirFlow, drive.ShortFuelTrim, drive.LongFuelTrim},
		Timed: []string{drive.FuelSystemStatus, drive.CommandedLambda, drive.CoolantTemp, drive.OilTemp, drive.ModuleVoltage,
			drive.IntakeTemp, drive.BarometricPressure, drive.RunTime, drive.SparkAdvance, drive.CanisterPurge}, Period: 2 * time.Second,
		StandIn: map[string]string{drive.AirFlow: drive.IntakePressure, drive.ShortFuelTrim: drive.FuelRate},
	}
}

// FallPlan is for the falls that go with holds: engine speed, and whether battery and shut throttle are as they were
// in the holds.
func FallPlan() Plan {
	return Plan{
		Name: "fall", Every: []string{drive.EngineSpeed},
		Timed: []string{drive.ModuleVoltage, drive.IntakePressure}, Period: time.Second,
	}
}

// Plans are all plans. A guided recording changes from one to another.
func Plans() []Plan { return []Plan{RoadPlan(), RevDownPlan(), PullPlan(), HoldPlan(), FallPlan()} }

// channels returns the channels that a plan may ask for.
func (p Plan) channels() []string {
	all := slices.Concat(p.Every, p.Often, p.Slow, p.Timed)
	for _, c := range p.StandIn {
		all = append(all, c)
	}
	return all
}

// Columns are the channels of a session file that is recorded by these plans, in the order of its columns.
func Columns(gps bool, plans ...Plan) []string {
	return drive.Names(func(d drive.Definition) bool {
		asked := func(p Plan) bool { return slices.Contains(p.channels(), d.Name) }
		return d.Receiver && gps || slices.ContainsFunc(plans, asked)
	})
}

func atPace(p drive.Pace) []string {
	return drive.Names(func(d drive.Definition) bool { return d.Asked() && d.Pace == p })
}

func throttleForPedal() map[string]string { return map[string]string{drive.Pedal: drive.Throttle} }
