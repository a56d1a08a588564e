package plan

import (
	"math"

	"flywitness/analysis/compare"
	"flywitness/analysis/drag"
	"flywitness/analysis/inertia"
	"flywitness/analysis/stats"
	"flywitness/vehicle"
)

// Way is one way to drive a job, and what it can show.
type Way struct {
	Name      string  `json:"name"` // free_revs | holds | holds_same_day | in_gear | holds_and_in_gear
	Sittings  int     `json:"sessions_per_side"`
	Minutes   float64 `json:"minutes_per_side"` // of measuring, warming up included
	HalfWidth float64 `json:"half_width_pct"`   // of the 95 % interval of the ratio
	Shown     float64 `json:"smallest_detectable_pct"`
	Power     float64 `json:"power"` // with which the planned change is shown
	// with which sameness within the margin is shown when nothing changed
	Same  float64 `json:"no_change_power"`
	Same5 float64 `json:"no_change_5_pct_power"` // the same within 5 %

	ln float64 // standard deviation of ln ratio
	df float64
}

// What a sitting takes, in minutes. Common practice, no source.
const (
	warmMinutes  = 20.0
	revsMinutes  = 4.0
	holdsMinutes = 2.5
	gearMinutes  = 12.0
)

// inGearSD is that of ln ratio from off-throttle runs in gear and neutral coasts of both sides: noise 1.45 %, mass
// .5 %, and what the engine's drag on the road and at the stand differ by. A budget, not a drive.
const inGearSD = 0.0255

// wider is the margin that is offered where the usual one is out of reach. It is never taken without being told.
const wider = 0.05

// addWays lists the ways in the order of their effort and chooses the first that does what is asked.
func (f *Finding) addWays(s Scatter, q Question, sessionSD float64) {
	margin := q.Margin
	if margin == 0 {
		margin = compare.UsualMargin
	}
	opt := drag.Options{Checklist: q.Checklist}
	n := f.RunsPerSession
	add := func(name string, m int, minutes, sd, df float64) {
		w := Way{Name: name, Sittings: m, Minutes: float64(m) * (warmMinutes + revsMinutes + minutes), ln: sd, df: df}
		w.HalfWidth = 100 * math.Expm1(sd*stats.TQuantile(0.975, df))
		w.Shown = 100 * math.Expm1(stats.DetectableT(power, df)*sd)
		w.Power = stats.PowerT(math.Log1p(q.Change)/sd, df)
		w.Same, w.Same5 = samePower(margin, sd, df), samePower(wider, sd, df)
		f.Ways = append(f.Ways, w)
	}
	beside := func(sd float64) float64 { return 1 / math.Sqrt(1/(sd*sd)+1/(inGearSD*inGearSD)) }
	for _, m := range []int{1, 2, 3, 5} {
		plain, plainDF := compare.LnRatio(m, n, s.total(), sessionSD)
		held, heldDF := drag.Foreseen(m, n, s.total(), opt)
		add("free_revs", m, 0, plain, plainDF)
		add("holds", m, holdsMinutes, held, heldDF)
		if m > 1 {
			continue
		}
		day := opt
		day.SameDay = true
		sd, df := drag.Foreseen(1, n, s.total(), day)
		add("holds_same_day", 1, holdsMinutes, sd, df)
		add("in_gear", 1, gearMinutes, beside(plain), plainDF)
		add("holds_and_in_gear", 1, holdsMinutes+gearMinutes, beside(held), heldDF)
	}
	f.ForChange = first(f.Ways, func(w Way) bool { return w.Power >= power })
	f.ForSame = first(f.Ways, func(w Way) bool { return w.Same >= power })
	f.ForSame5 = first(f.Ways, func(w Way) bool { return w.Same5 >= power })
}

// What a free rev leaves to its limit, and what its top loses to the foot and the manifold, rpm. Common practice, no
// source.
const belowLimit, topLost = 500.0, 500.0

// slowWindow is where the window of an engine that turns slowly ends, of what it is revved to.
const slowWindow = 0.6

// revTo is the engine speed in rpm that a free rev of a car has to reach. It comes from the vehicle file alone: then
// both sides of a job are asked for the same.
func revTo(v *vehicle.Vehicle) float64 {
	if v == nil || !(v.Engine.LimitRPM > 0) {
		return inertia.RevTo
	}
	return math.Min(inertia.RevTo, v.Engine.LimitRPM-belowLimit)
}

// first is the index of the way of least effort that does; nil where none does.
func first(ways []Way, does func(Way) bool) *int {
	best := -1
	for i, w := range ways {
		if does(w) && (best < 0 || w.Minutes < ways[best].Minutes) {
			best = i
		}
	}
	if best < 0 {
		return nil
	}
	return &best
}

// samePower is the probability that the 95 % interval lies within a margin when nothing changed.
func samePower(margin, sd, df float64) float64 {
	room := math.Log1p(margin)/sd - stats.TQuantile(0.975, df)
	if room <= 0 {
		return 0
	}
	return 1 - stats.TwoSided(room, df)
}
