package main

import (
	"math"

	"flywitness/analysis/gearstate"
	"flywitness/cmd/logger/live"
	pages "flywitness/dashboards/live"
)

// curve keeps the last curveLength seconds for the page: engine speed as it was measured, the engine speed that the road speed would ask
// for in the gear that is in, the gear, and where the clutch slipped.
type curve struct {
	engine, locked []pages.Point
	gears, slips   []pages.Stretch
	at             float64 // s of the last state that was taken
}

// How long the curve is, how close its points stand, and how far apart two states may be that still belong to one stretch; s.
const (
	curveLength = 30.0
	curveStep   = 0.2
	curveJoin   = 2.0
)

// measured takes an engine speed.
func (c *curve) measured(t, rpm float64) {
	if n := len(c.engine); n == 0 || t >= c.engine[n-1][0]+curveStep {
		c.engine = append(c.engine, pages.Point{t, rpm})
	}
	c.trim(t)
}

// seen takes what the decoder saw last.
func (c *curve) seen(s live.State) {
	if !s.Known || s.T <= c.at {
		return
	}
	c.at = s.T
	if s.Gear > 0 {
		c.gears = extend(c.gears, s.T, float64(s.Gear), true)
	}
	if s.Clutch == gearstate.Slipping {
		c.slips = extend(c.slips, s.T, s.SlipPct, false)
	}
	if n := len(c.locked); s.LockedRPM > 0 && (n == 0 || s.T >= c.locked[n-1][0]+curveStep) {
		c.locked = append(c.locked, pages.Point{s.T, s.LockedRPM})
	}
}

// extend lengthens the last stretch to t or begins a new one. Where same is true only a stretch of the same value is lengthened,
// otherwise the stretch keeps its largest value.
func extend(list []pages.Stretch, t, value float64, same bool) []pages.Stretch {
	if n := len(list); n > 0 && t-list[n-1].To <= curveJoin && (!same || list[n-1].Value == value) {
		list[n-1].To, list[n-1].Value = t, max(value, list[n-1].Value)
		return list
	}
	return append(list, pages.Stretch{From: t, To: t, Value: value})
}

// trim lets go what is older than the curve is long.
func (c *curve) trim(now float64) {
	from := now - curveLength
	for len(c.engine) > 0 && c.engine[0][0] < from {
		c.engine = c.engine[1:]
	}
	for len(c.locked) > 0 && c.locked[0][0] < from {
		c.locked = c.locked[1:]
	}
	for len(c.gears) > 0 && c.gears[0].To < from {
		c.gears = c.gears[1:]
	}
	for len(c.slips) > 0 && c.slips[0].To < from {
		c.slips = c.slips[1:]
	}
}

// shown returns the curve as it stands at now s; the page may keep it.
func (c *curve) shown(now float64) *pages.Curve {
	out := &pages.Curve{LengthS: curveLength}
	back := func(list []pages.Point) (moved []pages.Point) {
		for _, p := range list {
			moved = append(moved, pages.Point{tenths(p[0] - now), math.Round(p[1])})
		}
		return moved
	}
	stretches := func(list []pages.Stretch) (moved []pages.Stretch) {
		for _, s := range list {
			moved = append(moved, pages.Stretch{From: max(tenths(s.From-now), -curveLength), To: tenths(s.To - now), Value: tenths(s.Value)})
		}
		return moved
	}
	out.Engine, out.Locked, out.Gears, out.Slips = back(c.engine), back(c.locked), stretches(c.gears), stretches(c.slips)
	return out
}

// tenths rounds to what can be seen on a page.
func tenths(x float64) float64 { return math.Round(10*x) / 10 }
