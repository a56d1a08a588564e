package gearstate

import "math"

// The decoder is one hidden-state model of driver, clutch and gear. Its states are "open" (foot on the clutch or neutral) and, for
// each gear, "locked" and "slipping". What the driver does to the load is part of the evidence: people lift to change gear, so an
// open clutch under load is as improbable as a slipping clutch with the throttle shut, and an engine that runs away under full
// load is not mistaken for a chain of lower gears.
//
// Neighbouring samples share their speed step, so the evidence of one sample counts in proportion to the time it stands for.

// Rates and shares of the transitions, from how people drive: a gear is held for tens of seconds, a shift takes about a second.
const (
	leaveLocked   = 1.0 / 20   // per s
	beginSlip     = 1.0 / 1500 // per s
	leaveSlip     = 1.0 / 2
	leaveOpen     = 1.0 / 1.2
	slipToLocked  = 0.6  // rest opens
	openToSlip    = 0.01 // engaging into a slip that does not end
	directChange  = 0.02 // from gear to gear between two samples,
	directSlow    = 0.25 // and when samples are far apart
	evidenceTime  = 0.12 // s of driving that one independent sample stands for
	loadedCost    = 16.0 // nats per s of load seen while open
	entryCost     = 3.0  // nats for opening the clutch under load
	unloadedCost  = 4.0  // nats per s of shut throttle seen while slipping
	openPhiSD     = 0.04 // wheel force over weight of a car with its clutch open: mostly the grade
	phiTime       = 1.2  // s of driving that one independent acceleration stands for
	minSpeed      = 3.0  // km/h below which a clutch cannot be locked
	openRate      = 1500 // rpm/s, spread of the rate of a free engine
	notReachable  = -1e9
	lnSqrt2Pi     = 0.9189385332046727
	lnUniformOpen = -9.21034037197618 // ln(0.6/6000)
)

// lattice holds the score of every state; step advances it by one observation.
type lattice struct {
	m           *Model
	n           int // gears
	score, next []float64
	from        []uint8 // best predecessor of each state at the last step
	emit        []float64
	excess      []float64 // km/h of engine speed above locked speed, per gear
	levelSD     float64
	lastDT      float64
	logs        transitions
}

type transitions struct {
	stayL, lToO, lToS, direct, stayS, sToL, sToO, stayO, oToL, oToS float64
}

func newLattice(m *Model) *lattice {
	n := len(m.Gears)
	l := &lattice{m: m, n: n, score: make([]float64, 2*n+1), next: make([]float64, 2*n+1), from: make([]uint8, 2*n+1),
		emit: make([]float64, 2*n+1), excess: make([]float64, n)}
	l.reset()
	return l
}

// reset forgets the past: at the start and after a gap.
func (l *lattice) reset() {
	for i := range l.score {
		l.score[i] = -math.Log(float64(len(l.score)))
	}
	for i := l.n + 1; i < len(l.score); i++ {
		l.score[i] -= 5
	}
}

// gearOf and clutchOf read a state.
func (l *lattice) gearOf(state int) int {
	switch {
	case state == 0:
		return 0
	case state <= l.n:
		return l.m.Gears[state-1].Number
	}
	return l.m.Gears[state-l.n-1].Number
}

func (l *lattice) clutchOf(state int) Clutch {
	switch {
	case state == 0:
		return Open
	case state <= l.n:
		return Locked
	}
	return Slipping
}

// best returns the state with the highest score.
func (l *lattice) best() int {
	b := 0
	for i, s := range l.score {
		if s > l.score[b] {
			b = i
		}
	}
	return b
}

// step takes one valid observation.
func (l *lattice) step(o *Observation) {
	l.emissions(o)
	l.rates(o.DT)
	t, n := &l.logs, l.n
	s := l.score
	locked, slipping := s[1:n+1], s[n+1:]
	b1, b2 := topTwo(locked)
	bs, _ := topTwo(slipping)

	kept := entryCost * loaded(o.Load) * math.Min(1, o.Fresh/0.1) // the clutch opens without a lift
	l.set(0, s[0]+t.stayO, 0)
	l.offer(0, locked[b1]+t.lToO-kept, 1+b1)
	l.offer(0, slipping[bs]+t.sToO-kept, n+1+bs)
	for g := range n {
		j := 1 + g
		l.set(j, s[j]+t.stayL, j)
		l.offer(j, s[0]+t.oToL, 0)
		l.offer(j, slipping[g]+t.sToL, n+1+g)
		other := b1
		if other == g {
			other = b2
		}
		if other != g {
			l.offer(j, locked[other]+t.direct-loadedCost*o.Fresh*loaded(o.Load), 1+other)
		}
		j += n
		l.set(j, s[j]+t.stayS, j)
		l.offer(j, s[1+g]+t.lToS, 1+g)
		l.offer(j, s[0]+t.oToS, 0)
	}
	top := notReachable
	for j := range l.next {
		l.next[j] += l.emit[j]
		top = math.Max(top, l.next[j])
	}
	for j := range l.next {
		l.next[j] -= top // keep the scores small for ever
	}
	l.score, l.next = l.next, l.score
}

func (l *lattice) set(state int, score float64, from int) {
	l.next[state], l.from[state] = score, uint8(from)
}

func (l *lattice) offer(state int, score float64, from int) {
	if score > l.next[state] {
		l.next[state], l.from[state] = score, uint8(from)
	}
}

func topTwo(s []float64) (first, second int) {
	for i := range s {
		if s[i] > s[first] {
			first = i
		}
	}
	if first == 0 && len(s) > 1 {
		second = 1
	}
	for i := range s {
		if i != first && s[i] > s[second] {
			second = i
		}
	}
	return first, second
}

// rates sets the logarithms of the transition probabilities over dt.
func (l *lattice) rates(dt float64) {
	dt = math.Min(5, math.Max(dt, 0.001))
	if math.Abs(dt-l.lastDT) < 0.01*dt {
		return
	}
	l.lastDT = dt
	leave := func(rate float64) float64 { return -math.Expm1(-dt * rate) }
	t, n := &l.logs, float64(l.n)
	pl, ps, po, pb := leave(leaveLocked), leave(leaveSlip), leave(leaveOpen), leave(beginSlip)
	direct := directChange
	if dt >= 0.3 {
		direct = directSlow
	}
	t.stayL, t.lToO, t.lToS = math.Log1p(-pl-pb), math.Log(pl*(1-direct)), math.Log(pb)
	t.direct = math.Log(pl * direct / math.Max(1, n-1))
	t.stayS, t.sToL, t.sToO = math.Log1p(-ps), math.Log(ps*slipToLocked), math.Log(ps*(1-slipToLocked))
	t.stayO, t.oToL, t.oToS = math.Log1p(-po), math.Log(po*(1-openToSlip)/n), math.Log(po*openToSlip/n)
}

// loaded is 1 for a driver who clearly asks for power, 0 for one who does not, 0 when it is not known.
func loaded(load float64) float64 {
	if math.IsNaN(load) {
		return 0
	}
	return math.Min(1, math.Max(0, (load-0.3)/0.2))
}

// emissions sets the log-likelihood of an observation in every state.
func (l *lattice) emissions(o *Observation) {
	m := l.m
	w := math.Min(1, math.Max(o.DT, 0.02)/evidenceTime)
	l.levelSD = m.LevelSD(o.V, o.A)
	up := loaded(o.Load)
	open := logSumExp(lnUniformOpen, math.Log(0.4)+lnNormal(o.N-m.Idle, 90))
	phi := PhiFromAcceleration(o.A, o.V)
	wp := math.Min(1, math.Max(o.DT, 0.02)/phiTime)
	z := (phi - 0.01) / (openPhiSD + 0.01)
	// An engaged clutch says nothing on the force: flat density over half the weight.
	force := -0.5*z*z - math.Log(openPhiSD+0.01) - lnSqrt2Pi + math.Log(0.5)
	if z < 0 { // braking, not the clutch
		force = -math.Log(openPhiSD+0.01) - lnSqrt2Pi + math.Log(0.5)
	}
	rateOpen := lnNormal(o.NDot, openRate)
	l.emit[0] = w*(open+0.5*rateOpen) + wp*force - loadedCost*o.Fresh*up*(1-0.7*free(o.NDot))

	for g := range m.Gears {
		k := m.Gears[g].K
		e := o.N/k - o.V - m.Creep*m.Force.Phi(o.Load, k, phi)*o.V
		l.excess[g] = e
		if o.V < minSpeed {
			l.emit[1+g], l.emit[1+l.n+g] = notReachable/2, notReachable/2
			continue
		}
		lnk := math.Log(k)
		l.emit[1+g] = w * (lnLocked(e, l.levelSD, m.Step) - lnk + 0.5*l.lockedRate(o, k))
		slip := w * (lnSlipping(e, l.levelSD, o.V) - lnk + 0.5*rateOpen)
		l.emit[1+l.n+g] = slip - unloadedCost*o.Fresh*unloaded(o.Load) - slipForce(phi)*wp
	}
}

// free is 1 when the engine runs up as only one without a car behind it can; a foot that is late in lifting does that for a moment, while
// an engine whose clutch slips still drags the car along.
func free(rate float64) float64 { return math.Min(1, math.Max(0, (rate-1000)/1500)) }

// unloaded is 1 for a shut throttle, 0 when the driver asks for power or nothing is known.
func unloaded(load float64) float64 {
	if math.IsNaN(load) {
		return 0
	}
	return math.Min(1, math.Max(0, (0.3-load)/0.15))
}

// slipForce is the cost of a slipping clutch that does not push the car: it carries its capacity, so the car pulls.
func slipForce(phi float64) float64 {
	if phi >= 0.02 {
		return 0
	}
	z := (phi - 0.02) / openPhiSD
	return math.Min(6, 0.5*z*z)
}

// lockedRate is the log-density of the engine's rate in a locked gear: it follows the car.
func (l *lattice) lockedRate(o *Observation, k float64) float64 {
	sd := 60 + k*(0.8+0.15*math.Abs(o.A)) + 0.08*math.Abs(o.NDot)
	z := (o.NDot - k*o.A) / sd
	return logSumExp(-0.1-0.5*z*z-math.Log(sd)-lnSqrt2Pi, math.Log(0.1)-8.5)
}

// lnLocked is the log-density (per km/h) of the residual of a locked gear: the speed step, convolved with noise, and a heavy tail.
func lnLocked(e, sd, step float64) float64 {
	half := math.Max(0.1, 0.55*step)
	scale := 3*sd + 1
	tail := math.Log(0.03) - math.Abs(e)/scale - math.Log(2*scale)
	if math.Abs(e) > half+6*sd {
		return tail
	}
	box := 0.5 * (math.Erf((e+half)/(sd*math.Sqrt2)) - math.Erf((e-half)/(sd*math.Sqrt2))) / (2 * half)
	return math.Log(0.97*box + math.Exp(tail))
}

// lnSlipping is the log-density (per km/h) of the residual of a slipping gear: clearly above locked, more often a little than much, but
// an engine that runs away goes far.
func lnSlipping(e, sd, v float64) float64 {
	scale, far := math.Max(2, 0.12*v), 1.5*v+10
	if e > far {
		return math.Log(1e-4)
	}
	return lnUpperNormal((e-0.9-sd)/0.4) + math.Log(0.5*math.Exp(-math.Max(e, 0)/scale)/scale+0.5/far)
}

// lnUpperNormal is the logarithm of the standard normal distribution function.
func lnUpperNormal(z float64) float64 {
	switch {
	case z > 5:
		return 0
	case z < -5:
		return -0.5*z*z - math.Log(-z) - lnSqrt2Pi
	}
	return math.Log(0.5 * math.Erfc(-z/math.Sqrt2))
}

func lnNormal(x, sd float64) float64 {
	z := x / sd
	return -0.5*z*z - math.Log(sd) - lnSqrt2Pi
}

func logSumExp(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if b-a < -30 {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}
