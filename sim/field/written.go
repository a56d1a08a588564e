package field

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"

	"flywitness/drive"
	"flywitness/sim"
)

// writtenClasses are tables as recorders write them; the reader of files is part of the case.
func writtenClasses() []Class {
	table := func(change tuning) recorderFor {
		return func(file string, k kind) recorder {
			return func(o *outing, rng *rand.Rand) Case {
				var c Case
				c.Vehicle, c.Gearbox = told(file, o.car, rng)
				lg := k.logger(rng)
				change(&lg, rng)
				for _, tr := range o.truths {
					var b strings.Builder
					if err := lg.WriteCSV(&b, tr, rng); err != nil {
						panic(err) // a strings.Builder does not fail
					}
					c.Texts = append(c.Texts, b.String())
				}
				c.Qualified = !o.sound && k.asked.qualifies(o.truths, false)
				return c
			}
		}
	}
	held := func(*sim.Logger, *rand.Rand) {}
	seconds := func(lg *sim.Logger, _ *rand.Rand) { lg.WholeSecondStamps = true }
	// A recorder whose rows carry made-up values, written to a file.
	rows := func(c *Case, o *outing, k kind, rng *rand.Rand) {
		for _, l := range c.Logs {
			var b strings.Builder
			if err := sim.WriteRows(&b, sim.Resampled(l, []float64{1, 2, 5, 10}[rng.IntN(4)], sim.Join(rng.IntN(3)))); err != nil {
				panic(err)
			}
			c.Texts = append(c.Texts, b.String())
		}
		c.Logs = nil
	}
	// The same, with the last value in each row, smoothed over a third of a second to a second.
	smoothed := func(c *Case, o *outing, k kind, rng *rand.Rand) {
		share := between(rng, 0.06, 0.15)
		speedAlone := chance(rng, 0.3)
		for _, l := range c.Logs {
			rows := sim.Resampled(l, 20, sim.Last)
			for _, ch := range rows.Channels {
				if !speedAlone || ch.Name == drive.VehicleSpeed {
					ch.V = sim.Smoothed(ch.V, share)
				}
			}
			var b strings.Builder
			if err := sim.WriteRows(&b, rows); err != nil {
				panic(err)
			}
			c.Texts = append(c.Texts, b.String())
		}
		c.Logs = nil
	}
	pauses := func(lg *sim.Logger, rng *rand.Rand) {
		lg.GapsPerHour, lg.GapMax = between(rng, 30, 120), between(rng, 2, 15)
	}
	seen := func(c *Case, o *outing, k kind, _ *rand.Rand) {
		c.Qualified = c.Qualified && k.asked.seen(o.truths, c.Logs)
	}
	// Two cars in one table, one after another, told apart by a column.
	cars := func(c *Case, _ *outing, _ kind, _ *rand.Rand) { c.Texts = []string{appended(c.Texts[0], c.Texts[1])} }
	two := recipe{minutes: 10, drives: 2, between: func(_ sim.Car, _ int, rng *rand.Rand) sim.Car { return anyCar(rng) }}
	both := spec{family: "written", name: "two-cars", describe: "one table of two cars, named by a column", link: "can", recipe: two, record: then(table(held), cars),
		soundOnly: true}.out()
	for i := range both {
		both[i].Refusable = true
	}
	return append(both, written(
		spec{family: "written", name: "held", describe: "every reply a row of all values, old ones repeated",
			link: "can", record: table(held), files: files},
		spec{family: "written", name: "held-slow", describe: "the same on a slow link",
			link: "kline", record: table(held)},
		spec{family: "written", name: "seconds", describe: "whole-second stamps and repeated values",
			link: "kline", record: table(seconds), files: files},
		spec{family: "written", name: "seconds-old", describe: "the same of a slow old recorder",
			link: "old", record: table(seconds)},
		spec{family: "written", name: "made-up", describe: "rows of made-up values at a fixed rate",
			link: "kline", record: then(nil, rows), files: files},
		spec{family: "written", name: "smoothed", describe: "twenty rows a second, each value smoothed before it was written",
			link: "can", record: then(nil, smoothed), files: files},
		spec{family: "written", name: "pauses", describe: "pauses of up to 15 s, one or two a minute",
			link: "can", record: then(changed(pauses), seen)},
	)...)
}

// appended is a table with the rows of another behind it under its own headings, the clock running on, and a column that
// names the car.
func appended(a, b string) string {
	var out strings.Builder
	var headings []string
	last := 0.0
	for n, text := range []string{a, b} {
		rows := strings.Split(strings.TrimSpace(text), "\n")
		own := strings.Split(rows[0], ",")
		if n == 0 {
			headings = own
			out.WriteString(rows[0] + ",Car\n")
		}
		start := last + 5*float64(n)
		for _, row := range rows[1:] {
			cells := strings.Split(row, ",")
			t, _ := strconv.ParseFloat(cells[0], 64) // WriteCSV wrote it
			last = start + t
			fmt.Fprintf(&out, "%.3f", last)
			for _, h := range headings[1:] {
				cell := "" // the other car has no such channel
				if i := slices.Index(own, h); i >= 0 {
					cell = cells[i]
				}
				out.WriteString("," + cell)
			}
			fmt.Fprintf(&out, ",%c\n", 'A'+n)
		}
	}
	return out.String()
}
