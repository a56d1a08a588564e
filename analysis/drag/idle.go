package drag

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"flywitness/analysis/stats"
	"flywitness/finding"
)

// What idle tells. Oil changes an engine's drag at speed much more than what idle takes, consumers much less,
// so idle's flow tells nothing alone: the thermometer takes the oil's share out first. All found on simulated
// engines.
const (
	idleAnswers    = 0.45    // d ln drag / d ln flow for what is not the oil
	idleAnswersSD  = 0.25    //
	dragPerK       = -0.0019 // d ln drag / d oil temperature
	dragPerKSD     = 0.0005
	idleLeft       = 0.018 // of ln drag: what neither tells
	idleSpeedApart = 0.08  // of idle speed, as a logarithm
)

// compareIdles corrects by idle's flow and the oil's temperature, for a driver who cannot hold the engine.
func (c *correction) compareIdles() {
	f := c.f
	var flow, oil, rpm [2]float64
	var variance float64
	for k, s := range c.sides {
		if s == nil {
			return
		}
		var levels, temps, at []float64
		own := 0.0
		for _, session := range c.falls.Session[k] {
			t, known := s.oil[session]
			if !known {
				c.refuse(finding.IdleNoOil)
				return
			}
			temps = append(temps, t)
			for i := range s.idles {
				if h := &s.idles[i]; h.Used && h.Session == session {
					levels, at = append(levels, h.air.value-usualExponent*math.Log(h.RPM/800)), append(at, math.Log(h.RPM))
					own += h.air.sd * h.air.sd
				}
			}
		}
		if len(levels) == 0 {
			c.refuse(finding.IdleMissing, finding.Flag("after", k == 1))
			return
		}
		flow[k], oil[k], rpm[k] = stat.Mean(levels, nil), stat.Mean(temps, nil), stat.Mean(at, nil)
		variance += own / float64(len(levels)*len(levels))
	}
	if math.Abs(rpm[0]-rpm[1]) > idleSpeedApart {
		c.refuse(finding.IdleSpeedDiffers, finding.EngineSpeed("before", math.Exp(rpm[0])),
			finding.EngineSpeed("after", math.Exp(rpm[1])))
		return
	}
	f.Refusals, f.Flow, f.FlowUnit, f.SpeedsRPM = []finding.Finding{}, string(IdleFlow), unitOf(IdleFlow), []float64{}
	c.lookAtFalls()
	p := priorFor(Air, c.opt)
	warmer := oil[0] - oil[1]
	byOil := dragPerK * warmer
	rest := flow[0] - flow[1]
	drag := byOil + idleAnswers*rest
	doubt := stats.Square(idleAnswers)*(p.air*p.air+variance+p.engine*p.engine) + p.fall*p.fall + idleLeft*idleLeft +
		stats.Square(dragPerKSD*warmer) + stats.Square(idleAnswersSD*rest)
	day := p.day * p.day
	gain := day / (day + doubt)
	air := 100 * math.Expm1(flow[1]-flow[0])
	f.AirChange = &air
	f.FlowChange, f.DragChange = percent(flow[1]-flow[0], math.Sqrt(p.air*p.air+variance)),
		percent(-gain*drag, math.Sqrt(gain*doubt))
	if len(f.Refusals) > 0 {
		return
	}
	other := gain*doubt + c.falls.Other
	a := Corrected{Ln: c.falls.Ln + gain*drag, Variance: c.falls.Runs + other,
		DF: stats.Satterthwaite([]float64{c.falls.Runs, other}, []float64{c.falls.DF, math.Inf(1)})}
	f.Answer, f.account, f.Corrected = &a, &a, a.estimate()
}
