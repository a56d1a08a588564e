package drag

import (
	"math"

	"flywitness/finding"
)

// What a hold must be. Limits of the mixture and of warmth are common practice, no source; those on trims were
// tried on simulated engines.
const (
	warmC      = 80.0
	runMinutes = 3.0
	lambdaWide = 0.02
	trimDrift  = 0.03
	stopped    = 200.0 // rpm
	// fuel system status of SAE J1979, parameter 03 (from memory): 2 closed loop, 8 closed loop with a fault, 4
	// cut off on a shut throttle
	closedLoop = 2
	closedPoor = 8
	cutOff     = 4
)

// judge measures a hold and refuses it where it tells nothing of the drag.
func (g *gauges) judge(h *Hold) {
	h.coolant = math.NaN()
	if v, ok := g.coolant.near((h.Start+h.End)/2, 60); ok {
		h.coolant = v
	}
	h.spark, h.purge = g.spark.meanIn(h.Start, h.End), g.purge.meanIn(h.Start-3, h.End+3)
	h.volts = g.voltage.part(h.Start-3, h.End+1).v
	switch {
	case h.Spread > widestHold:
		h.refuse(finding.HoldUnsteady, finding.EngineSpeed("by", h.Spread))
		return
	case h.End-h.Start+settleS+leaveS < shortestHold && !h.idle:
		h.refuse(finding.HoldShort, finding.Duration("lasting", h.End-h.Start+settleS+leaveS))
		return
	case !g.measure(h):
		h.refuse(finding.HoldNoFlow)
		return
	}
	g.judgeMixture(h)
	if h.coolant < warmC {
		h.refuse(finding.HoldCold, finding.Temperature("at", h.coolant))
	}
	if s := g.sinceStart(h.Start); s < 60*runMinutes {
		h.refuse(finding.HoldEarly, finding.Duration("after", s))
	}
}

// judgeMixture refuses a hold in which the control unit did not keep to the mixture that burns completely.
func (g *gauges) judgeMixture(h *Hold) {
	if g.diesel {
		return
	}
	open := 0
	status := g.status.part(h.Start-3, h.End+3)
	for _, v := range status.v {
		if v != closedLoop && v != closedPoor {
			open++
		}
	}
	if 2*open > len(status.v) {
		h.inert = true
		h.refuse(finding.HoldOpenLoop, finding.Count("status", int(status.v[len(status.v)/2])))
	}
	if v, n := g.lambda.part(h.Start-3, h.End+3).mean(); n > 0 && math.Abs(v-1) > lambdaWide {
		h.inert = true
		h.refuse(finding.HoldRich, finding.Number("lambda", v))
	}
	short := g.short.part(h.Start, h.End)
	if _, slope, ok := short.line((h.Start+h.End)/2, h.End-h.Start); ok &&
		math.Abs(slope/100)*(h.End-h.Start) > trimDrift {
		h.inert = true
		h.refuse(finding.HoldDrifts, finding.Pct("by", math.Abs(slope)*(h.End-h.Start)))
	}
}

// sinceStart is how long before t the engine was started, s; infinite where neither the run time nor engine speed
// shows it.
func (g *gauges) sinceStart(t float64) float64 {
	if v, ok := g.runTime.near(t, 30); ok {
		return v
	}
	for i := len(g.rpm.t) - 1; i >= 0; i-- {
		if g.rpm.t[i] < t && g.rpm.v[i] < stopped {
			return t - g.rpm.t[i]
		}
	}
	return math.Inf(1)
}
