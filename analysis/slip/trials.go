package slip

import (
	"math"

	"flywitness/analysis/detect"
	"flywitness/analysis/stats"
)

// trial is one time that the clutch was put to the test: it slipped from a torque on, or held up to one.
type trial struct {
	torque  float64 // N m, or wheel force over weight and gearing where no torque is known
	error   float64 // standard deviation of its reading
	slipped bool
	since   float64         // s from the last gear change on; infinite without, NaN of a rest
	heat    []heatPut       // before it
	kept    *stats.Estimate // what it carried as it slid, of what it had held; nil: not told
}

// heatPut is heat (J) that went into the clutch some time (s) ago.
type heatPut struct{ energy, ago float64 }

// rest is what a pull held once its slip was over.
type rest struct {
	input  int
	start  float64 // s
	torque *stats.Estimate
	force  *stats.Estimate // wheel force over weight and gearing, mean
}

// addRest notes what a pull with slip held afterwards: a torque above which the clutch lets go is not carried again.
func (j *judge) addRest(r *detect.Record, p *detect.Pull) {
	if q, ok := r.Rest(p); ok {
		torque, _ := r.Demand(&q)
		j.rests = append(j.rests, rest{r.Input, r.Track.T[q.Lo], r.PeakTorque(&q, j.force), torque})
	}
}

// trials are the sure slips, the pulls that held and the rests of those that slipped, all by torque or, where one is
// missing, all by wheel force.
func (j *judge) trials() []trial {
	o := j.out
	known := j.force.Known()
	var out []trial
	for i, e := range o.Events {
		if e.Kind != detect.KindSlip || !j.events[i].sure {
			continue
		}
		if x := either(known, e.OnsetTorque, j.events[i].onset); x != nil {
			since, heat := j.sinceShift(e.Input, e.Start), j.heatBefore(e.Input, e.Start)
			out = append(out, trial{x.Value, x.SD, true, since, heat, j.events[i].kept})
		}
	}
	for i, p := range o.Pulls {
		if p.Verdict != Holds {
			continue
		}
		if x := either(known, p.HeldTorque, j.pulls[i].torque); x != nil {
			out = append(out, trial{x.Value, x.SD, false, j.sinceShift(p.Input, p.Start), j.heatBefore(p.Input, p.Start), nil})
		}
	}
	for _, q := range j.rests {
		if x := either(known, q.torque, q.force); x != nil {
			out = append(out, trial{x.Value, x.SD, false, math.NaN(), j.heatBefore(q.input, q.start), nil})
		}
	}
	return out
}

// either is the torque where torques are known, else the force; nil where it is missing or none.
func either(known bool, torque, force *stats.Estimate) *stats.Estimate {
	x := force
	if known {
		x = torque
	}
	if x == nil || !(x.Value > 0) {
		return nil
	}
	return x
}

// sinceShift is how long (s) before a time the last gear change of its log had ended, 0 while one lasts.
func (j *judge) sinceShift(input int, at float64) float64 {
	since := math.Inf(1)
	for _, g := range j.out.Engagements {
		if g.Input == input && g.Kind != detect.Launch && g.Start <= at {
			since = math.Min(since, math.Max(0, at-g.End))
		}
	}
	return since
}

// heatBefore is the heat that went into the clutch before a time of a log: from slip, launches and changes of gear.
// Where no torque is known that of the events alone, but for a factor.
func (j *judge) heatBefore(input int, at float64) (out []heatPut) {
	put := func(in int, end float64, energy *float64) {
		if in == input && end <= at && energy != nil && *energy > 0 {
			out = append(out, heatPut{*energy, at - end})
		}
	}
	for i, e := range j.out.Events {
		energy := e.Energy
		if energy == nil {
			energy = &j.events[i].heat
		}
		put(e.Input, e.End, energy)
	}
	for _, g := range j.out.Engagements {
		put(g.Input, g.End, g.Energy)
	}
	return out
}
