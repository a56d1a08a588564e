package field

import (
	"fmt"
	"math/rand/v2"

	"flywitness/sim"
)

// grid is ordinary driving: by length of drive, vehicle file, load channel and link. All of one length share their
// drives.
func grid() []Class {
	var out []Class
	for _, minutes := range []float64{2, 5, 10, 20, 60} {
		group := fmt.Sprintf("ordinary/%gmin", minutes)
		r := recipe{minutes: minutes}
		for _, file := range files {
			for _, load := range []string{"load", "noload"} {
				for _, k := range links {
					out = append(out, Class{
						Name: group + "/" + file + "/" + load + "/" + k.name, Family: "ordinary/" + file, Ordinary: true,
						Describe: fmt.Sprintf("%g minutes of an ordinary driver, %s, %s, %s", minutes, file, load, k.name),
						group:    group, drive: r.drive, record: single(file, load == "load", k),
					})
				}
			}
		}
	}
	return out
}

// single records one log with a link's honest recorder.
func single(file string, load bool, k kind) recorder {
	return with(file, k, func(lg *sim.Logger, _ *rand.Rand) {
		if !load {
			*lg = bare(*lg)
		}
	})
}

// with records each drive as a log with the link's recorder after a change.
func with(file string, k kind, change tuning) recorder {
	return func(o *outing, rng *rand.Rand) Case {
		var c Case
		c.Vehicle, c.Gearbox = told(file, o.car, rng)
		lg := k.logger(rng)
		if change != nil {
			change(&lg, rng)
		}
		for _, tr := range o.truths {
			c.Logs = append(c.Logs, lg.Record(tr, rng))
		}
		c.Qualified = !o.sound && k.asked.qualifies(o.truths, false)
		return c
	}
}
