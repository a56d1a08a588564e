package compare

import (
	"testing"

	"flywitness/analysis/inertia"
	"flywitness/drive"
	"flywitness/sim"
)

// An hour of 20 Hz logs a side, driving and free revs: both measured and compared.
func BenchmarkHourEachSide(b *testing.B) {
	rng := seeded(1, 1)
	hour := func(i float64) (*drive.Log, sim.Car) {
		car := sim.BenchMule().WithInertia(i)
		var plan []sim.Action
		for range 8 {
			plan = append(plan, sim.FreeRev(4600))
		}
		plan = append(plan, sim.Overrun(2, 4800, 1500), sim.Coast(70, 25), sim.Overrun(2, 4800, 1500), sim.Coast(70, 25),
			sim.Traffic(rng, 53, sim.MixedTraffic()))
		return sim.NewLogger(sim.CANMulti).Record(sim.Drive(car, sim.LevelRoad(), plan, rng), rng), car
	}
	before, car := hour(0.205)
	after, _ := hour(0.16)
	for b.Loop() {
		s := [2]Side{{Logs: []*drive.Log{before}, Vehicle: car.Vehicle}, {Logs: []*drive.Log{after}, Vehicle: car.Vehicle}}
		for k := range s {
			s[k].Inertia, _ = inertia.Measure(s[k].Logs, car.Vehicle, nil, inertia.Options{})
		}
		if f, _ := Compare(s[0], s[1], Options{Checklist: true}); f.Ratio == nil {
			b.Fatal(f.Reason)
		}
	}
}
