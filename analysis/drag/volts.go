package drag

import (
	"math"

	"flywitness/analysis/stats"
)

// Groups of phases whose voltage is compared: holds and falls, of either side.
const voltGroups = 4

// phaseVolts is the voltage in holds and falls of both sides, phase by phase. A fan that comes on in one hold or fall
// shifts all of it, so the phases and not their samples tell how well a mean is known.
type phaseVolts struct {
	mean, samples []float64
	group         []int
	squares, free float64 // of the samples about the mean of their phase
}

func (v *phaseVolts) add(group int, phase []float64) {
	if len(phase) == 0 {
		return
	}
	s := stats.Summarise(phase)
	v.mean, v.samples, v.group = append(v.mean, s.Mean), append(v.samples, float64(len(phase))), append(v.group, group)
	if len(phase) > 1 {
		v.squares += stats.Square(s.SD) * float64(len(phase)-1)
		v.free += float64(len(phase) - 1)
	}
}

// voltages adds a side's holds and falls; false where either has too few to tell.
func (s *Side) voltages(to *phaseVolts, side int) bool {
	held, fell := 0, 0
	for _, h := range s.Holds {
		if h.Used && len(h.volts) > 0 {
			to.add(2*side, h.volts)
			held++
		}
	}
	for _, phase := range s.facts().volts {
		to.add(2*side+1, phase)
		fell += len(phase)
	}
	return held > 0 && fell >= fewestVolts
}

// fallsAboveHolds is by how much the voltage in the falls stands above that in the holds of either side, V, and the
// standard error of the difference of the two. Odd phases weigh less: a fan runs in one now and then.
func (v *phaseVolts) fallsAboveHolds() (higher [2]float64, sd float64, ok bool) {
	noise := 0.0 // where no phase has two samples, how the phases scatter holds that of the samples too
	if v.free > 0 {
		noise = v.squares / v.free
	}
	s2 := make([]float64, len(v.mean))
	for i, n := range v.samples {
		s2[i] = noise / n
	}
	g, ok := stats.RobustGroups(v.mean, s2, v.group, voltGroups)
	if !ok {
		return higher, 0, false
	}
	variance := 0.0
	for i := range voltGroups {
		variance += g.Variance(i)
	}
	return [2]float64{g.Mean[1] - g.Mean[0], g.Mean[3] - g.Mean[2]}, math.Sqrt(variance), true
}
