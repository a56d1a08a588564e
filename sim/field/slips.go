package field

import (
	"math/rand/v2"

	"flywitness/sim"
)

// hump is slip that rises and falls over shares of its time.
func hump(from, to, share, rise, fall float64) func(t float64) float64 {
	return func(t float64) float64 {
		return share * max(0, min(1, (t-from)/max(rise*(to-from), 0.02), (to-t)/max(fall*(to-from), 0.02)))
	}
}

// inPulls puts slip that no physics makes into pulls: shape gives its share at the drive's time for a pull from one
// time to another; nil for none.
func inPulls(pedal, dur float64, shape func(tr *sim.Truth, from, to float64, rng *rand.Rand) func(t float64) float64) func(*sim.Truth, *rand.Rand, int) {
	return func(tr *sim.Truth, rng *rand.Rand, _ int) {
		for _, p := range pulls(tr, pedal, dur) {
			if f := shape(tr, p[0], p[1], rng); f != nil {
				tr.InjectShape(p[0], p[1]-p[0], f)
			}
		}
	}
}

// slipClasses are clutches that slip in their own ways. Where nothing else is unusual their sound side is left to
// other classes.
func slipClasses() []Class {
	weak := func(change func(c *sim.Car, peak float64, rng *rand.Rand, try int)) recipe {
		return recipe{weak: func(c *sim.Car, rng *rand.Rand, try int) {
			peak, _ := c.Engine.PeakNm()
			change(c, peak, rng, try)
		}}
	}
	after := func(f func(*sim.Truth, *rand.Rand, int)) recipe { return recipe{after: f} }
	ratio := func(tr *sim.Truth, rng *rand.Rand, _ int) {
		share := between(rng, 0.05, 0.2)
		inPulls(60, 2, func(_ *sim.Truth, from, to float64, _ *rand.Rand) func(float64) float64 {
			return func(t float64) float64 { return share * min(1, (t-from)/0.3, (to-t)/0.3) }
		})(tr, rng, 0)
	}
	noLoad := changed(func(lg *sim.Logger, _ *rand.Rand) { *lg = bare(*lg) })
	large := weak(func(c *sim.Car, peak float64, rng *rand.Rand, _ int) {
		c.Clutch.Capacity, c.Driver.LiftsOnFlare = peak*between(rng, 0.4, 0.65), false
	})
	oil := weak(func(c *sim.Car, peak float64, rng *rand.Rand, _ int) {
		c.Clutch.Capacity, c.Clutch.GrabSD, c.Clutch.Kinetic = peak*between(rng, 0.5, 0.8), between(rng, 0.05, 0.15), between(rng, 0.8, 0.95)
	})
	hot := weak(func(c *sim.Car, peak float64, rng *rand.Rand, try int) {
		c.Clutch.Capacity, c.Clutch.FadeFrom, c.Clutch.FadePerK = peak*between(rng, 1.03, 1.12), 95, between(rng, 0.003, 0.006)+0.001*float64(try)
	})
	hot.plan = driven(func(h *sim.Habits, _ *rand.Rand) {
		h.FloorsPerHour, h.StopShare, h.Through = 60, 0.5, 0.8
		h.Launches = []sim.LaunchStyle{sim.HardLaunch, sim.LongLaunch}
	})
	spring := weak(func(c *sim.Car, peak float64, rng *rand.Rand, try int) {
		c.Clutch.Capacity, c.Clutch.WeakFromRPM = peak*between(rng, 1.02, 1.15), 0.5*c.Vehicle.Engine.LimitRPM
		c.Clutch.WeakPerKRPM = between(rng, 0.08, 0.2) + 0.03*float64(try)
	})
	film := weak(func(c *sim.Car, peak float64, rng *rand.Rand, try int) {
		c.Clutch.CreepPerNm = between(rng, 0.04, 0.12) * 300 / peak * (1 + 0.3*float64(try)) // 4-12 % of 300 rad/s at the peak
	})
	sticky := weak(func(c *sim.Car, peak float64, rng *rand.Rand, try int) {
		c.Clutch.Kinetic, c.Clutch.SlopePerRadS = between(rng, 0.6, 0.8), -0.001
		c.Clutch.Capacity = peak * (between(rng, 0.9, 1.02) - 0.02*float64(try))
	})
	light := weak(func(c *sim.Car, peak float64, rng *rand.Rand, _ int) {
		c.Clutch.Capacity = peak * between(rng, 0.2, 0.4)
	})
	topOnly := weak(func(c *sim.Car, peak float64, rng *rand.Rand, try int) {
		c.Clutch.Capacity = peak * (between(rng, 0.93, 0.99) - 0.01*float64(try))
		c.Clutch.Kinetic, c.Clutch.SlopePerRadS = 0.99, 0.003
	})
	topOnly.plan = func(rng *rand.Rand, c sim.Car, minutes float64) []sim.Action {
		h := habits(rng, minutes)
		top := len(c.Vehicle.Gearbox.Ratios)
		h.FloorGears, h.Through, h.KickDown, h.MaxKmh = [2]int{top, top}, 0, 0, 170
		return []sim.Action{sim.Roam(rng, minutes, h)}
	}
	neverLocks := weak(func(c *sim.Car, peak float64, rng *rand.Rand, _ int) {
		c.Clutch.Capacity, c.Clutch.Kinetic, c.Clutch.SlopePerRadS = peak*between(rng, 1.0, 1.06), between(rng, 0.84, 0.93), between(rng, 0, 0.002)
		c.Driver.LiftsOnFlare = false
	})
	neverLocks.unlocked = true
	neverLocks.plan = driven(func(h *sim.Habits, _ *rand.Rand) {
		h.FloorGears, h.Through, h.FloorsPerHour = [2]int{2, 3}, 1, 50
		h.Ups = []sim.ShiftStyle{sim.EarlyThrottle, sim.QuickShift, sim.LateLift}
	})
	brief := after(func(tr *sim.Truth, rng *rand.Rand, _ int) {
		for _, p := range pulls(tr, 60, 1.5) {
			d := between(rng, 0.4, 0.9)
			tr.InjectShape(p[0], d, hump(p[0], p[0]+d, between(rng, 0.04, 0.12), 0.1, 0.6))
		}
	})
	afterShifts := after(func(tr *sim.Truth, rng *rand.Rand, _ int) {
		for _, p := range afterChanges(tr) {
			if d := between(rng, 1.2, 2.2); chance(rng, 0.8) {
				tr.InjectShape(p, d, hump(p, p+d, between(rng, 0.06, 0.15), 0.2, 0.6))
			}
		}
	})
	afterShifts.plan = driven(func(h *sim.Habits, _ *rand.Rand) { h.FloorsPerHour, h.Through = 60, 0.8 })
	heavyTail := after(inPulls(70, 3, func(_ *sim.Truth, from, to float64, rng *rand.Rand) func(float64) float64 {
		if !chance(rng, 0.6) {
			return nil
		}
		share := 0.06 / max(0.25, rng.Float64()) // most are small, a few large
		return hump(from, to, min(0.2, share), between(rng, 0.2, 0.6), between(rng, 0.2, 0.4))
	}))
	endless := after(inPulls(70, 3, func(_ *sim.Truth, from, to float64, rng *rand.Rand) func(float64) float64 {
		start := from + between(rng, 0.2, 0.4)*(to-from)
		share, rise := between(rng, 0.05, 0.15), between(rng, 0.5, 2)
		return func(t float64) float64 { return share * max(0, min(1, (t-start)/rise, (to+0.05-t)/0.05)) }
	}))
	small := after(few(2, 3, 0.034, 0.045, 1.8, 2.4))
	rare := recipe{minutes: 60, after: few(2, 2, 0.05, 0.1, 2, 3.5)}
	constant := after(func(tr *sim.Truth, rng *rand.Rand, _ int) {
		share := between(rng, 0.03, 0.1)
		for _, p := range inGear(tr) {
			tr.InjectShape(p[0], p[1]-p[0], func(float64) float64 { return share })
		}
	})
	film.unlocked = true
	one := func(name, describe string, r recipe) spec {
		return spec{family: "slip", name: name, describe: describe, link: "can", weakOnly: true, recipe: r, files: files}
	}
	all := []spec{
		one("constant-ratio", "slip of one constant ratio in each pull", after(ratio)),
		one("constant-ratio-noload", "the same without a load channel", after(ratio)),
		one("large-noload", "a clutch that holds half of the torque, without a load channel", large),
		one("large", "a clutch that holds half of the torque", large),
		one("oil", "oil on the lining: weak in every gear, and grabs", oil),
		one("hot", "slips only when hot", hot),
		one("high-rpm", "fingers that lose clamp load at high engine speed", spring),
		one("film", "a lining that shears a film: slip in proportion to torque, never quite locked", film),
		one("stick-slip", "friction that falls when it slides", sticky),
		one("light-load", "slips at light load too", light),
		one("top-gear", "pulls in the top gear alone, slip at the torque peak", topOnly),
		one("never-locks", "slip that begins in a change of gear and does not lock", neverLocks),
		one("never-locks-switch", "the same with a switch at the clutch pedal", neverLocks),
		one("slow-flanks", "slow flanks and a heavy tail of sizes", heavyTail),
		one("endless", "slip that does not end within the pull", endless),
		one("small", "two or three slips just above the asked size", small),
		one("rare", "two slips in an hour", rare),
		one("brief", "less than a second after changes of gear: below the asked size", brief),
		one("after-shifts", "a second or two after changes of gear under load, and never elsewhere", afterShifts),
		one("constant-share", "a constant share at any load", constant),
	}
	for i := range all {
		switch all[i].name {
		case "constant-ratio-noload", "large-noload":
			all[i].record = noLoad
		case "never-locks", "film":
			all[i].record = counting(nil, true, nil)
		case "never-locks-switch":
			all[i].record = counting(changed(touchSwitch), true, nil)
		case "after-shifts":
			all[i].record = counting(nil, false, &ask{3, 0.8})
			all[i].small = true
		case "brief":
			all[i].record = counting(nil, false, &ask{3, 0.25})
			all[i].small = true
		case "constant-share":
			all[i].share = true
			all[i].record = counting(nil, false, &ask{2, 1.5})
		}
	}
	return written(all...)
}

// inGear are the stretches (s) of one gear with the clutch locked.
func inGear(tr *sim.Truth) (out [][2]float64) {
	from := -1
	for i := range tr.T {
		on := tr.Clutch[i] == sim.Stuck && tr.Gear[i] > 0
		if from >= 0 && (!on || tr.Gear[i] != tr.Gear[from]) {
			out = append(out, [2]float64{tr.T[from], tr.T[i-1]})
			from = -1
		}
		if on && from < 0 {
			from = i
		}
	}
	return out
}

// afterChanges are the times (s) half a second after the clutch has locked from a change of gear into a pull.
func afterChanges(tr *sim.Truth) (out []float64) {
	for _, p := range pulls(tr, 50, 3) {
		if before := tr.At(p[0] - 1); tr.Gear[before] != tr.Gear[tr.At(p[0])] {
			out = append(out, p[0]+0.5)
		}
	}
	return out
}

// few puts a few slips into pulls, and none elsewhere.
func few(least, most int, low, high, short, long float64) func(*sim.Truth, *rand.Rand, int) {
	return func(tr *sim.Truth, rng *rand.Rand, _ int) {
		all := pulls(tr, 80, long+1)
		rng.Shuffle(len(all), func(a, b int) { all[a], all[b] = all[b], all[a] })
		for _, p := range all[:min(len(all), least+rng.IntN(most-least+1))] {
			dur := between(rng, short, long) + 0.6
			start := between(rng, p[0]+0.3, max(p[0]+0.3, p[1]-dur-0.2))
			tr.InjectShape(start, dur, hump(start, start+dur, between(rng, low, high), 0.3/dur, 0.3/dur))
		}
	}
}

// counting is a record (nil: as the link does), of which what was asked is judged otherwise.
func counting(record recorderFor, unlocked bool, size *ask) recorderFor {
	return then(record, func(c *Case, o *outing, k kind, _ *rand.Rand) {
		a := k.asked
		if size != nil {
			a = *size
		}
		c.Qualified = !o.sound && a.qualifies(o.truths, unlocked)
	})
}
