package guide

import (
	"fmt"

	"flywitness/analysis/practice"
	"flywitness/cmd/logger/live"
)

// rest is the pause between free revs.
type rest struct {
	inARow int
	until  float64
	on     bool
}

// revs asks for free revs, with a rest after so many.
func (g *Guide) revs() {
	if g.rest.on {
		if g.now < g.rest.until {
			return
		}
		g.rest = rest{}
		g.say("Rest is over: on with the free revs.")
	}
	runs := g.judge.FreeRevs(g.book.Log(g.since))
	fresh := g.news(runs, func(r live.Run) (string, int) { return "kind", g.needs.FreeRevs })
	g.rest.inARow += len(fresh)
	if g.used[live.FreeRev] >= g.needs.FreeRevs {
		g.enter(pulling)
		return
	}
	if g.rest.inARow >= g.needs.InARow {
		g.rest.on, g.rest.until = true, g.now+g.needs.RestS
		g.say(fmt.Sprintf("%d free revs in a row: let it idle for %.0f s.", g.rest.inARow, g.needs.RestS))
	}
}

// beginPulls says which pulls are wanted, or why none are.
func (g *Guide) beginPulls() {
	km, bed := g.answers.Number("km_since_fitted"), g.answers.Number("bed_in_km")
	if km != nil && bed != nil && *km < *bed {
		g.say(fmt.Sprintf("4. No pulls yet: the clutch has %.0f km of the %.0f km that its maker asks for. %s.", *km, *bed, practice.Find(practice.BeddingIn).Does))
		g.enter(rolling)
		return
	}
	if len(g.offers) == 0 && g.noOffer != "" {
		g.say("4. No pulls: " + g.noOffer + ".")
		g.enter(rolling)
		return
	}
	g.caution(practice.Pulling)
	g.say(fmt.Sprintf("4. Full-load pulls: %d good ones in the highest gear that is lawful, %d in another. Clutch engaged, floor it from below the torque peak, no lift until past it.",
		g.needs.FirstGearPulls, g.needs.OtherGearPulls))
	for _, o := range g.offers[:min(2, len(g.offers))] {
		g.say("   " + o.String())
	}
}

// pulls asks for pulls until there are enough, or until the clutch must be spared.
func (g *Guide) pulls() {
	c := &g.clutch
	if c.slipped && g.now < c.coolUntil {
		return
	}
	if c.slipped && !c.confirm {
		c.confirm = true
		g.say("The clutch has cooled. One short confirmation: the same gear, full load for three seconds at most, lift at once when the engine runs away.")
		g.since = g.now
		return
	}
	if !g.look() {
		return
	}
	runs := g.judge.Runs(g.book.Log(0))
	fresh := g.news(runs, func(r live.Run) (string, int) {
		if r.Kind != live.Pull {
			return "", 0
		}
		return "gear", g.wantedIn(r.Gear)
	})
	c.heat = 0
	for _, r := range runs {
		c.heat += r.HeatJ
	}
	slips := false
	for _, r := range fresh {
		slips = slips || r.Slips
	}
	switch {
	case c.confirm && len(fresh) > 0, c.confirm && g.now-g.since > 300:
		g.say("No more pulls: the clutch is spared.")
		g.enter(rolling)
	case c.heat > g.needs.HeatJ:
		g.say(fmt.Sprintf("No more pulls: slip has left %.0f kJ in the clutch.", c.heat/1000))
		g.enter(rolling)
	case slips && !c.slipped:
		g.slipSeen()
	case g.enoughPulls():
		g.enter(rolling)
	}
}

// slipSeen begins the cooling after the first sure slip; a later one ends the pulls.
func (g *Guide) slipSeen() {
	c := &g.clutch
	if c.confirm {
		if g.step == pulling {
			g.say("It slips again: no more pulls.")
			g.enter(rolling)
		}
		return
	}
	if c.slipped {
		return
	}
	c.slipped, c.coolUntil = true, g.now+g.needs.CoolingS
	g.say(fmt.Sprintf("The clutch slipped under load. Drive gently for %.0f s, and let no one else floor it.", g.needs.CoolingS))
}

// wantedIn returns how many pulls are wanted in a gear: more in the one that has most.
func (g *Guide) wantedIn(gear int) int {
	for other, n := range g.byGear {
		if other != gear && n > g.byGear[gear] {
			return g.needs.OtherGearPulls
		}
	}
	return g.needs.FirstGearPulls
}

func (g *Guide) enoughPulls() bool {
	first, other := 0, 0
	for _, n := range g.byGear {
		if n > first {
			first, other = n, first
		} else if n > other {
			other = n
		}
	}
	return first >= g.needs.FirstGearPulls && other >= g.needs.OtherGearPulls
}
