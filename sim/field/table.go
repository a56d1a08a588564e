package field

import (
	"math/rand/v2"
	"slices"

	"flywitness/sim"
	"flywitness/vehicle"
)

// table is everything that is not an ordinary drive with an honest recorder.
func table() []Class {
	return slices.Concat(startClasses(), driverClasses(), roadClasses(), boxClasses(), gearClasses(), carClasses(), sourceClasses(), dialClasses(),
		delayClasses(), smoothClasses(), writtenClasses(), gapClasses(), channelClasses(), pairClasses(), fileClasses(), pieceClasses(), slipClasses())
}

type (
	recorder    func(o *outing, rng *rand.Rand) Case             // makes the case of drives
	recorderFor func(file string, k kind) recorder               // for a kind of vehicle file and a link
	tuning      func(lg *sim.Logger, rng *rand.Rand)             // changes a link's honest recorder
	amendment   func(c *Case, o *outing, k kind, rng *rand.Rand) // changes what came of it
)

// spec is a class before it is written out for each vehicle file.
type spec struct {
	family, name, describe string
	recipe                 recipe
	link                   string
	files                  []string // nil: full and none
	record                 recorderFor
	soundOnly, weakOnly    bool
	share, small           bool
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
			Share: s.share, Small: s.small, group: name, drive: s.recipe.drive, record: record,
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
func changed(change tuning) recorderFor {
	return func(file string, k kind) recorder { return with(file, k, change) }
}

// then is a record with a change of the case that comes of it.
func then(record recorderFor, change amendment) recorderFor {
	if record == nil {
		record = changed(nil)
	}
	return func(file string, k kind) recorder {
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
