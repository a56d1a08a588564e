// Package field is the world outside the analysis: cars, roads, recorders, vehicle files and drivers that were
// thought up without looking at what the analysis takes for granted. Each Class makes logs of one kind, with a
// sound clutch and with one that slips, and says of each what is true. docs/proof-assumptions.md lists what each
// class breaks.
//
// Only tests, proofs and the demo may import it. A case depends on its class, number and side alone.
package field

import (
	"hash/fnv"
	"math/rand/v2"
	"slices"

	"flywitness/drive"
	"flywitness/sim"
	"flywitness/vehicle"
)

// Case is what somebody brings: logs, what he knows of the car, and what is true.
type Case struct {
	Class     string
	Seed      uint64
	Sound     bool
	Logs      []*drive.Log
	Texts     []string         // tables as a recorder wrote them: the caller reads them as files, and they come after Logs
	Vehicle   *vehicle.Vehicle // what the analysis is told; nil: no file
	Gearbox   string           // what the caller tells of the gearbox beside a file: "" or "manual"
	Truths    []*sim.Truth     // one a log, Logs first
	Zero      []float64        // s of each truth at which its log's clock starts
	Dry       bool             // all of it on paved roads that were dry
	Qualified bool             // a weak clutch that slipped as much as is asked of the link: see Asked
	Note      string
}

// Class is one kind of log.
type Class struct {
	Name      string
	Family    string // what its totals are counted under
	Describe  string
	Ordinary  bool // an ordinary drive of a manual car with an honest recorder: false alarms are counted by the hour
	SoundOnly bool // has no weak side
	WeakOnly  bool
	Small     bool // slips less than is asked: told, not held against anybody
	Refusable bool // an error of the reader is a right answer
	Share     bool // a constant share at any load: a gear ratio, which no log can hold against another

	group  string // classes of a group share their drives
	drive  func(rng *rand.Rand, sound bool, seed uint64) *outing
	record recorder
}

// outing is one or more drives with one car.
type outing struct {
	car    sim.Car
	truths []*sim.Truth
	sound  bool
	dry    bool
	note   string
}

// Group returns the name under which classes share their drives.
func (c Class) Group() string { return c.group }

// Drives is what the classes of a group share for one seed and side.
type Drives struct {
	group string
	seed  uint64
	sound bool
	o     *outing
}

// Drive makes the drives of the class's group.
func (c Class) Drive(seed uint64, sound bool) Drives {
	return Drives{c.group, seed, sound, c.drive(source(c.group, seed, sound), sound, seed)}
}

// From records the class's case out of drives of its group.
func (c Class) From(d Drives) Case {
	if d.group != c.group {
		panic("field: drives of group " + d.group + " given to class " + c.Name)
	}
	k := c.record(d.o, source(c.Name, d.seed, d.sound))
	k.Class, k.Seed, k.Sound, k.Dry, k.Truths = c.Name, d.seed, d.sound, d.o.dry, d.o.truths
	if d.o.note != "" {
		k.Note = d.o.note + " " + k.Note
	}
	if k.Zero == nil {
		k.Zero = make([]float64, len(k.Truths))
	}
	return k
}

// Make makes one case.
func (c Class) Make(seed uint64, sound bool) Case { return c.From(c.Drive(seed, sound)) }

// source is the chance of one name, seed and side.
func source(name string, seed uint64, sound bool) *rand.Rand {
	h := fnv.New64a()
	h.Write([]byte(name))
	side := uint64(0)
	if sound {
		side = 1
	}
	return rand.New(rand.NewPCG(h.Sum64()+side, seed))
}

// Classes returns all classes: the grid of ordinary drives first.
func Classes() []Class {
	return slices.Concat(grid(), table())
}

func between(rng *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }

func chance(rng *rand.Rand, p float64) bool { return rng.Float64() < p }

// TenHours are thirty sound drives of twenty minutes, ten hours in all: each a car, a road and a driver of its own,
// by turns over the links, the vehicle files, and with and without a load channel. Each call of one makes its case.
func TenHours(seed uint64) []func() Case {
	var out []func() Case
	r := recipe{minutes: 20}
	for i := range 30 {
		k, file, load := links[i%len(links)], files[i/len(links)%len(files)], i%3 != 0
		c := Class{Name: "ten-hours", Family: "ordinary/" + file, Ordinary: true, group: "ten-hours", drive: r.drive, record: single(file, load, k)}
		out = append(out, func() Case { return c.Make(seed*1000+uint64(i), true) })
	}
	return out
}
