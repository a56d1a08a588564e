package gearstate_test

import (
	"math/rand/v2"
	"testing"

	"flywitness/analysis/calibrate"
	"flywitness/drive"
	"flywitness/internal/numbers"
	"flywitness/sim"
)

// urbanCycle is the urban cycle, part one of the type I test of UN Regulation 83 (from memory): the end of each
// operation in s, the speed there in km/h, and the gear that is prescribed for a manual gearbox in it (0:
// neutral or clutch out).
var urbanCycle = []sim.TracePoint{
	{T: 11, Kmh: 0, Gear: 0}, {T: 15, Kmh: 15, Gear: 1}, {T: 23, Kmh: 15, Gear: 1}, {T: 25, Kmh: 10, Gear: 1},
	{T: 28, Kmh: 0, Gear: 0}, {T: 49, Kmh: 0, Gear: 0},
	{T: 54, Kmh: 15, Gear: 1}, {T: 56, Kmh: 15, Gear: 2}, {T: 61, Kmh: 32, Gear: 2}, {T: 85, Kmh: 32, Gear: 2},
	{T: 93, Kmh: 10, Gear: 2}, {T: 96, Kmh: 0, Gear: 0},
	{T: 117, Kmh: 0, Gear: 0}, {T: 122, Kmh: 15, Gear: 1}, {T: 124, Kmh: 15, Gear: 2}, {T: 133, Kmh: 35, Gear: 2},
	{T: 135, Kmh: 35, Gear: 3}, {T: 143, Kmh: 50, Gear: 3},
	{T: 155, Kmh: 50, Gear: 3}, {T: 163, Kmh: 35, Gear: 3}, {T: 176, Kmh: 35, Gear: 3}, {T: 178, Kmh: 32, Gear: 2},
	{T: 185, Kmh: 10, Gear: 2}, {T: 188, Kmh: 0, Gear: 0}, {T: 195, Kmh: 0, Gear: 0},
}

// Driven with an invented gearbox, the decoded gears are the prescribed ones.
func TestGearsOfTheRegulatedUrbanCycle(t *testing.T) {
	numbers.Only(t)
	const rounds = 4 // as the regulation asks
	var operations []sim.TracePoint
	for r := range rounds {
		for _, p := range urbanCycle {
			p.T += float64(r) * 195
			operations = append(operations, p)
		}
	}
	plan := corners(operations)
	for _, link := range []sim.Link{sim.KLine, sim.CANSequential, sim.CANMulti} {
		rng := rand.New(rand.NewPCG(14, uint64(link)))
		car := sim.BenchMule()
		truth := sim.Drive(car, sim.LevelRoad(), []sim.Action{sim.Trace(plan)}, rng)
		l := sim.NewLogger(link).Record(truth, rng)
		cal, _ := calibrate.Learn([]*drive.Log{l}, car.Vehicle)
		track := cal.Decode(l)
		right, all := 0, 0
		for i, at := range track.T {
			want, settled := prescribed(operations, at)
			if !settled || want == 0 || track.SpeedKmh[i] < 10 {
				continue
			}
			all++
			if int(track.Gear[i]) == want {
				right++
			}
		}
		if all < 100 || float64(right) < 0.97*float64(all) {
			t.Errorf("%v: %d of %d samples in the prescribed gear", link, right, all)
		}
	}
}

// corners turns operations, which carry the gear that they are driven in, into corners, which carry the gear
// from there on.
func corners(operations []sim.TracePoint) []sim.TracePoint {
	out := []sim.TracePoint{{}}
	for _, o := range operations {
		out[len(out)-1].Gear = o.Gear
		out = append(out, sim.TracePoint{T: o.T, Kmh: o.Kmh})
	}
	return out
}

// prescribed returns the gear of the operation at a time; settled is false in a gear change and within a second
// and a half of an operation's ends.
func prescribed(plan []sim.TracePoint, at float64) (gear int, settled bool) {
	from := 0.0
	for i, p := range plan {
		if at < p.T {
			change := i > 0 && p.T-from <= 2 && p.Kmh == plan[i-1].Kmh
			return p.Gear, !change && at-from > 1.5 && p.T-at > 0.5
		}
		from = p.T
	}
	return 0, false
}
