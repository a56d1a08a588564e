package detect

import (
	"math"

	"flywitness/vehicle"

	"gonum.org/v1/gonum/stat/distuv"
)

// No more goes through a clutch than the engine gives. What looks like a slip under more torque than the engine gave
// at full load and about as fast, with the clutch locked, is a lower gear: its force over the wrong gearing.

// gave is the engine's torque, as wheel force over weight and gearing, that a locked clutch held at full load for
// holdTime, and the mean engine speed (rpm) meanwhile.
type gave struct{ rpm, torque float64 }

// alikeRPM is how many times as fast or as slow an engine gives about as much at full load. Common practice, no
// source.
const alikeRPM = 1.25

// fewestGiven is how many readings tell what an engine gives: on a slow link one may be of a load that is over.
const fewestGiven = 3

// spoolTime is how long (s) after the foot went down a charged engine gives all that it does at most. Common practice,
// no source.
const spoolTime = 2.0

// weighEngine gives records what the engine gave at full load in all of them.
func weighEngine(records []*Record) {
	var all []gave
	for _, r := range records {
		all = append(all, r.engineGave()...)
	}
	for _, r := range records {
		r.gives = all
	}
}

// engineGave lists what the engine gave at full load all through a record.
func (r *Record) engineGave() (out []gave) {
	t := r.Track
	for _, run := range r.Runs {
		since, from, rpm, least := math.Inf(1), -1, 0.0, math.Inf(1)
		for i := run.Lo; i < run.Hi; i++ {
			if !(t.Load[i] >= FullFrom && r.onItsLine(i)) {
				since, from = math.Inf(1), -1
				continue
			}
			since = math.Min(since, t.T[i])
			if from < 0 && t.T[i]-since >= spoolTime {
				from, rpm, least = i, 0, math.Inf(1)
			}
			rpm, least = rpm+t.RPM[i], math.Min(least, r.Phi(i))
			if from >= 0 && t.T[i]-t.T[from] >= holdTime {
				out = append(out, gave{rpm / float64(i-from+1), least / t.Model.Gears[run.Index].K})
				from = -1
			}
		}
	}
	return out
}

// mostAt is the most that the engine gave at full load about as fast as rpm; 0 where that was not seen several times.
func (r *Record) mostAt(rpm float64) float64 {
	most, n := 0.0, 0
	for _, g := range r.gives {
		if g.rpm <= rpm*alikeRPM && g.rpm*alikeRPM >= rpm {
			most, n = math.Max(most, g.torque), n+1
		}
	}
	if n < fewestGiven {
		return 0
	}
	return most
}

// beyondEngine is by how many nats a departure is slip under torque that the engine gives, and not a lower gear;
// nothing is told where the engine was not seen at full load about as fast. Both torques are read on slopes that are
// not known.
func (r *Record) beyondEngine(c *Departure) float64 {
	sum := 0.0
	for i := c.lo; i < c.hi; i++ {
		sum += r.Track.RPM[i]
	}
	most := r.mostAt(sum / float64(c.hi-c.lo))
	if !(most > 0 && c.seen.within > 0) {
		return sure
	}
	torque := c.seen.within / r.Track.Model.Gears[c.run.Index].K
	sd := math.Hypot(alikeSD, math.Sqrt2*vehicle.UsualSlopeSD/c.seen.within)
	return sure + math.Log(distuv.UnitNormal.CDF(math.Log(keepsMost*most/torque)/sd)+1e-9)
}
