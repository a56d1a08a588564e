package field

import (
	"flywitness/drive"
	"flywitness/sim"
)

// ask is the size of slip that must be found: a share of engine speed in % for a time.
type ask struct{ pct, dur float64 }

// What is asked of quick links and of slow ones.
var (
	quick = ask{3, 1.5}
	slow  = ask{5, 2}
)

const (
	underLoad = 50.0 // % of the accelerator from which slip is under load
	longSlip  = 2.5  // s: one such is enough, else two
)

// qualifies tells whether the clutches of the drives slipped as asked: two times, or once for longer.
func (a ask) qualifies(truths []*sim.Truth, unlocked bool) bool {
	n := 0
	for _, tr := range truths {
		n += a.within(tr, 0, tr.Duration(), unlocked)
	}
	return n >= 2
}

// within counts slips of the asked size in a stretch of a drive (s): under load, in second or higher, foot off the
// pedal, and from a clutch that had locked unless unlocked slip counts too. A long one counts for two.
func (a ask) within(tr *sim.Truth, from, to float64, unlocked bool) (n int) {
	for _, e := range tr.Events {
		if e.FromEngagement && !unlocked || e.Gear < 2 {
			continue
		}
		e.StartS, e.EndS = max(e.StartS, from), min(e.EndS, to)
		switch dur := a.stretch(tr, e); {
		case dur > max(longSlip, a.dur):
			n += 2
		case dur >= a.dur:
			n++
		}
	}
	return n
}

// stretch is the longest time in s that an event stood above the asked size under load.
func (a ask) stretch(tr *sim.Truth, e sim.SlipEvent) float64 {
	longest, run := 0.0, 0.0
	for i := tr.At(e.StartS); i <= tr.At(e.EndS); i++ {
		if tr.SlipPct[i] >= a.pct && tr.Pedal[i] >= underLoad {
			run += tr.Step
		} else {
			run = 0
		}
		longest = max(longest, run)
	}
	return longest
}

// seen is qualifies over those slips that no pause of a log lies in.
func (a ask) seen(truths []*sim.Truth, logs []*drive.Log) bool {
	n := 0
	for i, tr := range truths {
		rpm := logs[i].Channel(drive.EngineSpeed)
		for _, e := range tr.Events {
			if !paused(rpm, e.StartS, e.EndS+1) {
				n += a.within(tr, e.StartS, e.EndS, false)
			}
		}
	}
	return n >= 2
}

// paused tells whether a channel has no value for a second within a stretch (s).
func paused(c *drive.Channel, from, to float64) bool {
	last := from
	for _, t := range c.T {
		if t < from || t > to {
			continue
		}
		if t-last > 1 {
			return true
		}
		last = max(last, t)
	}
	return to-last > 1
}
