package engine

import (
	"math"
	"math/rand/v2"
)

// Kind of a phase.
type Kind int

// The phases of a sitting.
const (
	Idle  Kind = iota // stand at idle for Seconds
	Hold              // bring the engine to RPM and keep it there for Seconds
	Fall              // rev beyond RPM, let go, and let it fall to idle
	Start             // stand still for Seconds, then start
	Again             // hold each speed once more whose two holds took flows that differ by more than 2.5 %, as the driver is told to
)

// Phase is one thing that the foot does. Oil is the oil's temperature from here on, 0: as it was.
type Phase struct {
	Kind    Kind
	RPM     float64
	Seconds float64
	Oil     float64
}

// Protocol is what one sitting drives: both speeds held before the falls and after them, one sitting's six minutes.
// With 0 seconds it idles instead.
func Protocol(low, high, seconds, peak float64, falls int, rng *rand.Rand) []Phase {
	p := []Phase{{Kind: Idle, Seconds: 4}}
	at := func(rpm float64) Phase {
		return Phase{Kind: Hold, RPM: rpm + 30*rng.NormFloat64(), Seconds: seconds}
	}
	holds := func() {
		if seconds <= 0 {
			p = append(p, Phase{Kind: Idle, Seconds: 20})
			return
		}
		p = append(p, at(low), at(high), Phase{Kind: Idle, Seconds: 1})
	}
	holds()
	for range falls {
		p = append(p, Phase{Kind: Fall, RPM: peak + 150*math.Abs(rng.NormFloat64())}, Phase{Kind: Idle, Seconds: 1 + rng.Float64()})
	}
	holds()
	return append(p, Phase{Kind: Again, Seconds: seconds}, Phase{Kind: Idle, Seconds: 1})
}

// state is what is true at one instant.
type state struct {
	rpm, pressure float64 // rpm; kPa in the manifold
	air           float64 // g/s past the meter
	short, long   float64 // trims, relative
	fuelFlow      float64 // g/s that is burned
	voltage, oil  float64
	cut, open     bool // fuel is cut; the foot is on the accelerator
	lambda        float64
	meter         float64 // factor of shown air
	kind          Kind
}

const (
	kept = 0.01     // s between the states that are kept
	fine = kept / 2 // s, a step in a fall; else every step's is kept
)

// Trace is a sitting as it was, every 10 ms from 0.
type Trace struct {
	engine *Engine
	day    Day
	states []state
}

// seconds is how long it was.
func (tr *Trace) seconds() float64 { return float64(len(tr.states)) * kept }

// running is the engine while it runs.
type running struct {
	e         *Engine
	d         Day
	rng       *rand.Rand
	s         state
	area      float64 // g/s at sonic flow, of throttle and foot
	shut      float64 // the same of the shut throttle and the idle air
	idleSum   float64
	seen      float64 // rpm, as the driver saw it a moment ago
	drag      float64 // factor of this phase
	electric  float64 // W
	thick     float64 // viscosity
	gearbox   float64 // of the gearbox's oil, against that at 60 C
	wrong     float64 // what the trims have to add in this phase, less leak and demand
	cycle     float64 // of the mixture's control
	demand    float64 // relative, that creeps in a hold
	dt        float64 // s, of a step
	turn      int
	held      []held
	out       []state
	gasKelvin float64
}

// held is a hold that was driven, with the logarithm of its fuel's flow brought to one speed by the usual power of
// it.
type held struct{ rpm, flow float64 }

// again holds each speed once more whose holds differ.
func (r *running) again(seconds float64) {
	for i, a := range r.held {
		for _, b := range r.held[i+1:] {
			if math.Abs(math.Log(a.rpm/b.rpm)) < 0.1 && math.Abs(a.flow-b.flow) > 0.025 {
				r.phase(Phase{Kind: Hold, RPM: a.rpm, Seconds: seconds})
				break
			}
		}
	}
}

// Sit runs an engine through a sitting.
func Sit(e *Engine, d Day, phases []Phase, rng *rand.Rand) *Trace {
	r := &running{e: e, d: d, rng: rng, gasKelvin: d.Air + 273 + 20, thick: viscosity(d.Oil),
		gearbox: gearboxOil(d.GearboxOil)}
	r.s = state{rpm: e.IdleRPM, pressure: 35, oil: d.Oil, lambda: 1, meter: d.Meter}
	r.shut = e.ShutAir * d.ShutAir * d.Pressure / 98
	r.area, r.seen, r.cycle = r.shut, e.IdleRPM, rng.Float64()
	if e.Diesel {
		r.s.pressure = d.Pressure
	}
	r.wrong = r.wrongly()
	trim := r.mixture()
	r.s.long = e.Learnt * trim
	r.s.short = trim - r.s.long
	total := 0.0
	for _, p := range phases {
		total += max(p.Seconds+settling, 8)
	}
	r.out = make([]state, 0, int(total/kept))
	for _, p := range phases {
		r.phase(p)
	}
	return &Trace{engine: e, day: d, states: r.out}
}

func (r *running) phase(p Phase) {
	if p.Oil > 0 {
		r.s.oil, r.thick = p.Oil, viscosity(p.Oil)
	}
	sd := r.d.HoldSD
	r.electric = r.d.ConsumerW + r.d.ConsumersOn + r.d.ChargeW
	r.s.voltage = 14.1 + 0.015*r.rng.NormFloat64()
	if r.rng.Float64() < r.d.FanShare || p.Kind == Fall && r.d.FallFan {
		r.electric += 250
	}
	// Between alternator and control unit lies some 0.005 ohm, on which a consumer shows.
	r.s.voltage -= (r.electric - 320) / 14.1 * 0.005
	if p.Kind == Fall {
		sd = r.d.FallSD
		// A battery takes what the voltage above its own drives through its resistance of some 0.025 ohm.
		r.electric += r.d.FallChargeW
		r.s.voltage += r.d.FallChargeW / 14.1 * 0.025
	}
	r.s.meter = r.d.Meter * math.Exp(r.d.MeterSD*r.rng.NormFloat64())
	r.wrong = r.wrongly()
	r.dt, r.turn = kept, 0
	if p.Kind == Fall {
		r.dt = fine
	}
	r.drag, r.s.kind, r.demand = math.Exp(sd*r.rng.NormFloat64()), p.Kind, 0
	switch p.Kind {
	case Idle:
		for t := 0.0; t < p.Seconds; t += r.dt {
			r.idle()
			r.advance()
		}
	case Start:
		for t := 0.0; t < p.Seconds; t += kept {
			r.s.rpm, r.s.cut = 0, false
			r.out = append(r.out, r.s)
		}
		r.s.rpm = r.e.IdleRPM
	case Hold:
		r.hold(p)
	case Again:
		r.again(p.Seconds)
	case Fall:
		r.fall(p)
	}
}

// idle lets the governor keep the engine at idle.
func (r *running) idle() {
	r.s.open = false
	miss := (r.e.IdleRPM - r.s.rpm) / 1000
	if r.s.rpm < 1.3*r.e.IdleRPM {
		r.idleSum = max(-0.8, min(r.idleSum+0.8*miss*r.dt, 1.5))
	} else {
		r.idleSum *= 1 - r.dt/2
	}
	want := max(0.3, 1+2.2*miss+r.idleSum) * r.shut
	r.area += (want - r.area) * min(1, r.dt/0.1)
}

// hold brings the engine to a speed with the foot and keeps it there. The foot answers what it saw a moment ago, at
// once and then for good, and is never quite at rest.
func (r *running) hold(p Phase) {
	r.s.open = true
	unrest := 0.012
	if r.d.HoldWander > 0 {
		unrest *= r.d.HoldWander
	}
	foot, still := 0.0, math.Exp(-r.dt/1.2)
	fuel, n := 0.0, 0.0
	rest := r.shut * math.Pow(p.RPM/800, 1.15)
	for t := -settling; t < p.Seconds; t += r.dt {
		r.seen += (r.s.rpm - r.seen) * r.dt / 0.3
		miss := (p.RPM - r.seen) / 1000
		quick, slow := 0.25, 0.12
		if t < -2 {
			quick, slow = 0.8, 0.5
		}
		rest *= 1 + slow*miss*r.dt
		foot = still*foot + unrest*math.Sqrt(1-still*still)*r.rng.NormFloat64()
		if t > 0 {
			r.demand = r.d.TrimDrift * t / 15
		}
		r.area = rest * max(0.2, 1+quick*miss+foot)
		r.advance()
		if t > 2 {
			fuel, n = fuel+r.s.fuelFlow/r.s.rpm, n+1
		}
	}
	r.held = append(r.held, held{p.RPM, math.Log(fuel/n) - 0.2*math.Log(p.RPM)})
}

// settling is how long a driver takes to bring the engine to a speed, s.
const settling = 6.0

// fall revs up, shuts the throttle and waits for idle.
func (r *running) fall(p Phase) {
	r.s.open = true
	full := 14 * r.e.Displacement
	if r.e.Diesel {
		full *= 2
	}
	for t := 0.0; r.s.rpm < p.RPM && t < 10; t += r.dt {
		r.area += (full - r.area) * r.dt / 0.15
		r.advance()
	}
	r.s.open = false
	for t := 0.0; r.s.rpm > 1.25*r.e.IdleRPM && t < 20; t += r.dt {
		rest := r.shut
		if !r.e.Diesel && r.s.rpm > r.e.ResumeRPM+100 {
			rest *= r.e.OverrunAir
		}
		r.area += (rest - r.area) * r.dt / r.e.ThrottleTau
		r.advance()
	}
	r.idleSum = 0
}

// wrongly is what the trims have to add in a phase, relative: fuel that needs less air, vapour from the canister, what
// the meter shows too little.
func (r *running) wrongly() float64 {
	return math.Log(14.3 / r.d.Stoichiometric * (1 - r.d.Purge) / (r.s.meter * r.d.Injectors))
}

// mixture is that with the air that leaks in.
func (r *running) mixture() float64 {
	if leak := r.leak(); leak > 0 && r.s.air > 0 {
		return r.wrong + math.Log1p(leak/r.s.air) + r.demand
	}
	return r.wrong + r.demand
}

// leak is the air that enters behind the meter, g/s.
func (r *running) leak() float64 { return r.d.LeakGS * sonic(r.s.pressure/r.d.Pressure) }

// sonic is the flow through a throat as a share of the sonic one, at a pressure ratio (compressible flow, ratio of
// specific heats 1.4).
func sonic(ratio float64) float64 {
	if ratio <= 0.528 {
		return 1
	}
	if ratio >= 1 {
		return 0
	}
	a := math.Pow(ratio, 1/1.4)
	return math.Sqrt(a*a-a*ratio) / 0.2588
}

// advance moves the engine on by one step.
func (r *running) advance() {
	e, s := r.e, &r.s
	r.fuelCut()
	exhaust := r.d.Pressure + (1-r.d.FreeExhaust)*e.BackPress*s.air*s.air
	breath := e.Breathing * e.Displacement * s.rpm / 120 / (287 * r.gasKelvin) * 1e3 // g/s per kPa
	stays := (e.Residual + r.d.Residual) * exhaust
	drawn := max(0, breath*(s.pressure-stays))
	if e.Diesel {
		s.pressure, s.air = r.d.Pressure, breath*(r.d.Pressure-stays)
	} else {
		s.air = r.area * sonic(s.pressure/r.d.Pressure)
		leak := r.leak()
		rate := 287 * r.gasKelvin / e.Manifold * 1e-3 // kPa/s per g/s
		// Implicit, so that a fast engine with a small manifold stays calm.
		settled := 1 / (1 + rate*breath*r.dt)
		target := stays + (s.air+leak)/max(breath, 1e-6)
		s.pressure = min(r.d.Pressure, target+(s.pressure-target)*settled)
	}
	r.burn(drawn)
	nm := r.torque(exhaust)
	s.rpm = max(200, s.rpm+nm/e.Inertia*r.dt/radPerRPM)
	if r.turn++; r.dt == kept || r.turn%2 == 0 {
		r.out = append(r.out, *s)
	}
}

// fuelCut decides on the cut of a shut throttle.
func (r *running) fuelCut() {
	s := &r.s
	switch {
	case s.open || r.d.KeepFuel || s.rpm < r.e.ResumeRPM:
		s.cut = false
	case s.kind == Fall && r.area < 1.1*r.e.OverrunAir*r.shut && s.rpm > r.e.ResumeRPM+200:
		s.cut = true
	}
}

// burn sets what burns, and lets the trims follow it.
func (r *running) burn(drawn float64) {
	s := &r.s
	s.lambda = 1
	if r.d.Lambda > 0 {
		s.lambda = r.d.Lambda
	}
	if r.e.Diesel {
		s.fuelFlow = r.area / 20 // the foot asks for fuel, not for air
		if s.cut {
			s.fuelFlow = 0
		}
		return
	}
	s.fuelFlow = drawn / r.d.Stoichiometric * min(1, 1/s.lambda) * (1 + 0.2*max(0, 1-s.lambda))
	if s.cut {
		s.fuelFlow = 0
		return
	}
	r.cycle += r.dt / 1.3
	if r.cycle > 1 {
		r.cycle -= 1
	}
	if !r.d.OpenLoop {
		wave := 0.01 * (2*math.Abs(2*r.cycle-1) - 1)
		s.short += (r.mixture() + wave - s.long - s.short) * r.dt / 0.6
	}
}

// torque is the engine's net torque, N m.
func (r *running) torque(exhaust float64) float64 {
	e, s := r.e, &r.s
	perNm := 4 * math.Pi / e.Displacement // kPa of mean effective pressure per N m
	q := s.fuelFlow * r.d.HeatValue * 120 / max(s.rpm, 200) / e.Displacement * 1000
	work := e.indicated(q) * r.d.Efficiency
	if s.kind == Hold {
		work *= 1 - r.d.LateSpark
	}
	k := s.rpm / 1000
	lost := e.rubbing(s.rpm, r.thick)*r.d.Rubbing + e.GasLoad*s.pressure*0.25 + e.pumps(s.rpm)*r.d.Belt
	lost += exhaust - s.pressure + e.Valves*k*k
	if s.fuelFlow == 0 {
		lost += e.HeatLoss * s.pressure / 100
	}
	return (work-lost*r.drag)/perNm - (e.alternatorNm(r.electric, s.rpm)+e.gearboxNm(s.rpm, r.gearbox))*r.drag
}
