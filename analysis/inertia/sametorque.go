package inertia

import (
	"cmp"
	"math"
	"slices"

	"flywitness/analysis/practice"
	"flywitness/analysis/stats"
	"flywitness/drive"
)

const (
	sameTorque    = 0.03 // within which manifold pressure or torque of two gears agrees
	torqueSamples = 3    // of a gear that a judgement needs
)

// charge is what tells how much torque the engine gave at an engine speed: its own torque channel, else manifold pressure.
type charge struct{ rpm, value []float64 }

// refuseOtherTorque refuses the pulls of gears in which the engine gave another torque at equal engine speed than in the highest gear: a
// torque limit, traction control, or boost that was not there yet. A log that carries neither torque nor manifold pressure says nothing.
func (m *measurement) refuseOtherTorque(pulls []*Run) {
	gears := map[int][]*Run{}
	top := 0
	for _, r := range pulls {
		gears[r.Gear] = append(gears[r.Gear], r)
		top = max(top, r.Gear)
	}
	for _, channel := range []string{drive.EngineTorque, drive.IntakePressure} {
		reference := m.chargeOf(gears[top], channel)
		if len(reference.rpm) < torqueSamples {
			continue
		}
		for gear, runs := range gears {
			off, ok := m.chargeOf(runs, channel).against(reference)
			if gear == top || !ok || math.Abs(off) <= sameTorque {
				continue
			}
			for _, r := range runs {
				r.refuse(practice.TorqueByGear, 100*math.Abs(off), moreOrLess(off), top)
			}
		}
		return
	}
}

func moreOrLess(x float64) string {
	if x < 0 {
		return "less"
	}
	return "more"
}

// chargeOf collects a channel over pulls, sorted by engine speed.
func (m *measurement) chargeOf(runs []*Run, channel string) charge {
	type point struct{ rpm, value float64 }
	var points []point
	for _, r := range runs {
		s, rpm := newSeries(m.scenes[r.Input].log, channel), &series{t: r.T, v: r.RPM, sorted: true}
		if s == nil {
			continue
		}
		i, j := s.between(r.T[0], r.T[len(r.T)-1])
		for k := i; k < j; k++ {
			if n, ok := rpm.at(s.t[k], 2); ok && s.v[k] > 0 {
				points = append(points, point{n, s.v[k]})
			}
		}
	}
	slices.SortStableFunc(points, func(a, b point) int { return cmp.Compare(a.rpm, b.rpm) })
	var c charge
	for _, p := range points {
		c.rpm, c.value = append(c.rpm, p.rpm), append(c.value, p.value)
	}
	return c
}

// against is by how much c lies above other at equal engine speeds, relative, the median; ok is false where they share too few.
func (c charge) against(other charge) (off float64, ok bool) {
	reference := &series{t: other.rpm, v: other.value, sorted: true}
	var q []float64
	for i, n := range c.rpm {
		if v, ok := reference.at(n, math.Inf(1)); ok {
			q = append(q, c.value[i]/v-1)
		}
	}
	if len(q) < torqueSamples {
		return 0, false
	}
	return stats.Median(q), true
}
