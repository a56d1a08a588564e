package plan

import (
	"math"

	"flywitness/analysis/drag"
	"flywitness/analysis/inertia"
	"flywitness/drive"
	"flywitness/vehicle"
)

// HoldsOf returns the engine speeds in rpm at which a car is to be held of which there are logs already: those at
// which it was held in them, so that all sittings of a job share them, else those that the window of its falls asks
// for. ok is false where the logs have neither.
func HoldsOf(logs []*drive.Log, v *vehicle.Vehicle) (at [2]float64, ok bool) {
	falls, _ := inertia.Measure(logs, v, nil, inertia.Options{})
	held := drag.Measure(logs, nil, falls, v != nil && v.Engine.Fuel == "diesel", false).Speeds()
	if last := len(held) - 1; last > 0 {
		return [2]float64{toFifty(held[0]), toFifty(held[last])}, true
	}
	if falls == nil {
		return at, false
	}
	m, ok := FromLog(falls)
	if !ok {
		return at, false
	}
	return HoldSpeeds(m.Low, m.High), true
}

// HoldSpeeds returns the two engine speeds in rpm at which an engine is held whose falls are measured from high to
// low rpm: 0.93 and 1.30 of the geometric middle. There, and nowhere else, oil and consumers raise the flow alike
// for the same drag: an alternator's torque falls with speed, a thick oil's rises.
func HoldSpeeds(low, high float64) [2]float64 {
	middle := math.Sqrt(low * high)
	return [2]float64{toFifty(0.93 * middle), toFifty(1.30 * middle)}
}

func toFifty(rpm float64) float64 { return 50 * math.Round(rpm/50) }

// holdsBelow returns the speeds of the holds where free revs reach so many rpm. An engine that turns slowly falls over
// less: nothing is asked for above what it may rev to.
func holdsBelow(revTo float64) [2]float64 {
	low := math.Min(usualWindow[0], slowWindow*revTo)
	return HoldSpeeds(low, math.Max(low, revTo-topLost))
}
