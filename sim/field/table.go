package field

import (
	"math/rand/v2"
	"slices"

	"flywitness/sim"
	"flywitness/vehicle"
)

// table is everything that is not an ordinary drive with an honest recorder.
func table() []Class {
	return slices.Concat(startClasses(), boxClasses(), gapClasses(), pairClasses(), dialClasses(), delayClasses(), smoothClasses(), gearClasses(), pieceClasses(),
		slipClasses())
}

// spec is a class before it is written out for each vehicle file.
type spec struct {
	family, name, describe string
	recipe                 recipe
	link                   string
	files                  []string // nil: full and none
	record                 func(file string, k kind) func(o *outing, rng *rand.Rand) Case
	soundOnly, weakOnly    bool
	share                  bool
}

// out writes a spec out for each of its files; they share their drives.
func (s spec) out() (all []Class) {
	kinds := s.files
	if kinds == nil {
		kinds = []string{full, none}
	}
	name := s.family + "/" + s.name
	if s.recipe.minutes == 0 {
		s.recipe.minutes = 15
	}
	for _, file := range kinds {
		record := with(file, link(s.link), nil)
		if s.record != nil {
			record = s.record(file, link(s.link))
		}
		all = append(all, Class{
			Name: name + "/" + file, Family: s.family + "/" + file, Describe: s.describe + "; " + file, SoundOnly: s.soundOnly, WeakOnly: s.weakOnly,
			Share: s.share, group: name, drive: s.recipe.drive, record: record,
		})
	}
	return all
}

func written(specs ...spec) (all []Class) {
	for _, s := range specs {
		all = append(all, s.out()...)
	}
	return all
}

// changed is a record with a change of the recorder.
func changed(change func(lg *sim.Logger, rng *rand.Rand)) func(string, kind) func(*outing, *rand.Rand) Case {
	return func(file string, k kind) func(*outing, *rand.Rand) Case { return with(file, k, change) }
}

// then is a record with a change of the case that comes of it.
func then(record func(string, kind) func(*outing, *rand.Rand) Case, change func(c *Case, o *outing, k kind, rng *rand.Rand)) func(string, kind) func(*outing, *rand.Rand) Case {
	if record == nil {
		record = changed(nil)
	}
	return func(file string, k kind) func(*outing, *rand.Rand) Case {
		inner := record(file, k)
		return func(o *outing, rng *rand.Rand) Case {
			c := inner(o, rng)
			change(&c, o, k, rng)
			return c
		}
	}
}

// driven is a plan by a change of the ordinary habits.
func driven(change func(h *sim.Habits, rng *rand.Rand)) func(*rand.Rand, sim.Car, float64) []sim.Action {
	return func(rng *rand.Rand, _ sim.Car, minutes float64) []sim.Action {
		h := habits(rng, minutes)
		change(&h, rng)
		return []sim.Action{sim.Roam(rng, minutes, h)}
	}
}

// car is the ordinary car with a change.
func altered(change func(c *sim.Car, rng *rand.Rand)) func(rng *rand.Rand) sim.Car {
	return func(rng *rand.Rand) sim.Car {
		c := anyCar(rng)
		change(&c, rng)
		return c
	}
}

func undriven(c *sim.Car, _ *rand.Rand) { c.Vehicle.SpeedSource = vehicle.SourceUndriven }

func wet(rng *rand.Rand) sim.Road {
	r := anyRoad(rng)
	r.Mu = between(rng, 0.45, 0.65)
	return r
}

// startClasses are ways of setting off.
func startClasses() []Class {
	second := func(h *sim.Habits, rng *rand.Rand) {
		h.SecondStarts, h.StopShare, h.Town = between(rng, 0.6, 1), 0.6, 0.8
		h.Launches = []sim.LaunchStyle{sim.NormalLaunch, sim.HardLaunch, sim.LongLaunch}
	}
	brisk := func(h *sim.Habits, rng *rand.Rand) {
		h.StopShare = 0.6
		h.Launches = []sim.LaunchStyle{sim.HardLaunch, sim.HardLaunch, sim.LongLaunch, sim.SpinLaunch}
		h.Opening = [2]float64{0.5, 1}
	}
	spins := func(c *sim.Car, rng *rand.Rand) { undriven(c, rng); c.Driver.KeepsFoot = true }
	return written(
		spec{family: "start", name: "second", describe: "sets off in second gear again and again", link: "can", recipe: recipe{plan: driven(second)}, files: files},
		spec{family: "start", name: "hard", describe: "many hard, long and dropped starts", link: "canmulti", recipe: recipe{plan: driven(brisk)}, files: files},
		spec{family: "start", name: "wheelspin", describe: "wheels spin while setting off on a wet road; speed from wheels that do not", link: "can",
			recipe: recipe{plan: driven(brisk), road: wet, car: altered(spins)}, files: files},
	)
}

// gapClasses are logs with values missing where it matters.
func gapClasses() []Class {
	inSlips := func(dur float64) func(c *Case, o *outing, k kind, rng *rand.Rand) {
		return func(c *Case, o *outing, _ kind, rng *rand.Rand) {
			for i, l := range c.Logs {
				c.Logs[i] = sim.Without(l, gaps(o.truths[i], dur, rng))
			}
		}
	}
	return written(
		spec{family: "gap", name: "1s", describe: "a second without values inside each slip (a sound clutch: inside each pull)", link: "can", record: then(nil, inSlips(1)), files: files},
		spec{family: "gap", name: "1s-fast", describe: "the same on a fast link", link: "canmulti", record: then(nil, inSlips(1))},
		spec{family: "gap", name: "2s", describe: "two seconds", link: "can", record: then(nil, inSlips(2))},
	)
}

// gaps are spans without values: one within each slip of half a second and more, or within each stretch of full accelerator where there is none.
func gaps(tr *sim.Truth, dur float64, rng *rand.Rand) (spans [][2]float64) {
	for _, e := range tr.Events {
		if e.EndS-e.StartS > 0.5 {
			mid := e.StartS + (e.EndS-e.StartS)*between(rng, 0.3, 0.7)
			spans = append(spans, [2]float64{mid - dur/2, mid + dur/2})
		}
	}
	if len(spans) > 0 {
		return spans
	}
	for _, p := range pulls(tr, 70, 2) {
		mid := p[0] + (p[1]-p[0])*between(rng, 0.3, 0.7)
		spans = append(spans, [2]float64{mid - dur/2, mid + dur/2})
	}
	return spans
}

// pulls are the stretches (s) of a locked clutch in one gear from second up with the accelerator at least so far down, lasting at least dur s.
func pulls(tr *sim.Truth, pedal, dur float64) (out [][2]float64) {
	from := -1
	for i := range tr.T {
		on := tr.Clutch[i] == sim.Stuck && tr.Gear[i] >= 2 && tr.Pedal[i] >= pedal
		if from >= 0 && (!on || tr.Gear[i] != tr.Gear[from]) {
			if tr.T[i]-tr.T[from] >= dur {
				out = append(out, [2]float64{tr.T[from], tr.T[i-1]})
			}
			from = -1
		}
		if on && from < 0 {
			from = i
		}
	}
	return out
}

// pairClasses are two logs in one call.
func pairClasses() []Class {
	second := func(change func(lg *sim.Logger, rng *rand.Rand)) func(string, kind) func(*outing, *rand.Rand) Case {
		return func(file string, k kind) func(*outing, *rand.Rand) Case {
			return func(o *outing, rng *rand.Rand) Case {
				var c Case
				c.Vehicle, c.Gearbox = told(file, o.car, rng)
				lg := k.logger(rng)
				for i, tr := range o.truths {
					if i > 0 {
						change(&lg, rng)
					}
					c.Logs = append(c.Logs, lg.Record(tr, rng))
				}
				c.Qualified = !o.sound && k.asked.qualifies(o.truths, false)
				return c
			}
		}
	}
	tyre := func(lg *sim.Logger, rng *rand.Rand) { lg.SpeedScale *= 1 + 0.03*sign(rng) }
	delay := func(lg *sim.Logger, rng *rand.Rand) { lg.SpeedLag += 0.3 }
	other := func(lg *sim.Logger, rng *rand.Rand) {
		scale := lg.SpeedScale
		*lg = honest([]sim.Link{sim.KLine, sim.CANMulti}[rng.IntN(2)], rng)
		lg.SpeedScale = scale
	}
	all := func(lg *sim.Logger, rng *rand.Rand) { other(lg, rng); tyre(lg, rng) }
	r := recipe{minutes: 10, drives: 2}
	return written(
		spec{family: "pair", name: "tyre", describe: "two logs whose speed differs by 3 %", link: "can", recipe: r, record: second(tyre), files: files},
		spec{family: "pair", name: "delay", describe: "two logs whose delay differs by 0.3 s", link: "can", recipe: r, record: second(delay), files: files},
		spec{family: "pair", name: "link", describe: "two logs by two links", link: "can", recipe: r, record: second(other)},
		spec{family: "pair", name: "all", describe: "two logs by two links with two tyres", link: "can", recipe: r, record: second(all)},
	)
}

func sign(rng *rand.Rand) float64 { return float64(2*rng.IntN(2) - 1) }

// dialClasses are speeds that are not in proportion to the truth, all lawful.
func dialClasses() []Class {
	offset := func(lg *sim.Logger, rng *rand.Rand) { lg.Dial.Offset = between(rng, 1.5, 4) }
	growth := func(lg *sim.Logger, rng *rand.Rand) { lg.Dial.Growth = between(rng, 0.015, 0.05) }
	both := func(lg *sim.Logger, rng *rand.Rand) { offset(lg, rng); growth(lg, rng) }
	return written(
		spec{family: "dial", name: "offset", describe: "speed 1.5-4 km/h too high", link: "can", record: changed(offset), files: files},
		spec{family: "dial", name: "growth", describe: "speed too high in proportion to itself, 1.5-5 % at 100 km/h", link: "can", record: changed(growth)},
		spec{family: "dial", name: "both", describe: "offset and growth", link: "canmulti", record: changed(both)},
	)
}

// delayClasses are delays that do not stay.
func delayClasses() []Class {
	wanders := func(lg *sim.Logger, rng *rand.Rand) {
		lg.LagWander, lg.LagTau = between(rng, 0.1, 0.3), between(rng, 5, 120)
	}
	large := func(lg *sim.Logger, rng *rand.Rand) {
		lg.SpeedLag, lg.SpeedFilter = between(rng, 0.7, 1.2), between(rng, 0.1, 0.6)
	}
	late := func(lg *sim.Logger, rng *rand.Rand) {
		lg.RPMLag, lg.RPMAverage = between(rng, 0.2, 0.7), between(rng, 0, 0.5)
	}
	bursts := func(lg *sim.Logger, rng *rand.Rand) {
		lg.BurstShare, lg.BurstS = between(rng, 0.1, 0.5), between(rng, 0.4, 1.2)
	}
	coloured := func(lg *sim.Logger, rng *rand.Rand) {
		lg.Jitter, lg.JitterTau = between(rng, 0.05, 0.15), between(rng, 1, 20)
	}
	return written(
		spec{family: "delay", name: "wanders", describe: "a delay that wanders by 0.1-0.3 s over 5-120 s", link: "can", record: changed(wanders), files: files},
		spec{family: "delay", name: "large", describe: "a speed late by 0.8-1.8 s", link: "can", record: changed(large)},
		spec{family: "delay", name: "rpm-late", describe: "an engine speed late and averaged", link: "can", record: changed(late)},
		spec{family: "delay", name: "bursts", describe: "stamps late in bursts", link: "can", record: changed(bursts)},
		spec{family: "delay", name: "coloured", describe: "stamp errors that last", link: "can", record: changed(coloured)},
	)
}

// smoothClasses are recorders that make values up.
func smoothClasses() []Class {
	averaged := func(lg *sim.Logger, rng *rand.Rand) {
		lg.Dial.Average = between(rng, 0.5, 2)
		if chance(rng, 0.5) {
			lg.RPMAverage = lg.Dial.Average
		}
	}
	exponential := func(lg *sim.Logger, rng *rand.Rand) { lg.SpeedFilter = between(rng, 0.4, 1.2) }
	joined := func(how sim.Join) func(c *Case, o *outing, k kind, rng *rand.Rand) {
		return func(c *Case, o *outing, k kind, rng *rand.Rand) {
			for i, l := range c.Logs {
				c.Logs[i] = sim.Resampled(l, []float64{2, 4, 5, 10}[rng.IntN(4)], how)
			}
		}
	}
	slower := changed(func(lg *sim.Logger, rng *rand.Rand) { lg.RateHz = between(rng, 1.2, 4) })
	return written(
		spec{family: "smooth", name: "average", describe: "speed (and engine speed half the time) averaged over 0.5-2 s", link: "can", record: changed(averaged), files: files},
		spec{family: "smooth", name: "exponential", describe: "speed filtered with 0.4-1.2 s", link: "can", record: changed(exponential)},
		spec{family: "smooth", name: "line", describe: "values on straight lines between polls, at a fixed rate", link: "kline", record: then(slower, joined(sim.Straight))},
		spec{family: "smooth", name: "spline", describe: "values on a spline through polls, at a fixed rate", link: "kline", record: then(slower, joined(sim.Spline)), files: files},
		spec{family: "smooth", name: "fitted", describe: "values on fitted curves, at a fixed rate", link: "kline", record: then(slower, joined(sim.Fitted)), files: files},
	)
}

// gearClasses are gears unlike those of most cars.
func gearClasses() []Class {
	close := func(lo, hi float64, n int) func(c *sim.Car, rng *rand.Rand) {
		return func(c *sim.Car, rng *rand.Rand) {
			g := &c.Vehicle.Gearbox
			x := g.Ratios[len(g.Ratios)-1]
			r := make([]float64, n)
			for i := n - 1; i >= 1; i-- {
				r[i] = round(x, 0.001)
				x *= 1 + between(rng, lo, hi)
			}
			r[0] = round(max(r[1]*1.2, g.Ratios[0]*between(rng, 0.7, 0.9)), 0.001)
			g.Ratios = r
		}
	}
	return written(
		spec{family: "gears", name: "4-8pct", describe: "gears 4-8 % apart", link: "canmulti", recipe: recipe{car: altered(close(0.04, 0.08, 6))}, files: files},
		spec{family: "gears", name: "6-15pct", describe: "gears 6-15 % apart", link: "can", recipe: recipe{car: altered(close(0.06, 0.15, 6))}, files: files},
		spec{family: "gears", name: "seven", describe: "seven gears 10-20 % apart", link: "can", recipe: recipe{car: altered(close(0.1, 0.2, 7))}},
	)
}

// pieceClasses are pieces of drives.
func pieceClasses() []Class {
	cut := func(lo, hi float64) func(c *Case, o *outing, k kind, rng *rand.Rand) {
		return func(c *Case, o *outing, k kind, rng *rand.Rand) {
			dur := between(rng, lo, hi)
			tr := o.truths[0]
			from := between(rng, 0, max(0, tr.Duration()-dur))
			if e := tr.Events; len(e) > 0 && !o.sound {
				from = max(0, e[rng.IntN(len(e))].StartS-between(rng, 0.2, 0.8)*dur)
			}
			c.Logs[0] = sim.Cut(c.Logs[0], from, from+dur)
			c.Zero = []float64{from}
			c.Qualified = c.Qualified && k.asked.within(tr, from+1, from+dur-1, false) >= 2
		}
	}
	r := recipe{minutes: 10}
	return written(
		spec{family: "piece", name: "60-90s", describe: "60-90 s cut out of a drive", link: "can", recipe: r, record: then(nil, cut(60, 90)), files: files},
		spec{family: "piece", name: "60-90s-fast", describe: "the same on a fast link", link: "canmulti", recipe: r, record: then(nil, cut(60, 90)), files: files},
		spec{family: "piece", name: "20-40s", describe: "20-40 s cut out of a drive", link: "canmulti", recipe: r, record: then(nil, cut(20, 40))},
	)
}

// slipClasses are clutches that slip in their own ways. Their sound side is left to other classes where nothing else is unusual.
func slipClasses() []Class {
	ratio := func(tr *sim.Truth, rng *rand.Rand, _ int) {
		share := between(rng, 0.05, 0.2)
		for _, p := range pulls(tr, 60, 2) {
			tr.InjectShape(p[0], p[1]-p[0], func(t float64) float64 { return share * min(1, (t-p[0])/0.3, (p[1]-t)/0.3) })
		}
	}
	noLoad := func(lg *sim.Logger, _ *rand.Rand) { *lg = bare(*lg) }
	large := func(c *sim.Car, rng *rand.Rand, try int) { weaken(c, rng, 0.4, 0.65); c.Driver.LiftsOnFlare = false }
	return written(
		spec{family: "slip", name: "constant-ratio", describe: "slip of one constant ratio in each pull", link: "can", weakOnly: true, recipe: recipe{after: ratio}, files: files},
		spec{family: "slip", name: "constant-ratio-noload", describe: "the same without a load channel", link: "can", weakOnly: true, recipe: recipe{after: ratio}, record: changed(noLoad)},
		spec{family: "slip", name: "large-noload", describe: "a clutch that holds half of the torque, without a load channel", link: "can", weakOnly: true, recipe: recipe{weak: large}, record: changed(noLoad), files: files},
	)
}
