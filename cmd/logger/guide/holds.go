package guide

import (
	"fmt"
	"math"

	"flywitness/cmd/logger/live"
	"flywitness/drive"
)

// holds leads through the holds before the free revs and after them, where the car tells what flows. They are
// offered, not insisted on: whoever revs goes on to the revs.
type holds struct {
	phase holdPhase
	at    [2]float64 // rpm
	since float64    // s, when the phase began
	asked bool       // a speed was asked for once more
}

type holdPhase uint8

const (
	noHolds holdPhase = iota
	holdsBefore
	revving
	holdsAfter
)

const (
	holdS        = 15.0
	holdPatience = 240.0 // s without any hold that counts, after which they are left out
	nearSpeed    = 0.08  // as a logarithm: a hold at the speed that was asked for
	holdsDiffer  = 0.025 // of the flow, from before the revs to after them: hold it once more
)

// tellsFlow tells whether the car has told air, load, pressure or fuel so far.
func (g *Guide) tellsFlow() bool {
	for _, name := range []string{drive.AirFlow, drive.FuelRate, drive.EngineLoad, drive.IntakePressure} {
		if _, _, ok := g.book.Last(name); ok {
			return true
		}
	}
	return false
}

// beginStanding begins what is driven at standstill: holds where they can tell something, else the free revs.
func (g *Guide) beginStanding() {
	if g.hold.phase != noHolds || !g.tellsFlow() || g.tally.used[live.FreeRev] > 0 {
		g.askRevs()
		return
	}
	g.hold = holds{phase: holdsBefore, at: g.road.HoldsRPM, since: g.now}
	g.begins(freeRevs, "First the engine's drag of the day", fmt.Sprintf("standing, lever in neutral, foot %s the clutch, "+
		"no fan running. Hold %.0f rpm for %.0f s, as steadily as the foot can, then %.0f rpm for %.0f s. You tell the driver the engine speed; the driver listens. (s and Enter passes it over.)", g.foot(), g.hold.at[0], holdS, g.hold.at[1], holdS))
}

func (g *Guide) askRevs() {
	if g.hold.phase == holdsBefore {
		g.hold.phase = revving
	}
	g.begins(freeRevs, fmt.Sprintf("Free revs, %d good ones", g.needs.FreeRevs), fmt.Sprintf("standing, lever in neutral, foot "+
		"%s the clutch. Rev to about %.0f rpm, hold it for a moment, let go at once and fully, wait until it idles.",
		g.foot(), g.road.RevToRPM))
}

// heldAt is the last usable hold at a speed in a span of time; nil where there is none.
func heldAt(runs []live.Run, rpm, from, to float64) *live.Run {
	var found *live.Run
	for i := range runs {
		if r := &runs[i]; r.Kind == live.Hold && r.Used && r.Start >= from && r.End <= to && math.Abs(math.Log(r.RPM/rpm)) < nearSpeed {
			found = r
		}
	}
	return found
}

// holding goes on where both speeds were held, or where nobody holds.
func (g *Guide) holding(runs []live.Run) {
	switch g.hold.phase {
	case holdsBefore:
		missing := g.missing(runs)
		switch {
		case g.tally.used[live.FreeRev] > 0 || missing == 2 && g.now-g.hold.since > holdPatience:
			g.say("Holds are left out: the free revs alone count.")
			g.hold.phase = noHolds
			g.askRevs()
			g.hold.at = [2]float64{}
		case missing == 0:
			g.askRevs()
		}
	case holdsAfter:
		missing := g.missing(runs)
		switch {
		case missing == 0 && !g.askAgain(runs):
			g.hold.phase = noHolds
			g.done(freeRevs)
		case missing > 0 && g.now-g.hold.since > holdPatience:
			g.say("The holds after the free revs are left out.")
			g.hold.phase = noHolds
			g.done(freeRevs)
		}
	}
}

// missing is how many of both speeds were not held since the phase began.
func (g *Guide) missing(runs []live.Run) (n int) {
	for _, rpm := range g.hold.at {
		if heldAt(runs, rpm, g.hold.since, math.Inf(1)) == nil {
			n++
		}
	}
	return n
}

// askAgain asks once more, and once only, for a speed that took another flow after the revs than before them.
func (g *Guide) askAgain(runs []live.Run) bool {
	if g.hold.asked {
		return false
	}
	for _, rpm := range g.hold.at {
		before, after := heldAt(runs, rpm, 0, g.hold.since), heldAt(runs, rpm, g.hold.since, math.Inf(1))
		if before == nil || after == nil || !(before.Flow > 0 && after.Flow > 0) {
			continue
		}
		if d := math.Abs(math.Log(after.Flow/before.Flow) - 1.2*math.Log(after.RPM/before.RPM)); d > holdsDiffer {
			g.hold.asked, g.hold.since = true, g.now
			g.hold.at = [2]float64{rpm, rpm}
			g.say(fmt.Sprintf("At %.0f rpm the engine took %.1f %% more or less than before the free revs: hold that speed once more, while no fan runs.", rpm, 100*d))
			return true
		}
	}
	return false
}

// revsDone tells whether the standing part is over with the free revs; else the holds after them are asked for.
func (g *Guide) revsDone() bool {
	if g.hold.phase != revving {
		return g.hold.phase == noHolds
	}
	g.hold.phase, g.hold.since = holdsAfter, g.now
	g.say(fmt.Sprintf("Now the same holds again: %.0f rpm for %.0f s, then %.0f rpm for %.0f s, while no fan runs.", g.hold.at[0], holdS, g.hold.at[1], holdS))
	return false
}
