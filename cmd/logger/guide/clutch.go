package guide

import (
	"fmt"
	"math"

	"flywitness/analysis/plan"
	"flywitness/analysis/practice"
	"flywitness/cmd/logger/live"
	"flywitness/finding"
)

// rest is the pause between free revs.
type rest struct {
	inARow int
	until  float64
	on     bool
}

// resting tells when the rest between free revs is over.
func (g *Guide) resting() {
	if g.rest.on && g.now >= g.rest.until {
		g.rest = rest{}
		g.say("Rest is over: on with the free revs.")
	}
}

// beginPulls says which pulls are wanted, or why none are.
func (g *Guide) beginPulls() {
	km, bed := g.answers.Number("km_since_fitted"), g.answers.Number("bed_in_km")
	if km != nil && bed != nil && *km < *bed {
		g.skipPulls("No pulls yet", g.in(finding.GuideNotBeddedIn, finding.Distance("driven", *km),
			finding.Distance("needed", *bed))+" "+practice.Find(practice.BeddingIn).Does+".")
		return
	}
	if len(g.road.Pulls) == 0 && !g.road.Untold {
		g.skipPulls("No pulls", g.road.NoPull.In(g.Units)+".")
		return
	}
	g.caution(pulling, practice.Pulling)
	g.begins(pulling, "Full-load pulls", fmt.Sprintf("%d good ones in the highest gear that is lawful, %d in another. Clutch "+
		"engaged, floor it from below the torque peak, no lift until past it.",
		g.needs.FirstGearPulls, g.needs.OtherGearPulls))
	for _, p := range g.road.Pulls[:min(2, len(g.road.Pulls))] {
		g.say("   " + pullText(p).In(g.Units))
	}
	if len(g.road.NoPull) > 0 {
		g.say("   Gear and road are yours to choose: " + g.road.NoPull.In(g.Units) + ".")
	}
}

// pullText says where a pull begins and ends and what road it needs.
func pullText(p plan.Pull) finding.Finding {
	return finding.New(finding.GuidePull, finding.Gear(p.Gear), finding.EngineSpeed("from", p.FromRPM), finding.Speed("from_speed", p.FromKmh),
		finding.EngineSpeed("to", p.ToRPM), finding.Speed("to_speed", p.ToKmh), finding.Duration("lasting", math.Ceil(p.Seconds)),
		finding.Quantity("road", finding.Metres, math.Ceil(p.RoadM/50)*50))
}

// skipPulls says at the step of the pulls why none are asked for.
func (g *Guide) skipPulls(title, why string) {
	if g.over[pulling] {
		return
	}
	g.begins(pulling, title, why)
	g.done(pulling)
}

// noPulls says why no more pulls are asked for.
func (g *Guide) noPulls(why string) {
	if g.over[pulling] {
		return
	}
	g.say(why)
	g.done(pulling)
}

// confirmTime is how long the one confirmation after cooling is waited for.
const confirmTime = 300 // s

// cooling offers the one confirmation once the clutch has cooled, and waits for it.
func (g *Guide) cooling() {
	c := &g.clutch
	switch {
	case !c.slipped || g.now < c.coolUntil:
	case !c.confirm:
		c.confirm, c.offered = true, g.now
		g.say("The clutch has cooled. One short confirmation: the same gear, full load for three seconds at most, lift at once when the engine runs away.")
	case g.now-c.offered > confirmTime:
		g.noPulls("No more pulls: the clutch is spared.")
	}
}

// judgePulls spares the clutch after what was driven, and lets the engine rest after free revs in a row.
func (g *Guide) judgePulls(fresh []live.Run) {
	for _, r := range fresh {
		switch {
		case r.Kind == live.FreeRev:
			g.rest.inARow++
		case r.Kind == live.Pull && g.clutch.confirm && r.Start > g.clutch.offered:
			g.noPulls("No more pulls: the clutch is spared.")
		case r.Slips && !g.clutch.slipped:
			g.slipSeen()
		}
	}
	if cooling := g.clutch.slipped && !g.clutch.confirm; g.tally.heatJ > g.needs.HeatJ && !cooling {
		g.noPulls(g.in(finding.GuideHeat, finding.Quantity("heat", finding.Kilojoules, g.tally.heatJ/1000)))
	}
	if g.step == freeRevs && g.tally.used[live.FreeRev] < g.needs.FreeRevs && !g.rest.on && g.rest.inARow >= g.needs.InARow {
		g.say(fmt.Sprintf("%d free revs in a row: let it idle for %.0f s.", g.rest.inARow, g.needs.RestS))
		g.rest.on, g.rest.until = true, g.now+g.needs.RestS
	}
}

// slipSeen begins the cooling after the first sure slip; a later one ends the pulls.
func (g *Guide) slipSeen() {
	c := &g.clutch
	if c.confirm {
		g.noPulls("It slips again: no more pulls.")
		return
	}
	if c.slipped {
		return
	}
	c.slipped, c.coolUntil = true, g.now+g.needs.CoolingS
	g.say(fmt.Sprintf("The clutch slipped under load. Drive gently for %.0f s, and let no one else floor it.", g.needs.CoolingS))
}
