package detect

import (
	"math"
	"slices"

	"flywitness/analysis/gearstate"
)

const (
	aloneOdds  = 5.0 // nats against a clutch that is let in, where it was not seen locked before
	aloneLong  = 2.5 // s and a value, without a lift, that an event must last to prove slip without a second one, or
	aloneShort = 1.5 // s and a value, locked before and after or smaller than what a foot on the pedal does
)

// findAlone marks the departures of records that prove slip without a second one.
func findAlone(records []*Record) {
	gears := otherGears(records)
	for _, r := range records {
		r.each(func(c *Departure) { c.Alone = r.alone(c) && !slices.ContainsFunc(gears, c.isAs) })
	}
}

// alone tells whether an event proves slip without a second one: it begins locked, and lasts longer than anything else
// does, or it lasts longer than a foot stays on the pedal and either ends locked or is smaller than what a pedal does.
// One that grows, or goes on for far longer than a foot takes, begins as good as locked where the engine runs between
// the gears: a clutch that is let in comes to rest. On a slow link gears may be changed between two values: what is
// larger than a gear makes counts for as long as the foot is known to stay down, or where the engine ran out of gear.
// What is mostly a stab at the pedal proves nothing, whatever follows it.
func (r *Record) alone(c *Departure) bool {
	begins := c.seen.locked || (c.seen.grows || engaging(r, c) >= aloneOdds) && c.seen.between > aloneLong+r.Period
	if c.Kind != KindSlip || !begins || c.seen.pulled || c.stabs(r.Period) {
		return false
	}
	slow, small := r.Period > gearstate.SlowLink, c.PeakSlip < pedalPeak
	lasts := c.seen.alone
	if slow && !small && !r.outOfGear(c) {
		lasts = math.Min(lasts, r.footKept(c))
	}
	return lasts > aloneLong+r.Period || lasts > aloneShort+r.Period && (c.seen.relocks || small)
}

// outShare of a departure is more time out of gear than one gear after the other takes: half of it is spent in them.
const outShare = 2.0 / 3

// outOfGear tells whether the engine ran between the gears for longer, and for a larger part of a departure, than it
// does in one gear after the other.
func (r *Record) outOfGear(c *Departure) bool {
	return c.seen.outside > 2*breakTime+r.Period && c.seen.outside > outShare*c.duration
}

// stabs tells whether what stands out of a departure is as far and as short as a stab at the clutch pedal makes it.
func (c *Departure) stabs(period float64) bool {
	return c.PeakSlip > longPedalPeak && c.seen.stands < StabTime+period
}

// sameRatio is the logarithm of two ratios that may be one gear's, as the peaks of two departures tell them on a slow
// link: neighbours in a gearbox stand three times as far apart.
const sameRatio = 0.05

// otherGears are the departures of records of slow links that were another gear. There one change of gear falls on the
// values as the last did not: what leaves a gear for the ratio that it was left for at other times proves nothing
// alone.
func otherGears(records []*Record) (out []*Departure) {
	for _, r := range records {
		r.each(func(c *Departure) {
			if c.Kind == KindOtherGear && r.Period > gearstate.SlowLink {
				out = append(out, c)
			}
		})
	}
	return out
}

// isAs tells whether the engine ran as far ahead of one gear in two departures.
func (c *Departure) isAs(o *Departure) bool {
	return c.Gear == o.Gear && math.Abs(math.Log((100-c.PeakSlip)/(100-o.PeakSlip))) < sameRatio
}
