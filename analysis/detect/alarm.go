package detect

import (
	"math"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
	"flywitness/vehicle"
)

const (
	alarmMemory  = 16.0 // s of the past that are looked at
	alarmEvery   = 0.2  // s between two looks
	alarmHoldOff = 5.0  // s between two alarms
	alarmFresh   = 0.6  // s, and a value, by which a departure may have ended when the alarm is given
	alarmLeast   = 0.018
	// nats by which slip must beat its rivals: a lift for nothing costs little, a reading and a half must do
	alarmProven = 2.5
)

// Known is what an earlier log, or the first minutes of this one, told of the car.
type Known struct {
	Spread      float64 // see Record.Spread
	Path        float64 // see Record.Path
	GearboxOdds float64 // see GearboxOdds
	Told        vehicle.GearboxType

	capacity float64
	trials   []trial
	loose    float64 // nats by which roads were loose ones
}

// earlier is the number of the logs that an alarm knows of.
const earlier = -1

// learnt is what a record tells of the car for an alarm.
func (r *Record) learnt(told vehicle.GearboxType) Known {
	k := Known{Spread: r.Spread, Path: r.Path, GearboxOdds: GearboxOdds([]*Record{r}), Told: told, capacity: r.capacity(),
		loose: r.looseOdds}
	for _, x := range r.trials {
		x.input = earlier
		k.trials = append(k.trials, x)
	}
	return k
}

// Alarm says at once, while driving, that the clutch slips under load. It is fed with the states of a
// gearstate.Decoder, one by one, and asks of the past alone what a recorded drive is asked: the same
// departures, the same explanations. Only ever a sound or a lamp: nobody reads a screen while driving.
type Alarm struct {
	known Known
	past  gearstate.Track
	look  float64 // no look before
	quiet float64 // no alarm before
}

// Alert is one alarm: slip of SlipPct (of engine speed) in Gear at T s.
type Alert struct {
	T, SlipPct float64
	Gear       int
}

// NewAlarm returns an alarm for a model that was learnt before.
func NewAlarm(m gearstate.Model, k Known) *Alarm {
	return &Alarm{known: k, past: gearstate.Track{Model: m.Live()}, look: math.Inf(-1), quiet: math.Inf(-1)}
}

// Push takes the next state and tells whether to warn now. A link slower than 0.7 s a value never warns, nor
// does a car whose gearbox may slip by design.
func (a *Alarm) Push(s gearstate.State) (Alert, bool) {
	m := &a.past.Model
	if m.Period > gearstate.SlowestLink || len(m.Gears) == 0 || a.known.Told != vehicle.Manual &&
		(a.known.Told != "" || a.known.GearboxOdds > 0) {
		return Alert{}, false
	}
	a.past.Append(s)
	if s.T < a.look || s.T < a.quiet || !(s.Excess > alarmLeast*s.V || s.Clutch != gearstate.Locked) {
		return Alert{}, false
	}
	a.look = s.T + alarmEvery
	a.past.Forget(s.T - alarmMemory)
	c := a.slipping(s.T)
	if c == nil {
		return Alert{}, false
	}
	a.quiet = s.T + alarmHoldOff
	return Alert{T: s.T, SlipPct: c.MeanSlip, Gear: c.Gear}, true
}

// slipping returns the departure that lasts until now and is slip, nil where there is none.
func (a *Alarm) slipping(now float64) *Departure {
	r := &Record{Record: motion.New(0, &a.past), Spread: a.known.Spread, PullSpread: a.known.Spread, Path: a.known.Path}
	r.measureHeld()
	r.carried = math.Max(r.carried, a.known.capacity)
	r.findGeared()
	r.findIn(r.findPulls())
	none := motion.NewForce(nil, false)
	r.each(func(c *Departure) { r.measure(c, none) })
	weighCreep([]*Record{r}, a.known.loose)
	weighTrials([]*Record{r}, a.known.trials)
	var found *Departure
	r.each(func(c *Departure) {
		if c.End < now-alarmFresh-r.Period || r.frozen(c) {
			return
		}
		r.explain(c)
		if c.MeanSlip >= 100*alarmLeast && (c.Odds >= alarmProven || r.ruins(c)) {
			found = c
		}
	})
	return found
}

// ruins tells whether a clutch that was let in has been sliding at full load for longer than anybody wants who
// means to keep it: a weak clutch or a slow foot, both end with a lift.
func (r *Record) ruins(c *Departure) bool {
	full := math.NaN()
	for i := c.lo; i < c.hi; i++ {
		if !(r.Track.Load[i] >= FullFrom) {
			full = math.NaN()
		} else if math.IsNaN(full) {
			full = r.Track.T[i]
		}
	}
	return c.onlyRival(KindEngagement, alarmProven) && c.Moving && !c.seen.steady && r.Track.T[c.hi-1]-full >= ruinous
}

// ruinous is how long (s) nobody lets a clutch slip at full load who wants to keep it.
const ruinous = 1.5

// onlyRival tells whether a kind is all that slip does not beat by so many nats.
func (c *Departure) onlyRival(kind Kind, nats float64) bool {
	for _, v := range c.Rivals {
		if v.Nats < nats && v.Kind != kind {
			return false
		}
	}
	return c.Kind == kind
}

// fewestValues is how many values a stretch must have to show anything.
const fewestValues = 3

// frozen tells whether the control unit repeats its last values at the end of a departure instead of measuring:
// of engine speed, or of road speed, which goes on where a clutch that slips pushes the car. What comes after,
// which tells it in a recording, is not there yet.
func (r *Record) frozen(c *Departure) bool {
	t := r.Track
	n := c.hi
	if n-c.lo < fewestValues {
		return true
	}
	first := max(c.lo, r.at(t.T[n-1]-1-r.Period))
	if t.SpeedKmh[n-1] == t.SpeedKmh[first] {
		return true
	}
	return t.RPM[n-1] == t.RPM[n-2] && (r.Period > gearstate.SlowLink || t.RPM[n-2] == t.RPM[n-3])
}

// Learn tells an alarm what a decoded log shows of the car. told is the kind of gearbox, "" where nobody said it.
func Learn(t *gearstate.Track, told vehicle.GearboxType) Known {
	return Find([]*motion.Record{motion.New(0, t)}, motion.NewForce(nil, false), Told{})[0].learnt(told)
}
