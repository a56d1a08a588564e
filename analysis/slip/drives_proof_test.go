//go:build proof

package slip_test

import (
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"sync"
	"time"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/slip"
	"flywitness/drive"
	"flywitness/sim"
	"flywitness/vehicle"
)

// outing is one simulated drive with its log and what the analysis makes of it.
type outing struct {
	seed   uint64
	car    sim.Car
	truth  *sim.Truth
	logger sim.Logger
	log    *drive.Log
	told   *vehicle.Vehicle // what the analysis is told of the car

	cal     *calibrate.Calibration
	track   *gearstate.Track
	finding *slip.Finding
	took    time.Duration
}

// hours scales every proof: FLYWITNESS_PROOF_HOURS of healthy driving a link, 100 by default.
func hours() float64 {
	if h, err := strconv.ParseFloat(os.Getenv("FLYWITNESS_PROOF_HOURS"), 64); err == nil && h > 0 {
		return h
	}
	return 100
}

// anyCar draws a car, its speed source and a road: wet one time in five, hilly always.
func anyCar(rng *rand.Rand) (sim.Car, sim.Road) {
	cars := sim.Cars()
	car := cars[rng.IntN(len(cars))]
	v := *car.Vehicle
	if rng.IntN(2) == 0 {
		v.SpeedSource = vehicle.SourceDriven
	} else {
		v.SpeedSource = vehicle.SourceUndriven
	}
	car.Vehicle = &v
	car.Tyre.Creep = 0.015 + 0.03*rng.Float64()
	road := sim.HillyRoad(rng, 0.015, 300)
	if rng.IntN(5) == 0 {
		road = road.Wet()
	}
	return car, road
}

// told returns what a vehicle file of the car says: everything but the speed source; every third driver gives
// no gearbox.
func toldOf(car sim.Car, rng *rand.Rand) *vehicle.Vehicle {
	v := *car.Vehicle
	v.SpeedSource = vehicle.SourceUnknown
	if rng.IntN(3) == 0 {
		v.Gearbox.Ratios, v.Gearbox.FinalDrive = nil, 0
	}
	return &v
}

// drive runs a plan on one link and analyses it.
func newOuting(seed uint64, link sim.Link, plan func(car sim.Car, rng *rand.Rand) []sim.Action,
	change func(car *sim.Car, rng *rand.Rand)) *outing {
	rng := rand.New(rand.NewPCG(seed, uint64(link)+1))
	o := &outing{seed: seed}
	var road sim.Road
	o.car, road = anyCar(rng)
	if change != nil {
		change(&o.car, rng)
	}
	o.truth = sim.Drive(o.car, road, plan(o.car, rng), rng)
	o.logger = sim.RandomLogger(link, rng)
	o.told = toldOf(o.car, rng)
	return o
}

// record makes the log and analyses it.
func (o *outing) analyse(rng *rand.Rand) {
	o.log = o.logger.Record(o.truth, rng)
	start := time.Now()
	logs := []*drive.Log{o.log}
	o.cal, _ = calibrate.Learn(logs, o.told)
	o.track = o.cal.Decode(o.log)
	o.finding, _ = slip.Judge(logs, []*gearstate.Track{o.track}, o.told, o.cal, slip.Options{})
	o.took = time.Since(start)
}

// trueLag is what the calibration should find: the speed's lag and filter less the delay of engine speed.
func (o *outing) trueLag() float64 {
	return o.logger.SpeedLag + o.logger.SpeedFilter - o.car.RPMFilter
}

// trueK is the engine speed per reported km/h of the driven tyre tread.
func (o *outing) trueK(gear int) float64 {
	scale := o.logger.SpeedScale
	if scale == 0 {
		scale = 1
	}
	return o.car.Vehicle.RPMPerKmh(gear) / scale
}

// at returns truth's gear and clutch at a moment of the track.
func (o *outing) at(t float64) int { return o.truth.At(math.Max(0, t)) }

func mixed(minutes float64) func(sim.Car, *rand.Rand) []sim.Action {
	return func(_ sim.Car, rng *rand.Rand) []sim.Action {
		return []sim.Action{sim.Idle(5), sim.Traffic(rng, minutes, sim.MixedTraffic())}
	}
}

// each runs n drives, two at a time, and returns what they gave in order.
func each[T any](n int, do func(i int) T) []T {
	out := make([]T, n)
	var wait sync.WaitGroup
	work := make(chan int)
	for range 2 {
		wait.Go(func() {
			for i := range work {
				out[i] = do(i)
			}
		})
	}
	for i := range n {
		work <- i
	}
	close(work)
	wait.Wait()
	return out
}

// at returns the q quantile of x, NaN for none; x is sorted.
func at(x []float64, q float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	slices.Sort(x)
	return x[int(q*float64(len(x)-1)+0.5)]
}
