package drag

import (
	"maps"
	"math"
	"slices"

	"flywitness/analysis/stats"
	"flywitness/finding"
)

// Limits beyond which the flow tells of something else than the drag: about three standard deviations of two like
// sittings of a simulated engine.
const (
	mostChange = 0.08 // of the flow
	// and where the checklist was kept and the spark is not known: few days differ by more, and late spark in the holds
	// does. A limit of 8 % let a sixth of it pass.
	mostChangeKept = 0.06
	// Degrees of crankshaft. A light load is burnt at a steady spark, which differs by one degree between two days; a
	// spark that is late by some four anyway and three degrees later costs 2 % of the efficiency (parabola about the
	// best spark, Heywood, Internal Combustion Engine Fundamentals, chapter 15, from memory).
	sparkApart   = 3.0
	speedsApart  = 0.041 // of the changes that both speeds tell
	coolantApart = 5.0   // K
	pressureWide = 1.8   // kPa, in the falls
	voltsApart   = 0.25  // V
	// A radiator's fan draws some 18 A, on whose way to the control unit lie some thousandths of an ohm.
	consumerVolts = 0.04 // V
	fewestVolts   = 4    // values in the falls of a side
	// What such a fan adds to the drag of a fall, relative: 250 W at 60 % efficiency of the alternator and some
	// 2700 rpm are 1.5 N m of some 27.
	fanDrag = 0.05
)

// metersAgree is how many standard deviations the changes that air and fuel tell may differ by. Beyond, a meter, the
// intake or the fuel seems to have changed: a miss costs a wrong verdict, a false alarm an interval.
const metersAgree = 2.0

// refuseFlow tells what speaks against the correction in the holds of both sides.
func (c *correction) refuseFlow(x change) {
	if x.disagree > metersAgree*metersAgree {
		c.refuse(finding.MetersDisagree, finding.Pct("off", 100*math.Abs(x.air-x.fuel)))
	}
	c.refuseBurning(x)
	if d := c.betweenSpeeds(); math.Abs(d) > speedsApart {
		c.refuse(finding.SpeedsDisagree, finding.Pct("off", 100*math.Abs(d)))
	}
	b, a := c.average(func(s sitting) float64 { return s.coolant })
	if math.Abs(b-a) > coolantApart {
		c.refuse(finding.CoolantDiffers, finding.Temperature("before", b), finding.Temperature("after", a))
	}
}

// refuseBurning tells that the engine did not burn alike on both sides, as its spark shows or, where that is not told,
// a change that drag hardly is.
func (c *correction) refuseBurning(x change) {
	most := mostChange
	b, a := c.average(func(s sitting) float64 { return s.spark })
	if c.opt.Checklist && flow(c.f.Flow) != FuelRate && math.IsNaN(b-a) {
		most = mostChangeKept
	}
	if math.Abs(b-a) > sparkApart {
		c.refuse(finding.SparkDiffers, finding.Quantity("before", finding.Degrees, b),
			finding.Quantity("after", finding.Degrees, a))
	}
	if math.Abs(x.both) > most {
		c.refuse(finding.FlowTooDifferent, finding.Pct("by", 100*math.Abs(math.Expm1(-x.both))),
			finding.Flag("more", x.both < 0))
	}
}

// betweenSpeeds is by how much the change at the higher speed differs from that at the lower; 0 with one.
func (c *correction) betweenSpeeds() float64 {
	if len(c.f.SpeedsRPM) < 2 {
		return 0
	}
	b, a := c.average(func(s sitting) float64 { return s.air[1].value - s.air[0].value })
	return b - a
}

// average is the mean of something over the sittings of either side, NaN where one does not know it.
func (c *correction) average(of func(sitting) float64) (before, after float64) {
	var out [2]float64
	for k, all := range c.f.sittings {
		for _, s := range all {
			out[k] += of(s) / float64(len(all))
		}
	}
	return out[0], out[1]
}

// lookAtFalls tells what speaks against the falls: a throttle that shuts differently, a battery that is charged in
// them, fuel.
func (c *correction) lookAtFalls() {
	if c.sides[0] == nil || c.sides[1] == nil {
		return
	}
	if c.sides[0].flow != FuelRate { // a diesel breathes freely
		c.fallPressure()
	}
	c.fallVoltage()
	c.fallFuel()
}

// facts gathers the falls of a side.
func (s *Side) facts() (all fallFacts) {
	for _, session := range slices.Sorted(maps.Keys(s.falls)) {
		f := s.falls[session]
		all.volts = append(all.volts, f.volts...)
		all.pressure = append(all.pressure, f.pressure...)
		all.cut += f.cut
		all.fuelled += f.fuelled
	}
	return all
}

// fewestPressures is how many values of the manifold's pressure in its falls a side must have.
const fewestPressures = 5

const (
	// Standard errors by which the volts of both sides differ: a consumer is likely enough to give the correction up,
	// or sure enough to give the falls up. Leaving one out costs a wrong verdict, and a false alarm an interval.
	voltsLikely  = 1.9
	voltsSure    = 3.0
	pressureSure = 3.0 // standard errors by which the pressures of the falls differ
	fewestFalls  = 3   // falls of a side that tell whether fuel was cut
)

// fallPressure compares the manifold's pressure in the falls at equal engine speed: sonic air through a shut
// throttle gives a pressure that goes with one over speed, on both sides alike.
func (c *correction) fallPressure() {
	b, a := c.sides[0].facts().pressure, c.sides[1].facts().pressure
	if len(b) < fewestPressures || len(a) < fewestPressures {
		return
	}
	var mx, my [2]float64
	var sxx, sxy float64
	for k, p := range [2][][2]float64{b, a} {
		for _, v := range p {
			mx[k] += v[0] / float64(len(p))
			my[k] += v[1] / float64(len(p))
		}
		for _, v := range p {
			sxx += (v[0] - mx[k]) * (v[0] - mx[k])
			sxy += (v[0] - mx[k]) * (v[1] - my[k])
		}
	}
	slope := 0.0
	if sxx > 0 {
		slope = sxy / sxx
	}
	d := my[0] - my[1] - slope*(mx[0]-mx[1])
	var residual []float64
	for k, p := range [2][][2]float64{b, a} {
		for _, v := range p {
			residual = append(residual, v[1]-my[k]-slope*(v[0]-mx[k]))
		}
	}
	se := stats.Summarise(residual).SD * math.Sqrt(1/float64(len(a))+1/float64(len(b)))
	if math.Abs(d) > math.Max(pressureWide, pressureSure*se) {
		middle := (my[0] + my[1]) / 2
		c.refuse(finding.PressureInFalls, finding.Quantity("before", finding.Kilopascals, middle+d/2),
			finding.Quantity("after", finding.Kilopascals, middle-d/2))
	}
}

// fallVoltage compares the voltage in the falls with that in the holds. A battery that is charged in the falls of
// one side alone makes them incomparable. A consumer shows much less: where it is sure it does so too, where it is
// only likely the correction is off and the ratio is known by so much less as a fan is worth.
func (c *correction) fallVoltage() {
	v := &phaseVolts{}
	for k, s := range c.sides {
		if !s.voltages(v, k) {
			return
		}
	}
	higher, sd, ok := v.fallsAboveHolds()
	if !ok {
		return
	}
	d := math.Abs(higher[0] - higher[1])
	switch {
	case d > voltsApart:
		c.refuse(finding.ChargesOneSide, finding.Quantity("by", finding.Volts, d))
	case math.Abs(higher[0]) > voltsApart:
		c.refuse(finding.ChargesApart, finding.Quantity("by", finding.Volts, higher[0]))
	case d > math.Max(consumerVolts, voltsLikely*sd):
		r := finding.New(finding.ConsumerOneSide, finding.Quantity("by", finding.Volts, d))
		c.refuseFor(r)
		c.f.unsure += fanDrag * fanDrag
		if d > voltsSure*sd && c.f.NoRatio == nil {
			c.f.NoRatio = &r
		}
	}
}

// fallFuel compares whether fuel was cut in the falls.
func (c *correction) fallFuel() {
	var fuelled [2]bool
	for k, s := range c.sides {
		f := s.facts()
		if f.cut+f.fuelled < fewestFalls {
			return
		}
		fuelled[k] = f.fuelled > f.cut
	}
	switch {
	case fuelled[0] != fuelled[1]:
		c.refuse(finding.FuelCutDiffers)
	case fuelled[0]:
		c.refuse(finding.FuelNotCut)
	}
}
