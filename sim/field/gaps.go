package field

import (
	"math/rand/v2"

	"flywitness/sim"
)

// gapClasses are logs with values missing where it matters.
func gapClasses() []Class {
	inSlips := func(dur float64) amendment {
		return func(c *Case, o *outing, _ kind, rng *rand.Rand) {
			for i, l := range c.Logs {
				c.Logs[i] = sim.Without(l, gaps(o.truths[i], dur, rng))
			}
		}
	}
	short := recipe{after: few(3, 6, 0.04, 0.12, 1.3, 2)}
	return written(
		spec{family: "gap", name: "short-slips", describe: "a second without values in the middle of each short slip",
			link: "can", recipe: short, record: then(nil, inSlips(1)), files: files,
			weakOnly: true},
		spec{family: "gap", name: "1s", describe: "a second without values inside each slip (a sound clutch: inside each pull)",
			link: "can", record: then(nil, inSlips(1)), files: files},
		spec{family: "gap", name: "1s-fast", describe: "the same on a fast link",
			link: "canmulti", record: then(nil, inSlips(1))},
		spec{family: "gap", name: "2s", describe: "two seconds", link: "can", record: then(nil, inSlips(2))},
	)
}

// gaps are spans without values: one within each slip of half a second and more, or within each stretch of full
// accelerator where there is none.
func gaps(tr *sim.Truth, dur float64, rng *rand.Rand) (spans [][2]float64) {
	for _, e := range tr.Events {
		if e.EndS-e.StartS > 0.5 {
			mid := e.StartS + (e.EndS-e.StartS)*between(rng, 0.4, 0.6)
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

// pulls are the stretches (s) of a locked clutch in one gear from second up with the accelerator at least so far
// down, lasting at least dur s.
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

// pieceClasses are pieces of drives.
func pieceClasses() []Class {
	cut := func(lo, hi float64) amendment {
		return func(c *Case, o *outing, k kind, rng *rand.Rand) {
			dur := between(rng, lo, hi)
			tr := o.truths[0]
			from := between(rng, 0, max(0, tr.Duration()-dur))
			// A weak clutch is looked at where it slipped; the clock of a piece begins anew.
			for range 30 {
				if o.sound || k.asked.within(tr, from+1, from+dur-1, false) >= 2 {
					break
				}
				if e := tr.Events; len(e) > 0 {
					from = max(0, e[rng.IntN(len(e))].StartS-between(rng, 0.1, 0.8)*dur)
				}
			}
			c.Logs[0] = sim.Cut(c.Logs[0], from, from+dur)
			c.Zero = []float64{from}
			c.Qualified = c.Qualified && k.asked.within(tr, from+1, from+dur-1, false) >= 2
		}
	}
	r := recipe{minutes: 10}
	return written(
		spec{family: "piece", name: "60-90s", describe: "60-90 s cut out of a drive",
			link: "can", recipe: r, record: then(nil, cut(60, 90)), files: files},
		spec{family: "piece", name: "60-90s-fast", describe: "the same on a fast link",
			link: "canmulti", recipe: r, record: then(nil, cut(60, 90)), files: files},
		spec{family: "piece", name: "20-40s", describe: "20-40 s cut out of a drive",
			link: "canmulti", recipe: r, record: then(nil, cut(20, 40))},
	)
}
