package gearstate

import "math"

// The decoder is one hidden-state model of driver, clutch and gear. Its states are "open" (foot on the clutch
// or neutral) and, for each gear, "locked" and "slipping". What the driver does to the load is part of the
// evidence: people lift to change gear, so an open clutch under load is as improbable as a slipping clutch with
// the throttle shut, and an engine that runs away under full load is not mistaken for a chain of lower gears.
//
// Neighbouring samples share their speed step, so the evidence of one sample counts in proportion to the time
// it stands for.

// Rates and shares of the transitions, from how people drive: a gear is held for tens of seconds, a shift takes
// about a second.
const (
	leaveLocked  = 1.0 / 20   // per s
	beginSlip    = 1.0 / 1500 // per s
	leaveSlip    = 1.0 / 2
	leaveOpen    = 1.0 / 1.2
	slipToLocked = 0.6  // rest opens
	openToSlip   = 0.01 // engaging into a slip that does not end
	directChange = 0.02 // from gear to gear between two samples,
	directSlow   = 0.25 // and when samples are far apart
	evidenceTime = 0.12 // s of driving that one independent sample stands for
	trellisStep  = 0.11 // s, at least, between two steps: about that time
	loadedCost   = 16.0 // nats per s of load seen while open
	entryCost    = 3.0  // nats for opening the clutch under load
	unloadedCost = 4.0  // nats per s of shut throttle seen while slipping
	openPhiSD    = 0.04 // wheel force over weight of a car with its clutch open: mostly the grade
	phiTime      = 1.2  // s of driving that one independent acceleration stands for
	minSpeed     = 3.0  // km/h below which a clutch cannot be locked
	openRate     = 1500 // rpm/s, spread of the rate of a free engine
	notReachable = -1e9
)

// What a moment's load, rate and force say. From how people drive and what engines do.
const (
	slowStep = 0.3 // s between samples from which a change of gear may fall between two of them

	asksFrom = 0.3  // load fraction from which a driver asks for power,
	asksOver = 0.2  // and over which it becomes sure
	shutOver = 0.15 // below asksFrom, over which a shut throttle becomes sure
	freeFrom = 1000 // rpm/s from which only an engine without a car behind it runs up,
	freeOver = 1500 // and over which that becomes sure

	pushes     = 0.02 // wheel force over weight from which a clutch carries something
	mostNoPush = 6.0  // nats that a missing push costs at most: the slope may hide it

	tailShare     = 0.03 // of a locked gear's residuals in their heavy tail
	leastRateSD   = 60.0 // rpm/s of an engine that follows its car
	reachSD       = 6.0  // standard deviations beside half a step, beyond which a residual is in the tail
	halfStep      = 0.55 // of a step: a display may be late by a little
	nearSlip      = 2.0  // km/h by which a slip usually exceeds the locked speed, at least,
	nearSlipShare = 0.12 // and its share of road speed
)

// Logarithms that every sample needs.
var (
	lnSqrt2Pi     = 0.5 * math.Log(2*math.Pi)
	lnUniformOpen = math.Log(0.6 / 6000) // an engine that turns anyhow, 0.6 of the time, over 6000 rpm
	lnIdleOpen    = math.Log(0.4)
	lnForceOpen   = math.Log(0.5) - math.Log(openPhiSD+0.01) - lnSqrt2Pi
	lnRateSD      = math.Log(openRate)
	lnTail        = math.Log(tailShare)
	lnRateTail    = math.Log(0.1) - 8.5
	lnBeyondSlip  = math.Log(1e-4)
)

// trellis holds the score of every state; step advances it by one observation.
type trellis struct {
	m           *Model
	n           int // gears
	score, next []float64
	from        []uint8 // best predecessor of each state at the last step
	emit        []float64
	levelSD     float64
	locked      lockedShape
	slip        slipShape // of the last speed
	lnK, half   []float64 // of each gear; half of a step there
	perK        []float64 // km/h per rpm of each gear
	box         []float64 // logarithm of the density (per rpm) of an engine anywhere within its step in each gear
	rate        []usual   // of an engine that follows its car in each gear
	logs        *transitions
	rateCache   [400]*transitions // by 5 ms of dt
}

type transitions struct {
	stayL, lToO, lToS, direct, stayS, sToL, sToO, stayO, oToL, oToS float64
}

func newTrellis(m *Model) *trellis {
	n := len(m.Gears)
	l := &trellis{m: m, n: n, score: make([]float64, 2*n+1), next: make([]float64, 2*n+1), from: make([]uint8, 2*n+1),
		emit: make([]float64, 2*n+1), slip: newSlipShape(0), lnK: make([]float64, n),
		half: make([]float64, n), perK: make([]float64, n), box: make([]float64, n),
		rate: make([]usual, n)}
	for i, g := range m.Gears {
		l.lnK[i], l.half[i], l.perK[i] = math.Log(g.K), halfOf(m.StepIn(i)), 1/g.K
		l.box[i] = -ln(2*l.half[i]) - l.lnK[i]
		l.rate[i] = usualOf(rateSD(g.K, usualAccel, 0))
	}
	l.reset()
	return l
}

// reset forgets the past: at the start and after a gap.
func (l *trellis) reset() {
	for i := range l.score {
		l.score[i] = -math.Log(float64(len(l.score)))
	}
	for i := l.n + 1; i < len(l.score); i++ {
		l.score[i] -= 5
	}
}

// gearOf and clutchOf read a state.
func (l *trellis) gearOf(state int) int {
	switch {
	case state == 0:
		return 0
	case state <= l.n:
		return l.m.Gears[state-1].Number
	}
	return l.m.Gears[state-l.n-1].Number
}

func (l *trellis) clutchOf(state int) Clutch {
	switch {
	case state == 0:
		return Open
	case state <= l.n:
		return Locked
	}
	return Slipping
}

// best returns the state with the highest score.
func (l *trellis) best() int { return first(l.score) }

// step takes one valid observation.
func (l *trellis) step(o *Observation) {
	at := o.moment()
	l.emissions(o, &at)
	l.rates(o.DT)
	t, n := l.logs, l.n
	s, next, from := l.score, l.next[:len(l.score)], l.from[:len(l.score)]
	locked, slipping := s[1:n+1], s[n+1:]
	b1, b2 := topTwo(locked)
	bs := first(slipping)

	kept := at.kept(o)
	best := way{s[0] + t.stayO, 0}
	best.or(locked[b1]+t.lToO-kept, 1+b1)
	best.or(slipping[bs]+t.sToO-kept, n+1+bs)
	next[0], from[0] = best.score, uint8(best.from)
	still := loadedCost * o.Fresh * at.up // the gear changes under load
	for g := range n {
		j := 1 + g
		best = way{s[j] + t.stayL, j}
		best.or(s[0]+t.oToL, 0)
		best.or(slipping[g]+t.sToL, n+1+g)
		other := b1
		if other == g {
			other = b2
		}
		if other != g {
			best.or(locked[other]+t.direct-still, 1+other)
		}
		next[j], from[j] = best.score, uint8(best.from)
		j += n
		best = way{s[j] + t.stayS, j}
		best.or(s[1+g]+t.lToS, 1+g)
		best.or(s[0]+t.oToS, 0)
		next[j], from[j] = best.score, uint8(best.from)
	}
	l.score, l.next = next, s
	l.weigh()
}

// kept is the cost of a clutch that opens without a lift.
func (at *moment) kept(o *Observation) float64 {
	return entryCost * at.up * min(1, o.Fresh/evidenceTime)
}

// weigh adds the evidence to the scores. The best becomes 0, which keeps them small for ever.
func (l *trellis) weigh() {
	score, emit := l.score, l.emit[:len(l.score)]
	top := notReachable
	for j := range score {
		score[j] += emit[j]
		if score[j] > top {
			top = score[j]
		}
	}
	for j := range score {
		score[j] -= top
	}
}

// way is the best way into a state so far.
type way struct {
	score float64
	from  int
}

func (w *way) or(score float64, from int) {
	if score > w.score {
		w.score, w.from = score, from
	}
}

// first returns the first of the largest values.
func first(s []float64) (best int) {
	for i := range s {
		if s[i] > s[best] {
			best = i
		}
	}
	return best
}

// topTwo returns the place of the largest value and that of the next; where there is one value only, its place twice.
func topTwo(s []float64) (best, second int) {
	best = first(s)
	if best == 0 && len(s) > 1 {
		second = 1
	}
	for i := range s {
		if i != best && s[i] > s[second] {
			second = i
		}
	}
	return best, second
}

// rates sets the logarithms of the transition probabilities over dt, which is taken to 5 ms.
func (l *trellis) rates(dt float64) {
	i := int(dt*200 + 0.5)
	if i < 1 {
		i = 1
	}
	if i >= len(l.rateCache) {
		l.logs = newTransitions(min(forgets, dt), float64(l.n))
		return
	}
	if l.rateCache[i] == nil {
		l.rateCache[i] = newTransitions(float64(i)/200, float64(l.n))
	}
	l.logs = l.rateCache[i]
}

func newTransitions(dt, n float64) *transitions {
	leave := func(rate float64) float64 { return -math.Expm1(-dt * rate) }
	pl, ps, po, pb := leave(leaveLocked), leave(leaveSlip), leave(leaveOpen), leave(beginSlip)
	direct := directChange
	if dt >= slowStep {
		direct = directSlow
	}
	return &transitions{
		stayL: math.Log1p(-pl - pb), lToO: math.Log(pl * (1 - direct)), lToS: math.Log(pb),
		direct: math.Log(pl * direct / max(1, n-1)),
		stayS:  math.Log1p(-ps), sToL: math.Log(ps * slipToLocked), sToO: math.Log(ps * (1 - slipToLocked)),
		stayO: math.Log1p(-po), oToL: math.Log(po * (1 - openToSlip) / n), oToS: math.Log(po * openToSlip / n),
	}
}

// loaded is 1 for a driver who clearly asks for power, 0 for one who does not, 0 when it is not known.
func loaded(load float64) float64 {
	if math.IsNaN(load) {
		return 0
	}
	return min(1, max(0, (load-asksFrom)/asksOver))
}

// moment is what the states have in common at an observation.
type moment struct {
	up       float64 // how clearly the driver asks for power
	w, wp    float64 // what its signals and its acceleration count
	phi      float64 // wheel force over weight
	rateOpen float64
}

func (o *Observation) moment() moment {
	return moment{up: loaded(o.Load), w: min(1, o.DT/evidenceTime), wp: min(1, o.DT/phiTime),
		phi: PhiFromAcceleration(o.A, o.V), rateOpen: lnOpenRate(o.NDot)}
}

// emissions sets the log-likelihood of an observation in every state.
func (l *trellis) emissions(o *Observation, at *moment) {
	m := l.m
	l.emit[0] = l.open(o, at)
	if o.stands() {
		for j := 1; j < len(l.emit); j++ {
			l.emit[j] = notReachable / 2
		}
		return
	}
	l.shapes(o)
	leaves := unloadedCost*o.Fresh*unloaded(o.Load) + slipForce(at.phi)*at.wp
	for g := range m.Gears {
		e := m.excess(g, o.N, o.V, o.A, o.Load)
		l.emit[1+g] = l.inGear(g, o, at, e)
		l.emit[1+l.n+g] = at.w*(l.slip.ln(e)-l.lnK[g]+0.5*at.rateOpen) - leaves
	}
}

// stands tells whether the car stands, or nearly so: no clutch is locked there.
func (o *Observation) stands() bool { return o.V < minSpeed }

// open is the log-likelihood of an open clutch. An engaged one says nothing on the force: flat density over half the
// weight.
func (l *trellis) open(o *Observation, at *moment) float64 {
	open := lnUniformOpen
	if away := o.N - l.m.Idle; math.Abs(away) < idleReach {
		open = logSumExp(open, lnIdleOpen+lnIdle(away))
	}
	z := (at.phi - 0.01) / (openPhiSD + 0.01)
	force := lnForceOpen - 0.5*z*z
	if z < 0 { // braking, not the clutch
		force = lnForceOpen
	}
	return at.w*(open+0.5*at.rateOpen) + at.wp*force - loadedCost*o.Fresh*at.up*(1-0.7*free(o.NDot))
}

// shapes sets the densities of the residuals at an observation.
func (l *trellis) shapes(o *Observation) {
	l.levelSD = l.m.LevelSD(o.V, o.A)
	l.locked.set(l.levelSD, halfOf(l.m.Step))
	if l.slip.v != o.V { // speeds come in steps
		l.slip = newSlipShape(o.V)
	}
	l.slip.sd = l.levelSD
}

// inGear is the log-likelihood of a clutch locked in a place of the ladder, at an excess there.
func (l *trellis) inGear(g int, o *Observation, at *moment, e float64) float64 {
	if l.m.RPMStep > 0 {
		l.locked.set(l.levelSD, l.half[g])
	}
	rate := lnRateTail
	// an engine that does not stand where the gear would have it cannot be helped by its rate
	if math.Abs(e) <= l.locked.reach {
		rate = lockedRate(o, l.m.Gears[g].K)
	}
	return at.w * (l.locked.ln(e) - l.lnK[g] + 0.5*rate)
}

// free is 1 when the engine runs up as only one without a car behind it can; a foot that is late in lifting
// does that for a moment, while an engine whose clutch slips still drags the car along.
func free(rate float64) float64 { return min(1, max(0, (rate-freeFrom)/freeOver)) }

// unloaded is 1 for a shut throttle, 0 when the driver asks for power or nothing is known.
func unloaded(load float64) float64 {
	if math.IsNaN(load) {
		return 0
	}
	return min(1, max(0, (asksFrom-load)/shutOver))
}

// slipForce is the cost of a slipping clutch that does not push the car: it carries its capacity, so the car pulls.
func slipForce(phi float64) float64 {
	if phi >= pushes {
		return 0
	}
	z := (phi - pushes) / openPhiSD
	return min(mostNoPush, 0.5*z*z)
}

// lockedRate is the log-density of the engine's rate in a locked gear: it follows the car.
func lockedRate(o *Observation, k float64) float64 { return logSumExp(followingRate(o, k), lnRateTail) }

// followingRate is the same without its heavy tail.
func followingRate(o *Observation, k float64) float64 {
	sd := rateSD(k, o.A, o.NDot)
	z := (o.NDot - k*o.A) / sd
	return -0.1 - 0.5*z*z - ln(sd) - lnSqrt2Pi
}

// rateSD is the standard deviation (rpm/s) of the rate of an engine that follows its car at an acceleration (km/h/s),
// in a gear of k rpm per km/h.
func rateSD(k, accel, rate float64) float64 {
	return leastRateSD + k*(0.8+0.15*math.Abs(accel)) + 0.08*math.Abs(rate)
}

// lockedShape is the density (per km/h) of the residual of a locked gear: the speed step, convolved with noise,
// and a heavy tail.
type lockedShape struct{ half, reach, scale, width, tail, lnTail float64 }

func (s *lockedShape) set(sd, half float64) {
	s.half, s.scale, s.width = half, tailScale(sd), sd*math.Sqrt2
	s.reach = s.half + reachSD*sd
	s.tail, s.lnTail = tailShare/(2*s.scale), lnTail-ln(2*s.scale)
}

// halfOf is half of a step (km/h), as far as a residual reaches by it; a display without steps is as fine as any.
func halfOf(step float64) float64 { return halfStep * max(finest, step) }

// tailScale is how far (km/h) the heavy tail goes.
func tailScale(sd float64) float64 { return 3*sd + 1 }

// ln returns the logarithm of the density.
func (s *lockedShape) ln(e float64) float64 {
	far := math.Abs(e) / s.scale
	if math.Abs(e) > s.reach {
		return s.lnTail - far
	}
	box := 0.5 * (erf((e+s.half)/s.width) - erf((e-s.half)/s.width)) / (2 * s.half)
	return ln((1-tailShare)*box + s.tail*expMinus(far))
}

// slipShape is the density (per km/h) of the residual of a slipping gear: clearly above locked, more often a
// little than much, but an engine that runs away goes far.
type slipShape struct{ v, sd, scale, far, lnNear, lnFar, lnBelow float64 }

func newSlipShape(v float64) slipShape {
	s := slipShape{v: v, scale: slipScale(v), far: 1.5*v + 10}
	s.lnNear, s.lnFar = ln(0.5/s.scale), ln(0.5/s.far)
	s.lnBelow = logSumExp(s.lnNear, s.lnFar)
	return s
}

// ln returns the logarithm of the density.
func (s *slipShape) ln(e float64) float64 {
	if e > s.far {
		return lnBeyondSlip
	}
	if e <= 0 {
		return lnAbove(e, s.sd) + s.lnBelow
	}
	return lnAbove(e, s.sd) + logSumExp(s.lnNear-e/s.scale, s.lnFar)
}

// slipScale is how far (km/h) an engine that slips usually is above its gear.
func slipScale(v float64) float64 { return max(nearSlip, nearSlipShare*v) }

// lnAbove is the logarithm of how surely a residual is above those of a locked gear.
func lnAbove(e, sd float64) float64 { return lnUpperNormal((e - 0.9 - sd) / 0.4) }

// idleReach is how far (rpm) from idle an engine surely does not idle: less is left of it than a table tells.
const idleReach = 700

// lnIdle is the log-density of an engine's distance from idle speed, rpm.
func lnIdle(x float64) float64 { return -0.5*(x/90)*(x/90) - 4.499809670330265 - lnSqrt2Pi }

// lnOpenRate is the log-density of the rate of a free engine, rpm/s.
func lnOpenRate(x float64) float64 {
	return -0.5*(x/openRate)*(x/openRate) - lnRateSD - lnSqrt2Pi
}
