package analysis_test

import (
	"encoding/json"
	"math/rand/v2"
	"testing"

	"flywitness/analysis"
	"flywitness/analysis/slip"
	"flywitness/drive"
	"flywitness/sim"
)

// What is let go on the way is asked for by nobody: a drive with a torque channel that reads a third too high comes
// out with its warning, its inputs and its logs whole, with drives for charts and without.
func TestWhatIsLetGoIsNotMissed(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 7))
	car := sim.BenchMule()
	var plan []sim.Action
	for range 4 {
		plan = append(plan, sim.Cruise(40, 5), sim.Pull(3, 1800, 5800), sim.Cruise(60, 5), sim.Shift(4, sim.NormalShift), sim.Pull(4, 2500, 4500))
	}
	logger := sim.NewLogger(sim.CANMulti)
	logger.Fast = []string{drive.EngineSpeed, drive.VehicleSpeed, drive.EngineLoad, drive.EngineTorque}
	logger.Slow = []string{drive.ReferenceTorque, drive.CoolantTemp}
	l := logger.Record(sim.Drive(car, sim.LevelRoad(), plan, rng), rng)
	for i := range l.Channel(drive.EngineTorque).V {
		l.Channel(drive.EngineTorque).V[i] *= 1.33
	}
	set, channels := analysis.Set{Logs: []*drive.Log{l}, Vehicle: car.Vehicle}, len(l.Channels)
	drawn, bare := analysis.Slip(set, slip.Options{}), analysis.Slip(set, slip.Options{NoTraces: true})
	said := false
	for _, w := range bare.Warnings {
		said = said || w.Code == "torque_channel_differs"
	}
	if !said || len(bare.Inputs[0].Channels) != channels || len(l.Channels) != channels {
		t.Errorf("warnings %v, %d channels told and %d left of %d", bare.Warnings, len(bare.Inputs[0].Channels), len(l.Channels), channels)
	}
	if len(drawn.Slip.Traces) != 1 || len(drawn.Slip.Traces[0].SlipPct) == 0 || len(bare.Slip.Traces) != 0 {
		t.Errorf("%d drives for charts, and %d where nobody draws", len(drawn.Slip.Traces), len(bare.Slip.Traces))
	}
	a, err := json.Marshal(drawn)
	b, err2 := json.Marshal(bare)
	if err != nil || err2 != nil || string(a) != string(b) {
		t.Errorf("charts change the answer: %v, %v", err, err2)
	}
}
