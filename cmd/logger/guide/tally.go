package guide

import (
	"fmt"
	"strings"

	"flywitness/cmd/logger/live"
)

// settled is how long ago a run must have ended before it is judged, so that its end is all there.
const settled = 2.0

// tally is how many usable runs there are.
type tally struct {
	used   map[live.Kind]int
	byGear map[int]int // usable pulls
	heatJ  float64     // that slip has left in the clutch
}

func newTally(runs []live.Run) tally {
	t := tally{used: map[live.Kind]int{}, byGear: map[int]int{}}
	for _, r := range runs {
		t.add(r)
	}
	return t
}

func (t *tally) add(r live.Run) {
	t.heatJ += r.HeatJ
	if !r.Used {
		return
	}
	t.used[r.Kind]++
	if r.Kind == live.Pull {
		t.byGear[r.Gear]++
	}
}

// gears returns the usable pulls in the gear that has most, and in the next.
func (t *tally) gears() (first, other int) {
	for _, n := range t.byGear {
		if n > first {
			first, other = n, first
		} else if n > other {
			other = n
		}
	}
	return first, other
}

// Need is how many runs of a kind there are and how many are asked for.
type Need struct {
	Kind       live.Kind
	Have, Want int
}

// Needs returns what there is and what is asked for.
func (g *Guide) Needs() []Need {
	g.mu.Lock()
	defer g.mu.Unlock()
	first, other := g.tally.gears()
	return []Need{
		{live.FreeRev, g.tally.used[live.FreeRev], g.needs.FreeRevs},
		{live.Pull, min(first, g.needs.FirstGearPulls) + min(other, g.needs.OtherGearPulls), g.needs.FirstGearPulls + g.needs.OtherGearPulls},
		{live.InGear, g.tally.used[live.InGear], g.needs.InGear},
		{live.Coast, g.tally.used[live.Coast], g.needs.Coasts},
	}
}

// stepOf is the step that asks for a kind of run.
func stepOf(k live.Kind) step {
	return map[live.Kind]step{live.FreeRev: freeRevs, live.Hold: freeRevs, live.Pull: pulling, live.InGear: rolling, live.Coast: rolling}[k]
}

// Judged takes all runs of the recording so far as the analysis judges them at t s. Every usable one counts, whatever was asked for
// when it was driven.
func (g *Guide) Judged(t float64, all []live.Run) {
	if !g.begun || g.step == finished {
		return
	}
	var runs []live.Run
	for _, r := range all {
		if r.End <= t-settled {
			runs = append(runs, r)
		}
	}
	g.now = max(g.now, t)
	fresh := g.tell(runs)
	g.mu.Lock()
	g.tally = newTally(runs)
	g.mu.Unlock()
	g.judgePulls(fresh)
	if g.step == freeRevs {
		g.holding(runs)
	}
	g.settle()
	g.follow(fresh)
}

// tell tells of runs that were not told of yet and returns those that count. Runs that do not count are told of only when they were
// asked for: traffic is full of them.
func (g *Guide) tell(runs []live.Run) (fresh []live.Run) {
	n := newTally(nil)
	for _, r := range runs {
		n.add(r)
		before := g.knows(r)
		switch {
		case before != nil && (before.Used || !r.Used):
			continue
		case r.Kind == live.Hold && g.hold.phase == noHolds: // nobody asked
			continue
		case r.Used:
			fresh = append(fresh, r)
			g.tells(Message{About: Judged, Text: fmt.Sprintf("Good: %s, %s.", r, g.countText(n, r))})
		case stepOf(r.Kind) == g.step && r.End > g.since:
			g.tells(Message{About: Judged,
				Text: fmt.Sprintf("Not used: %s, %s.", r, strings.TrimSuffix(r.Why.In(g.Units), "."))})
		default:
			continue
		}
		if before != nil {
			*before = r
		} else {
			g.told = append(g.told, r)
		}
	}
	return fresh
}

// knows finds what was told of a run: one of its kind that shares half of its time. What is judged again, with more known of the
// gearing, may begin a moment earlier or later and be in another gear.
func (g *Guide) knows(r live.Run) *live.Run {
	for i := range g.told {
		x := &g.told[i]
		if shared := min(x.End, r.End) - max(x.Start, r.Start); x.Kind == r.Kind && shared >= 0.5*min(x.End-x.Start, r.End-r.Start) {
			return x
		}
	}
	return nil
}

// countText says the how-manieth of how many a run is.
func (g *Guide) countText(n tally, r live.Run) string {
	have, want := n.used[r.Kind], map[live.Kind]int{live.FreeRev: g.needs.FreeRevs, live.Hold: 4, live.InGear: g.needs.InGear, live.Coast: g.needs.Coasts}[r.Kind]
	if r.Kind == live.Pull {
		have, want = n.byGear[r.Gear], g.needs.FirstGearPulls
		for other, m := range n.byGear {
			if other != r.Gear && m > have {
				want = g.needs.OtherGearPulls
			}
		}
	}
	if have > want {
		return fmt.Sprintf("%d, more than the %d that are needed", have, want)
	}
	return fmt.Sprintf("%d of %d", have, want)
}

// settle ends the steps whose runs are all there.
func (g *Guide) settle() {
	first, other := g.tally.gears()
	met := map[step]bool{
		freeRevs: g.tally.used[live.FreeRev] >= g.needs.FreeRevs,
		pulling:  first >= g.needs.FirstGearPulls && other >= g.needs.OtherGearPulls && !g.clutch.slipped,
		rolling:  g.tally.used[live.InGear] >= g.needs.InGear && g.tally.used[live.Coast] >= g.needs.Coasts,
	}
	for s := freeRevs; s <= rolling; s++ {
		if met[s] && !g.over[s] && (s != freeRevs || g.revsDone()) {
			g.done(s)
		}
	}
}

// follow goes where the driver goes: whoever drives good runs already needs no warming up or idling, and whoever revs standing or
// drives on the road is asked for what is done there. What was left is asked for afterwards.
func (g *Guide) follow(fresh []live.Run) {
	standing := g.step <= freeRevs
	for _, r := range fresh {
		to := stepOf(r.Kind)
		if to == freeRevs && g.step == freeRevs || to != freeRevs && !standing {
			continue
		}
		g.over[warmUp] = true
		if g.over[to] && to != freeRevs {
			to = pulling + rolling - to // the other thing to be driven on the road
		}
		if g.over[to] {
			if g.step == warmUp {
				g.enter(g.next())
			}
			continue
		}
		g.enter(to)
		return
	}
}
