package emulator

import (
	"fmt"
	"math/rand/v2"

	"flywitness/sim"
)

// Drives are the scripted drives by name.
func Drives() []string { return []string{"tests", "traffic", "idle"} }

// Script returns the plan of a scripted drive. "tests" is what a guided recording asks for, in its order and with a run or
// two to spare; "traffic" is an ordinary half hour; "idle" stands.
func Script(name string, rng *rand.Rand) ([]sim.Action, error) {
	switch name {
	case "tests":
		return testDrive(), nil
	case "traffic":
		return []sim.Action{sim.Traffic(rng, 30, sim.MixedTraffic())}, nil
	case "idle":
		return []sim.Action{sim.Idle(120)}, nil
	}
	return nil, fmt.Errorf("there is no drive %q, the drives are %v", name, Drives())
}

func testDrive() []sim.Action {
	plan := []sim.Action{sim.Idle(40)}
	for i := 0; i < 7; i++ {
		plan = append(plan, sim.FreeRev(4100), sim.Idle(12))
	}
	for i := 0; i < 2; i++ { // one each way
		plan = append(plan, sim.Accelerate(40))
		for _, gear := range []int{3, 4} {
			plan = append(plan, sim.Pull(gear, 1800, 5200), sim.Overrun(gear, 5000, 1700), sim.Cruise(50, 8))
		}
		for j := 0; j < 2; j++ {
			plan = append(plan, sim.Pull(2, 1800, 5200), sim.Overrun(2, 5000, 1600), sim.Accelerate(75), sim.Coast(70, 25))
		}
		plan = append(plan, sim.TurnRound())
	}
	return append(plan, sim.Stop(), sim.Idle(10))
}
