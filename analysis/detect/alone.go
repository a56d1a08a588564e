package detect

import (
	"math"

	"flywitness/analysis/gearstate"
)

const (
	aloneOdds  = 5.0 // nats against a clutch that is let in, where it was not seen locked before
	aloneLong  = 2.5 // s and a value, without a lift, that an event must last to prove slip without a second one, or
	aloneShort = 1.5 // s and a value, locked before and after or smaller than what a foot on the pedal does
)

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
