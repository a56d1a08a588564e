package gearstate

import (
	"flywitness/drive"
	"flywitness/vehicle"
)

// SlowLink is the interval between values (s) from which a link is slow: a gear change of a second then has
// fewer than four values in it, and rules that count values give way to rules that count seconds.
const SlowLink = 0.25

// SlowestLink is the interval (s) beyond which a clutch can neither be said to hold nor to slip, and a
// displayed speed not to be rounded or cut off: a slip of two seconds has three values.
const SlowestLink = 0.7

// CoarseStamps is the step of time stamps (s) from which two channels cannot be set beside each other within a
// change of gear.
const CoarseStamps = 0.5

// A value that stands for longer than gapValues intervals is missing: three replies lost in a row are an
// interruption, one or two are jitter.
const (
	gapValues = 3.2
	gapSlack  = 0.2  // s on top, between the samples of a track
	fewestGap = 0.05 // s; no link is quicker for long
)

// Wait is how long (s) three values take to come at an interval, and a little more. What has not come by then is
// missing.
func Wait(interval float64) float64 { return gapValues * interval }

// Gap is the time (s) between two samples of a track from which one is missing.
func (m *Model) Gap() float64 { return Wait(m.Period) + gapSlack }

// SignalGap is the time (s) between two values of engine speed from which one is missing.
func SignalGap(interval float64) float64 { return Wait(max(interval, fewestGap)) }

// LoadChannels returns the channels that tell how hard the engine works, best first.
func LoadChannels(veh *vehicle.Vehicle) []string {
	order := []string{drive.EngineTorque, drive.EngineLoad, drive.Pedal, drive.IntakePressure, drive.DemandedTorque}
	if veh.ThrottleTellsLoad() {
		order = append(order, drive.Throttle)
	}
	return order
}
