package inertia

import (
	"cmp"
	"math"
	"slices"

	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/finding"
)

const (
	sameTorque    = 0.03 // within which manifold pressure or torque of two gears agrees
	torqueSamples = 3    // of a gear that a judgement needs
)

// charge is what tells how much torque the engine gave at an engine speed.
type charge struct{ rpm, value []float64 }

// torqueSigns are the channels that show it. Load is near its end at full throttle whatever the torque, and an
// open throttle says nothing of boost, so these two can speak against equal torque but not for it.
var torqueSigns = []struct {
	channel string
	tells   bool
}{{drive.EngineTorque, true}, {drive.IntakePressure, true}, {drive.EngineLoad, false}, {drive.Throttle, false}}

// refuseOtherTorque refuses the pulls of gears in which the engine gave another torque at equal engine speed
// than in the highest gear: a torque limit, traction control, or boost that was not there yet. It tells whether
// a channel has shown every gear's torque.
func (m *measurement) refuseOtherTorque(pulls []*Run) (shown bool) {
	gears := map[int][]*Run{}
	top := 0
	for _, r := range pulls {
		gears[r.Gear] = append(gears[r.Gear], r)
		top = max(top, r.Gear)
	}
	for _, sign := range torqueSigns {
		reference, compared := m.chargeOf(gears[top], sign.channel), 1
		for gear, runs := range gears {
			off, se, ok := m.chargeOf(runs, sign.channel).against(reference)
			if gear == top || !ok {
				continue
			}
			compared++
			if math.Abs(off)-2*se <= sameTorque {
				continue
			}
			for _, r := range runs {
				if r.Used {
					r.refuse(finding.TorqueByGear, finding.Pct("off", 100*math.Abs(off)), finding.Flag("more", off >= 0),
						finding.Gear(top))
				}
			}
		}
		if sign.tells && compared == len(gears) {
			return true
		}
	}
	return false
}

// chargeOf collects a channel over pulls, sorted by engine speed.
func (m *measurement) chargeOf(runs []*Run, channel string) charge {
	type point struct{ rpm, value float64 }
	var points []point
	for _, r := range runs {
		s, rpm := m.scenes[r.Input].channel(channel), &series{t: r.T, v: r.RPM}
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

// hangTogether is how many neighbouring values count as one.
const hangTogether = 4.0

// against is by how much c lies above other at equal engine speeds, relative, the median, and its standard
// error; ok is false where they share too few. Neighbouring values hang together: four count as one.
func (c charge) against(other charge) (off, se float64, ok bool) {
	reference := &series{t: other.rpm, v: other.value}
	var q []float64
	for i, n := range c.rpm {
		if v, ok := reference.at(n, math.Inf(1)); ok {
			q = append(q, c.value[i]/v-1)
		}
	}
	if len(q) < torqueSamples {
		return 0, 0, false
	}
	off = stats.Median(q)
	return off, 1.2533 * stats.MADScale * stats.MAD(q, off) / math.Sqrt(max(1, float64(len(q))/hangTogether)), true
}
