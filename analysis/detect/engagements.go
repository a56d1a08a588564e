package detect

import (
	"math"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
)

// Engagements finds every launch and gear change and the heat that it put into the clutch.
func (r *Record) Engagements(f *motion.Force) []Engagement {
	t := r.Track
	var out []Engagement
	from := 0 // gear before
	for i := 0; i < t.Len(); i++ {
		if t.Clutch[i] == gearstate.Locked {
			from = int(t.Gear[i])
			continue
		}
		if t.Clutch[i] != gearstate.Open {
			continue
		}
		j := i
		for j < t.Len() && t.Clutch[j] == gearstate.Open {
			j++
		}
		if j < t.Len() && t.Clutch[j] == gearstate.Locked {
			if e, ok := r.engagement(i, j, from, f); ok {
				out = append(out, e)
			}
		}
		i = j - 1
	}
	return out
}

// longestShift is how long (s) a change of gear may take: longer is coasting.
const longestShift = 6.0

// engagement judges an open Stretch [lo, hi) that ends locked.
func (r *Record) engagement(lo, hi, from int, f *motion.Force) (Engagement, bool) {
	t := r.Track
	to := int(t.Gear[hi])
	e := Engagement{Input: r.Input, End: t.T[hi], Gear: to}
	still := -1
	for i := hi - 1; i >= lo; i-- {
		if t.SpeedKmh[i] < 2 {
			still = i
			break
		}
	}
	switch {
	case still >= 0:
		e.Kind = Launch
		lo = still
	case from == 0 || from == to || t.T[hi]-t.T[lo] > longestShift:
		return e, false
	case to > from:
		e.Kind = Upshift
	default:
		e.Kind = Downshift
	}
	e.Start = t.T[max(lo, 0)]
	e.Duration = e.End - e.Start
	if f.Arm(to) == 0 {
		return e, true
	}
	k := t.Model.Gears[t.Model.Index(to)].K
	energy := 0.0
	for i := lo + 1; i <= hi; i++ {
		m := r.State(i)
		w := (t.RPM[i] - k*m.V) * math.Pi / 30
		if x := r.ClutchTorque(f, to, i) * w; x > 0 {
			energy += x * (t.T[i] - t.T[i-1])
		}
	}
	e.Energy = &energy
	return e, true
}
