package detect

import (
	"math"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
)

// A departure of engine speed from the locked line has many possible causes. Each is an explanation that
// competes with slip of the clutch over the same evidence; it says by how many nats (natural logarithm of the
// odds) slip is the likelier. A departure is slip if it beats all of them together.
//
// Costs: to call a sound clutch slipping is seven times as bad as to leave a weak one open, and one in four
// clutches that people record is weak; so slip must be 20 times as likely as its rivals. They are given more than
// their due: of 4,080 sound logs none that was not slipping at 60 : 1 against each of them is so at 20 : 1 against
// all, and of 4,232 slipping ones 123 are (docs/accuracy-field.md).

// Proven is what slip must beat its rivals by: ln 20.
const Proven = 3.0

// sure is what a plain yes or no of physics is worth. It is capped: no single reading is certain.
const sure = 6.0

// Rival is an explanation that competes with slip of the clutch.
type Rival struct {
	Kind Kind    `json:"kind"`
	Nats float64 `json:"odds_nats"` // by which slip is likelier than it
}

// explanations are the rivals of slip, in the order in which a reader would ask.
var explanations = []struct {
	kind Kind
	nats func(r *Record, c *Departure) float64
}{
	{KindShort, tooShort},
	{KindEngagement, engaging},
	{KindWheelspin, spinning},
	{KindCreep, creeping},
	{KindShift, shifting},
	{KindPedal, onThePedal},
	{KindNoForce, withoutForce},
	{KindOtherGear, inOtherGear},
	{KindCarriedMore, carriedMore},
	{KindSignal, wandering},
}

// explain weighs the rivals of slip and names the departure.
func (r *Record) explain(c *Departure) {
	c.Rivals = c.Rivals[:0]
	for _, x := range explanations {
		c.Rivals = append(c.Rivals, Rival{x.kind, math.Max(-sure, math.Min(sure, x.nats(r, c)))})
	}
	c.judge()
}

// judge names a departure by its strongest rival, unless it is slip: likelier than all of them together, but for
// those that physics excludes.
func (c *Departure) judge() {
	least, strongest, doubt, all := sure, KindSlip, 0.0, 0.0
	for _, x := range c.Rivals {
		all += math.Exp(-x.Nats)
		if x.Nats < sure {
			doubt += math.Exp(-x.Nats)
		}
		if x.Nats < least {
			least, strongest = x.Nats, x.Kind
		}
	}
	c.Kind, c.Odds = KindSlip, math.Min(sure, -math.Log(doubt))
	if c.Odds < Proven {
		c.Kind = strongest
	}
	c.Confidence = 1 / (1 + all)
}

func isSure(slip bool) float64 {
	if slip {
		return sure
	}
	return -sure
}

// Lengths of departures, s, on a quick and on a slow link.
const (
	shortQuick, shortSlow = 0.6, 0.9 // below, a late lift or a late value made it
	leastValues           = 4        // of a departure
)

// tooShort: a few values far apart prove nothing.
func tooShort(r *Record, c *Departure) float64 {
	return isSure(c.duration >= r.pick(shortQuick, shortSlow) && c.duration >= leastValues*r.Period)
}

// pick returns one value on a quick link and another on a slow one.
func (r *Record) pick(quick, slow float64) float64 {
	if r.Period > gearstate.SlowLink {
		return slow
	}
	return quick
}

// A clutch that was not seen locked before may be on its way: a car that sets off, a foot that lets it in, a
// gear that was never learnt.
const (
	footUsual = 1.5  // s that a foot takes at most to let the clutch in under load, as a rule,
	footTail  = 0.6  // and s by which the share of longer ones falls to a third. Common practice, no source
	stays     = 0.6  // of the excess of the first half that a slip keeps in its second half; an engagement comes to rest
	hidden    = 1.75 // ratio of neighbours in the ladder from which a gear may lie between them that was not learnt
)

// engaging: the clutch is being let in. Only a clutch that was seen locked in this gear begins to slip for
// sure; one that was not must be kept from locking for longer than a foot does, and away from where a gear may
// lie that is not known.
func engaging(r *Record, c *Departure) float64 {
	switch {
	case c.seen.locked, c.seen.withoutFoot && !r.inUnknownGear(c):
		return sure
	case !c.Moving, c.seen.settles && !c.seen.rose && !r.carries(c):
		return -sure
	case r.inUnknownGear(c):
		return -sure
	}
	return (c.seen.alone - footUsual) / footTail
}

// carries tells whether about as much went through the clutch during a departure as it held at most, in a gear that is
// known for sure: then it took its time because it slid, and not because a foot was slow.
func (r *Record) carries(c *Departure) bool {
	most := r.capacity() * r.Track.Model.Gears[c.run.Index].K
	return r.Track.Model.Complete && c.seen.within >= keepsLeast*most
}

// inUnknownGear tells whether a departure may be another gear, one that was not learnt.
func (r *Record) inUnknownGear(c *Departure) bool {
	return !r.Track.Model.Complete && (c.seen.steady || r.hides(c) && !r.drifts(c))
}

// driftsBy is the standard deviation of the logarithm of a ratio that no gear has, however its wheels spin and bounce:
// from a gear to its neighbour in the middle of a departure. Common practice, no source.
const driftsBy = 0.12

// drifts tells whether engine speed wanders through a departure for longer than any change of gear takes: a gear keeps
// its ratio, learnt or not.
func (r *Record) drifts(c *Departure) bool {
	return c.seen.geared == 0 && c.seen.between > aloneLong+r.Period && c.seen.wanders > driftsBy
}

// hides tells whether a gear that was not learnt may lie where a departure runs: above the lowest gear known,
// or in a wide step between two.
func (r *Record) hides(c *Departure) bool {
	g := r.Track.Model.Gears
	at := c.run.Index
	return at == 0 || c.MeanSlip/100 > 1-g[at].K/g[at-1].K || mayHide(g, at)
}

// mayHide tells whether a gear that was not learnt may lie below a place in the ladder: in a wide step, half of which
// is not smaller than the step above. Steps shrink from gear to gear (common practice, no source).
func mayHide(g []gearstate.Gearing, at int) bool {
	step := g[at-1].K / g[at].K
	if step <= hidden || at+1 == len(g) {
		return step > hidden
	}
	above := g[at].K / g[at+1].K
	return above > hidden || math.Sqrt(step) >= above
}

// A late lift lets the engine run up before the gear changes: so long at most, s; a flare that runs far takes longer.
const (
	lateLift, lateLiftSlow = 1.2, 1.6
	flare, flareSlow       = 2.2, 3.0
	flarePeak              = 8.0 // % of engine speed
	keptFor                = 0.9 // s and a value, of force that was kept
	keptShare              = 0.8 // of the force before
)

// shifting: another gear follows, and the force went with the lift.
func shifting(r *Record, c *Departure) float64 {
	long := c.duration >= r.pick(lateLift, lateLiftSlow) &&
		(c.PeakSlip <= flarePeak || c.duration >= r.pick(flare, flareSlow))
	return isSure(c.seen.relocks || c.ForceKept(r.Period) || long || c.seen.withoutFoot)
}

// A foot on the clutch pedal lets the engine run away by more than pedalPeak (% of its speed), and by more than
// longPedalPeak when it stays for over a second and a value.
const (
	pedalPeak     = 9.0
	longPedalPeak = 14.0
	pedalTime     = 2.6    // s, and a value, that a foot stays on the pedal
	StabTime      = 1.2    // s, and a value, of a stab at it of which nothing else is seen
	spikeTime     = 2.0    // s of a stab at it,
	spikeShape    = 1.8    // whose peak is so many times its mean
	freeTime      = 1.6    // s, and a value, in which
	freeRate      = 5000.0 // rpm/s are what only an engine without its car does
)

const (
	// s, and a value, after which a foot that lets the engine run away a little is off the pedal again
	longPedalTime = 1.2
	keepsMost     = 1.1 // of the force before, that a clutch which slips carries at most
)

// onThePedal: a foot that touches the clutch pedal. It lets the engine run away for a moment, and the car is
// not pushed meanwhile: a clutch that slips by itself still carries most of the torque.
func onThePedal(r *Record, c *Departure) float64 {
	d := c.duration
	switch {
	case c.seen.underFoot:
		return -sure
	case c.seen.withoutFoot:
		return sure
	case d >= pedalTime+r.Period, c.PeakSlip <= pedalPeak, c.PeakSlip <= longPedalPeak && d > longPedalTime+r.Period:
		return sure
	case d < spikeTime && c.PeakSlip > spikeShape*c.MeanSlip, c.seen.pulled, d < freeTime+r.Period &&
		c.seen.longest > freeRate:
		return -sure
	case d < shortPedal(r.Period):
		return isSure(!c.seen.relocks || !r.loadedAfter(c))
	}
	return r.forceOdds(c)
}

// shortPedal is how long a dab that left no other trace may seem to last, s: its own second, and the samples on
// either side.
func shortPedal(period float64) float64 { return StabTime + 2*period }

// loadedAfter tells whether the engine is still asked for torque in the half second after a departure.
func (r *Record) loadedAfter(c *Departure) bool {
	t := r.Track
	n, on := 0, 0
	for i := c.hi; i < t.Len() && t.T[i] <= c.End+0.5+r.Period; i++ {
		n++
		if t.Load[i] >= 0.5 || math.IsNaN(t.Load[i]) && r.Phi(i) >= PushedFrom {
			on++
		}
	}
	return n > 0 && 2*on > n
}

const (
	otherFrom  = 6.0  // % of mean slip: the next gear is further away
	otherShare = 0.5  // of the samples that fit another gear,
	otherPart  = 0.2  // or of a kick-down that was taken back: as much as a gear is in for between two changes
	otherForce = 1.1  // a lower gear pushes the car harder than the gear before it did, a slipping clutch never does
	otherRise  = 1.25 // nor does it carry so much more later than at its rise, where it held at most
)

// inOtherGear: the excess is that of another gear being in.
func inOtherGear(r *Record, c *Departure) float64 {
	e := &c.seen
	if c.MeanSlip <= otherFrom || e.locked && e.withoutFoot { // no gear is changed without the pedal
		return sure
	}
	kickedDown := e.otherFit > otherPart && !e.footDown && e.within > otherRise*math.Max(e.before, e.rise)
	// a gear that was in for a while between two changes, through which the foot stayed down
	backAgain := e.otherFit > otherPart && e.longest > freeRate && e.between < r.pick(lateLift, lateLiftSlow)+r.Period
	// at one ratio all of it is as near to a gear as a part, or in one that was not learnt
	fits := e.otherFit > otherShare || e.steady && (e.otherFit > otherPart || r.hasRoom(c))
	change := r.pick(lateLift, lateLiftSlow)
	if c.PeakSlip > flarePeak {
		change = r.pick(flare, flareSlow)
	}
	geared := e.geared > 0 && e.beside < change+r.Period // the rest are changes of gear
	// several gears one after the other, between whose changes few values lie: each is in a gear or in a change
	several := r.Period > gearstate.SlowLink && e.paired && e.between <= lateLiftSlow
	noMore := e.locked && e.within < otherForce*e.before
	// values far apart do not tell the force of a lower gear from that of before
	hardlySeen := e.otherFit > otherShare && r.Period > gearstate.SlowLink
	// nor slip from a lower gear that was not learnt
	seldom := r.Period > gearstate.SlowestLink && !r.Track.Model.Complete && c.PeakSlip > flarePeak
	fits = fits || seldom && c.run.Index == 0
	// ahead before it was asked for anything, as no clutch slips, the engine was in a lower gear, learnt or not
	if geared || several || kickedDown || backAgain || e.unasked || fits && (!noMore || hardlySeen) {
		return -sure
	}
	return r.beyondEngine(c)
}

const (
	wanders = 1.05 // a log's own spread from which its null is no longer the model's,
	// and the standard deviations that a departure must then stand out by: the spread is an estimate itself
	wanderHit = 8.0
)

// wandering: nothing more than the log shows where no clutch slips: a delay, a dial, a wheel's path, a filter. In one
// that behaves, what errors make is normal beyond the most that they make of a run now and then.
func wandering(r *Record, c *Departure) float64 {
	if r.Spread > wanders {
		return c.seen.z - wanderHit + Proven
	}
	return (stats.Square(c.seen.z) - stats.Square(nullRun)) / 2
}
