package field

import (
	"fmt"
	"math/rand/v2"

	"flywitness/sim"
)

// recipe is how the drives of a group come about. Nil parts are those of ordinary drives.
type recipe struct {
	minutes  float64
	drives   int // 0: one
	car      func(rng *rand.Rand) sim.Car
	road     func(rng *rand.Rand) sim.Road
	plan     func(rng *rand.Rand, c sim.Car, minutes float64) []sim.Action
	weak     func(c *sim.Car, rng *rand.Rand, try int)      // takes the clutch's hold
	after    func(tr *sim.Truth, rng *rand.Rand, try int)   // slip that no physics makes
	between  func(c sim.Car, n int, rng *rand.Rand) sim.Car // what changes between drives
	unlocked bool                                           // slip that never locked counts as asked
}

const tries = 8

const leastDry = 0.8 // grip of tyres on a paved road that is dry

// drive makes the drives: with a weak clutch again and again, weaker each time, until it slipped as asked (by the
// even seeds at the size that quick links are asked for, by the odd ones that of slow ones).
func (r recipe) drive(rng *rand.Rand, sound bool, seed uint64) *outing {
	size := quick
	if seed%2 == 1 {
		size = slow
	}
	var o *outing
	for try := range tries {
		o = r.once(rng, sound, try)
		if sound || size.qualifies(o.truths, r.unlocked) {
			break
		}
	}
	return o
}

func (r recipe) once(rng *rand.Rand, sound bool, try int) *outing {
	car := anyCar
	if r.car != nil {
		car = r.car
	}
	road := anyRoad
	if r.road != nil {
		road = r.road
	}
	plan := ordinary
	if r.plan != nil {
		plan = r.plan
	}
	c := car(rng)
	way := road(rng)
	if !sound {
		switch {
		case r.weak != nil:
			r.weak(&c, rng, try)
		case r.after == nil:
			weaken(&c, rng, try)
		}
	}
	o := &outing{car: c, sound: sound, dry: way.Mu >= leastDry}
	for n := range max(1, r.drives) {
		if n > 0 && r.between != nil {
			c = r.between(c, n, rng)
		}
		tr := sim.Drive(c, way, plan(rng, c, r.minutes), rng)
		if !sound && r.after != nil {
			r.after(tr, rng, try)
		}
		o.truths = append(o.truths, tr)
	}
	if sound && len(slips(o.truths)) > 0 {
		o.note = fmt.Sprintf("%d slips of a sound clutch", len(slips(o.truths)))
	}
	return o
}

// slips are the events of drives.
func slips(truths []*sim.Truth) (all []sim.SlipEvent) {
	for _, tr := range truths {
		all = append(all, tr.Events...)
	}
	return all
}

// habits draws an ordinary driver: brisk now and then, as somebody who wants to know about his clutch.
func habits(rng *rand.Rand, minutes float64) sim.Habits {
	h := sim.Habits{
		Town: between(rng, 0.2, 0.5), Road: between(rng, 0.3, 0.6), Fast: between(rng, 0, 0.3),
		Opening: [2]float64{0.2, between(rng, 0.4, 0.75)}, UpAt: [2]float64{0.25, between(rng, 0.4, 0.6)},
		FloorsPerHour: max(between(rng, 10, 25), 240/minutes), Floor: [2]float64{between(rng, 0.8, 1), 1},
		KickDown: between(rng, 0, 0.3), Through: between(rng, 0, 0.5), TipIn: between(rng, 0, 0.3),
		Ups:   []sim.ShiftStyle{sim.NormalShift, sim.NormalShift, sim.NormalShift, sim.QuickShift, sim.LateLift, sim.LazyShift, sim.EarlyThrottle},
		Downs: []sim.ShiftStyle{sim.NormalShift, sim.NormalShift, sim.RevMatched, sim.LazyShift, sim.DoubleClutch},
		Skip:  between(rng, 0, 0.15), Launches: []sim.LaunchStyle{sim.NormalLaunch, sim.NormalLaunch, sim.GentleLaunch, sim.HardLaunch, sim.LongLaunch},
		ShortFirst: rng.Float64(), Neutral: between(rng, 0, 0.5), RidesClutch: between(rng, 0, 0.05), LeftFoot: between(rng, 0, 0.03),
		StopShare: between(rng, 0.15, 0.5), HoldS: [2]float64{3, between(rng, 10, 40)}, Brake: between(rng, 1.5, 4), MaxKmh: between(rng, 120, 155),
	}
	switch rng.IntN(4) {
	case 0: // first gear is never seen locked
		h.Slurs = between(rng, 0.3, 1)
	case 1: // hardly ever stops, and then sets off briskly
		h.StopShare, h.ShortFirst, h.UpAt = between(rng, 0.02, 0.08), 0, [2]float64{0.4, 0.6}
	}
	return h
}

// ordinary is a drive of that driver.
func ordinary(rng *rand.Rand, c sim.Car, minutes float64) []sim.Action {
	return []sim.Action{sim.Roam(rng, minutes, habits(rng, minutes))}
}
