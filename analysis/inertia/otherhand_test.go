package inertia

import (
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/vehicle"
)

// A second hand's simulation of free revs, off-throttle runs in gear and neutral coasts, apart from the
// project's own: balances of power, solved by Heun's method, and a logger with faults that a log cannot show.
// It answers whether the absolute inertia is right, or its interval or a refusal says that it is not known.

// otherCar is true; what the vehicle file says is told apart from it.
type otherCar struct {
	inertia, mass, wheels, radius, ratio, eta float64
	rolling, air                              float64 // N, N per (m/s)^2
	drag                                      float64 // factor on the engine's drag
}

func (c *otherCar) engineDrag(w float64) float64 { return c.drag * (18 + 0.03*w + 4e-5*w*w) }

// slowing is dv/dt off the throttle in gear: the power of mass, wheels and engine goes into road, air, engine
// drag and gearbox.
func (c *otherCar) slowing(v float64) float64 {
	k := c.ratio / c.radius
	carried := func(a float64) float64 { // torque at the gearbox input for a deceleration a
		return c.engineDrag(k*v) - c.inertia*k*a
	}
	lo, hi := 0.0, 30.0
	for range 60 { // power balance: (mass + wheels) a v = road v + carried w / eta
		mid := (lo + hi) / 2
		if (c.mass+c.wheels)*mid*v > c.road(v)*v+carried(mid)*k*v/c.eta {
			hi = mid
		} else {
			lo = mid
		}
	}
	return (lo + hi) / 2
}

func (c *otherCar) road(v float64) float64 { return c.rolling + c.air*v*v }

// film is engine speed (rpm), road speed (km/h) and accelerator (%) every 10 ms.
type film struct{ rpm, kmh, foot []float64 }

func (f *film) add(rpm, kmh, foot float64) {
	f.rpm, f.kmh, f.foot = append(f.rpm, rpm), append(f.kmh, kmh), append(f.foot, foot)
}

const frame = 0.01 // s

// down integrates x down from one value to another with Heun's method and shows each step.
func down(from, to float64, rate func(float64) float64, show func(float64)) {
	for x := from; x > to; {
		r := rate(x)
		x -= frame * (r + rate(x-frame*r)) / 2
		show(x)
	}
}

// shoot drives n free revs, and twice off the throttle in second gear, a neutral coast and a stop on the brake.
func (c *otherCar) shoot(n int, rng *rand.Rand) *film {
	const idle, rpm = 850.0, 30 / math.Pi
	f := &film{}
	rest := func(s float64, kmh float64) {
		for range int(s / frame) {
			f.add(idle, kmh, 0)
		}
	}
	k := c.ratio / c.radius
	usual := c.drag
	rest(6, 0)
	for range n {
		c.drag = usual * (1 + 0.015*rng.NormFloat64())
		top := 5200 + 150*rng.NormFloat64()
		for x := idle; x < top; x += frame * 5000 {
			f.add(x, 0, 80)
		}
		down(top/rpm, idle/rpm, func(w float64) float64 { return c.engineDrag(w) / c.inertia },
			func(w float64) { f.add(w*rpm, 0, 0) })
		rest(2.5, 0)
	}
	for range 2 {
		c.drag = usual * (1 + 0.015*rng.NormFloat64())
		top := 5100 / rpm / k
		for v := 0.0; v < top; v += frame * 2.2 {
			f.add(math.Max(idle, v*k*rpm), v*3.6, 50)
		}
		down(top, 1350/rpm/k, c.slowing, func(v float64) { f.add(v*k*rpm, v*3.6, 0) })
		for v := 1350 / rpm / k; v < 21; v += frame * 2 {
			f.add(math.Max(idle, v*k*rpm), v*3.6, 50)
		}
		down(21, 10.5, func(v float64) float64 { return c.road(v) / (c.mass + c.wheels) },
			func(v float64) { f.add(idle, v*3.6, 0) })
		// the brake
		down(10.5, 0, func(v float64) float64 { return 2 }, func(v float64) { f.add(idle, math.Max(0, v)*3.6, 0) })
		rest(4, 0)
	}
	c.drag = usual
	return f
}

// otherLogger asks for engine speed, road speed and accelerator in turn.
type otherLogger struct {
	rate, jitter float64 // requests a second; s
	lag          float64 // s of road speed
	smooth       float64 // s over which the logger means its values before it writes them
	blind        bool    // without the accelerator
	filter       float64 // s, time constant of a first-order filter on all of them
}

func (l otherLogger) record(f *film, rng *rand.Rand) *drive.Log {
	names := []string{drive.EngineSpeed, drive.VehicleSpeed, drive.Pedal}
	log := &drive.Log{Path: "otherhand"}
	for _, n := range names {
		log.Channels = append(log.Channels, &drive.Channel{Name: n})
	}
	sums := make([][]float64, 3)
	for i, x := range [][]float64{f.rpm, f.kmh, f.foot} {
		sums[i] = make([]float64, len(x)+1)
		y := x[0]
		for j, v := range x {
			if l.filter > 0 {
				y += (v - y) * frame / l.filter
				v = y
			}
			sums[i][j+1] = sums[i][j] + v
		}
	}
	at := func(i int, t float64) float64 {
		hi := min(len(f.rpm), max(1, int(t/frame)))
		lo := max(0, hi-max(1, int(l.smooth/frame)))
		return (sums[i][hi] - sums[i][lo]) / float64(hi-lo)
	}
	if l.blind {
		log.Channels = log.Channels[:2]
	}
	for q, t := 0, 0.1; t < float64(len(f.rpm)-1)*frame; q++ {
		i := q % len(log.Channels)
		v := at(i, t)
		if i == 1 {
			v = math.Floor(at(i, t-l.lag))
		}
		c := log.Channels[i]
		c.T, c.V = append(c.T, t+l.jitter*rng.NormFloat64()), append(c.V, v)
		t += (1 + 0.12*rng.NormFloat64()) / l.rate
	}
	return log
}

func small() otherCar {
	return otherCar{inertia: 0.19, mass: 1180, wheels: 36, radius: 0.295, ratio: 8.1, eta: 0.95, rolling: 135, air: 0.40,
		drag: 1}
}

// told is the vehicle file of that car.
func (c otherCar) told() *vehicle.Vehicle {
	return &vehicle.Vehicle{Mass: c.mass, MassSD: 0.015 * c.mass, Weighed: true,
		RollingCircumference: 2 * math.Pi * c.radius, WheelInertia: c.wheels * c.radius * c.radius / 4,
		Engine: vehicle.Engine{IdleRPM: 850}, Gearbox: vehicle.Gearbox{Ratios: []float64{3.5, 2.025, 1.4, 1.05},
			FinalDrive: 4, Efficiency: 0.95}}
}

// outcome is what came of a number of drives: relative errors, how many intervals hold the truth, how many
// drives gave nothing.
type outcome struct {
	miss         []float64
	inside, none int
	warned       map[string]int
}

// measured drives a car several times. change makes the true car another one than the vehicle file describes.
func measured(l otherLogger, drives int, change func(*otherCar)) outcome {
	o := outcome{warned: map[string]int{}}
	for i := range drives {
		rng := rand.New(rand.NewPCG(uint64(i), 77))
		c := small()
		v := c.told()
		if change != nil {
			change(&c)
		}
		log := l.record(c.shoot(6, rng), rng)
		cal, _ := calibrate.Learn([]*drive.Log{log}, v)
		f, w := Measure([]*drive.Log{log}, v, cal, Options{})
		for _, x := range w {
			o.warned[string(x.Code)]++
		}
		if f.Inertia == nil {
			o.none++
			continue
		}
		o.miss = append(o.miss, f.Inertia.Value/c.inertia-1)
		if f.Inertia.CI95[0] < c.inertia && c.inertia < f.Inertia.CI95[1] {
			o.inside++
		}
	}
	return o
}

// The absolute inertia of a clean log is not biased, on a quick link and on a K-line, though every coast-down
// ends on the brake; a car that rolls twice as hard as others is measured as well, since its coast-downs show
// it.
func TestAbsoluteInertiaIsNotBiased(t *testing.T) {
	for name, l := range map[string]otherLogger{"CAN": {rate: 24, jitter: 0.015, lag: 0.3},
		"K-line": {rate: 7.5, jitter: 0.04, lag: 0.3}, "no accelerator": {rate: 16, jitter: 0.02, lag: 0.3, blind: true}} {
		for kind, change := range map[string]func(*otherCar){"as told": nil,
			"rolling twice as heavy": func(c *otherCar) { c.rolling *= 2 }} {
			o := measured(l, 9, change)
			s := stats.Summarise(o.miss)
			if s.N < 8 || math.Abs(s.Mean) > 0.015+2*s.SD/math.Sqrt(float64(s.N)) || o.inside < s.N-1 {
				t.Errorf("%s, %s: off by %+.1f %% (sd %.1f) in %d drives, %d inside", name, kind, 100*s.Mean, 100*s.SD, s.N,
					o.inside)
			}
		}
	}
}

// A logger that smooths over as long as a run lasts takes away what no log shows. Either no absolute inertia is
// given, or its interval holds the truth.
func TestSmoothedLogsAreRefusedOrTheirIntervalHolds(t *testing.T) {
	for _, l := range []otherLogger{
		{filter: 0.3}, {filter: 0.6}, {filter: 1}, {filter: 1.5}, {filter: 3}, {smooth: 1}, {smooth: 2}, {smooth: 3},
		{smooth: 5},
	} {
		for _, rate := range []float64{16, 5} {
			l.rate, l.jitter, l.lag, l.blind = rate, 0.02, 0.3, true
			o := measured(l, 4, nil)
			if n := len(o.miss); n > 0 && o.inside < n {
				t.Errorf("%+v: %d of %d intervals hold the truth, off by %+.2f", l, o.inside, n, stats.Summarise(o.miss).Mean)
			}
			if (l.filter >= 1.5 || l.smooth >= 3) && len(o.miss) > 1 {
				t.Errorf("%+v: an inertia is given %d times from a log that is smoothed for as long as the falls last", l,
					len(o.miss))
			}
		}
	}
}
