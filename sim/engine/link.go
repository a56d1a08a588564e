package engine

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"flywitness/drive"
)

// Link is a way to the control unit's values: so many requests a second, of which all but the listed ones are asked
// for in turn.
type Link struct {
	Name     string
	RateHz   float64 // requests a second
	Jitter   float64 // s, standard deviation of a time stamp's error
	Together bool    // all in one reply
}

// The three links.
var (
	KLine    = Link{"K-line 2.5 Hz", 2.5, 0.040, false}
	CAN      = Link{"CAN 8 Hz", 8, 0.020, false}
	CANMulti = Link{"CAN 20 Hz", 20, 0.010, true}
)

// Gives says which of the values that a car may lack are given.
type Gives struct {
	Air, Trims, Pressure, FuelRate, Oil, Voltage, Status, Lambda, Spark, Purge bool
}

// Everything is a car that gives all of a petrol engine's.
func Everything() Gives {
	return Gives{Air: true, Trims: true, Pressure: true, Oil: true, Voltage: true, Status: true, Lambda: true, Spark: true, Purge: true}
}

// OfDiesel is a car that gives what a diesel has.
func OfDiesel() Gives { return Gives{FuelRate: true, Pressure: true, Oil: true, Voltage: true} }

// polled returns what is asked for in a hold and in a fall, as often as can be and now and then.
func (g Gives) polled() (hold, fall, holdSlow, fallSlow []string) {
	hold, fall = []string{drive.EngineSpeed}, []string{drive.EngineSpeed}
	add := func(given bool, to *[]string, names ...string) {
		if given {
			*to = append(*to, names...)
		}
	}
	pays := ""
	switch {
	case g.FuelRate:
		pays = drive.FuelRate
	case g.Air:
		pays = drive.AirFlow
	case g.Pressure:
		pays = drive.IntakePressure
	}
	add(pays != "", &hold, pays)
	// Trims move slowly: each is asked for half as often as what they belong to.
	add(g.Trims, &hold, drive.ShortFuelTrim, drive.EngineSpeed, pays, drive.LongFuelTrim)
	holdSlow = []string{drive.VehicleSpeed, drive.CoolantTemp, drive.IntakeTemp, drive.BarometricPressure}
	add(g.Status, &holdSlow, drive.FuelSystemStatus)
	add(g.Lambda, &holdSlow, drive.CommandedLambda)
	add(g.Oil, &holdSlow, drive.OilTemp)
	add(g.Spark, &holdSlow, drive.SparkAdvance)
	add(g.Purge, &holdSlow, drive.CanisterPurge)
	add(g.Voltage, &holdSlow, drive.ModuleVoltage)
	// The manifold and the voltage of each fall count, the rest is asked for now and then.
	add(g.Pressure, &fallSlow, drive.IntakePressure)
	add(g.Voltage, &fallSlow, drive.ModuleVoltage)
	add(g.Pressure, &fallSlow, drive.IntakePressure)
	add(g.Voltage, &fallSlow, drive.ModuleVoltage)
	add(g.Status, &fallSlow, drive.FuelSystemStatus)
	add(g.FuelRate, &fallSlow, drive.FuelRate)
	add(len(fallSlow) == 0, &fallSlow, drive.VehicleSpeed)
	return hold, fall, holdSlow, fallSlow
}

// recorder samples a sitting.
type recorder struct {
	tr       *Trace
	link     Link
	rng      *rand.Rand
	log      *drive.Log
	channels map[string]*drive.Channel
}

// Record returns the log that a link makes of a sitting: in the falls engine speed as often as can be and one of
// the rest each second, in the holds what pays for the drag in turn and one of the rest every fifth request at
// most.
func (l Link) Record(tr *Trace, g Gives, rng *rand.Rand) *drive.Log {
	r := &recorder{tr: tr, link: l, rng: rng, log: &drive.Log{Path: strings.ReplaceAll(l.Name, " ", "-") + ".csv"}, channels: map[string]*drive.Channel{}}
	hold, fall, holdSlow, fallSlow := g.polled()
	turn, slow := 0, 0
	nextSlow := 0.0
	for t := 0.05; t < tr.seconds()-0.1; {
		fast, others, pause := fall, fallSlow, max(0.5, 3/l.RateHz)
		if tr.at(t).kind != Fall {
			fast, others, pause = hold, holdSlow, max(0.5, 5/l.RateHz)
		}
		if t >= nextSlow {
			r.ask(others[slow%len(others)], t)
			slow++
			nextSlow = t + pause
		} else {
			if l.Together {
				for i, name := range fast {
					if !slices.Contains(fast[:i], name) {
						r.ask(name, t)
					}
				}
			} else {
				r.ask(fast[turn%len(fast)], t)
				turn++
			}
		}
		t += max(0.2, 1+0.12*rng.NormFloat64()) / l.RateHz
	}
	return r.log
}

func (tr *Trace) at(t float64) *state {
	return &tr.states[min(max(int(t/kept), 0), len(tr.states)-1)]
}

// rpm is the engine speed at t s, between the states that are kept.
func (tr *Trace) rpm(t float64) float64 {
	p := t / kept
	i := min(max(int(p), 0), len(tr.states)-2)
	a, b := tr.states[i].rpm, tr.states[i+1].rpm
	return a + (p-float64(i))*(b-a)
}

func (r *recorder) ask(name string, t float64) {
	c := r.channels[name]
	if c == nil {
		c = &drive.Channel{Name: name}
		r.channels[name] = c
		r.log.Channels = append(r.log.Channels, c)
	}
	c.T = append(c.T, t+r.link.Jitter*r.rng.NormFloat64())
	c.V = append(c.V, r.value(name, t))
}

// value is what the control unit would tell at t s, with the steps of SAE J1979 (from memory).
func (r *recorder) value(name string, t float64) float64 {
	s, d := r.tr.at(t), &r.tr.day
	noise := r.rng.NormFloat64
	to := func(x, by float64) float64 { return math.Round(x/by) * by }
	switch name {
	case drive.EngineSpeed:
		return to(r.tr.rpm(t), 0.25)
	case drive.AirFlow:
		// The charge pulsates past the meter: one sample is a moment of it.
		return to(s.air*s.meter*(1+0.015*noise()), 0.01)
	case drive.IntakePressure:
		if d.PressureStuck > 0 {
			return d.PressureStuck
		}
		return to(s.pressure+d.PressureOffset+0.3*noise(), 1)
	case drive.FuelRate:
		return to(s.fuelFlow*3.6/0.835/d.Injectors*(1+0.01*noise()), 0.05)
	case drive.ShortFuelTrim:
		return to(100*s.short, 100.0/128)
	case drive.LongFuelTrim:
		return to(100*s.long, 100.0/128)
	case drive.CommandedLambda:
		return to(s.lambda, 2.0/65536)
	case drive.FuelSystemStatus:
		switch {
		case s.cut:
			return 4
		case d.OpenLoop:
			return 1
		}
		return 2
	case drive.SparkAdvance:
		return to(r.tr.engine.spark(d)+noise(), 0.5)
	case drive.CanisterPurge:
		return to(max(0, d.PurgePct), 100.0/255)
	case drive.OilTemp:
		return to(s.oil, 1)
	case drive.CoolantTemp:
		return to(d.Coolant, 1)
	case drive.IntakeTemp:
		return to(d.Air, 1)
	case drive.BarometricPressure:
		return to(d.Pressure, 1)
	case drive.ModuleVoltage:
		return to(s.voltage+0.03*noise(), 0.001)
	}
	return 0 // the car stands
}
