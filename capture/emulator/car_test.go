package emulator_test

import (
	"math/rand/v2"
	"testing"

	"flywitness/capture/emulator"
	"flywitness/drive"
	"flywitness/sim"
)

// The emulated car has every channel that a car can be asked for, with values that a car can have. It lacks the
// demanded torque: many cars do, and an accelerator tells more.
func TestCarAnswersTheWholeList(t *testing.T) {
	spec := sim.BenchMule()
	spec.Engine.ReferenceNm = 250
	tr := sim.Drive(spec, sim.LevelRoad(), []sim.Action{sim.Idle(5), sim.Accelerate(40)}, rand.New(rand.NewPCG(1, 1)))
	car := emulator.FromDrive(tr, sim.NewLogger(sim.CANMulti), true)
	for _, d := range drive.Definitions() {
		for _, at := range []float64{0, 3, tr.Duration() - 1} {
			v, ok := car.Value(d.Name, at)
			if d.Asked() && d.Name != drive.DemandedTorque && (!ok || v < d.Low || v > d.High) {
				t.Errorf("%s at %.0f s is %v, %v", d.Name, at, v, ok)
			}
		}
	}
	if _, ok := car.Value(drive.Latency, 1); ok {
		t.Error("the car knows of the recorder's latency")
	}
}
