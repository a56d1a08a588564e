// Package drag tells by how much the drag of an engine differed from one sitting to the next, and takes that out of
// the ratio of inertia. A free rev falls faster where the drag is higher, which looks like less inertia. An engine
// that is held at a speed in neutral burns what its drag asks for, so the air and fuel of that hold tell the drag of
// the sitting. Holds at two speeds are averaged, because oil and consumers then raise the flow alike for equal drag.
// Where air and fuel tell of something else than drag, nothing is corrected, and the reason is told.
package drag

import (
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"

	"flywitness/analysis/stats"
	"flywitness/finding"
)

// Options says what is known beside the logs.
type Options struct {
	Checklist bool     // kept on both sides
	SameDay   bool     // both sides in one day: the same fuel, meter and weather
	IdleFlow  bool     // nobody could hold the engine: what idle takes is used, with the oil's temperature
	Ladder    *Ladder  // of this car, nil where none was driven
	Parts     []string // that the job changed and on which the flow rests: remap, cam, intake, injectors, air meter
}

// Finding is what the held engine tells of the drag of both sides.
type Finding struct {
	Before []Hold `json:"holds_before"`
	After  []Hold `json:"holds_after"`
	// air_and_fuel | air | load | pressure | fuel_rate | idle_flow; "" where none was recorded
	Flow       string            `json:"flow"`
	FlowUnit   string            `json:"flow_unit"`       // of the holds' flow
	SpeedsRPM  []float64         `json:"speeds_rpm"`      // that all sittings share
	FlowChange *stats.Estimate   `json:"flow_change_pct"` // after against before, by both meters
	AirChange  *float64          `json:"air_change_pct"`
	FuelChange *float64          `json:"fuel_change_pct"`
	DragChange *stats.Estimate   `json:"drag_change_pct"` // that is corrected for
	Exponent   float64           `json:"flow_exponent"`   // d ln flow / d ln engine speed of this car
	Refusals   []finding.Finding `json:"refusals"`        // for which the correction is off

	Uncorrected *stats.Estimate `json:"ratio_uncorrected"`
	Corrected   *stats.Estimate `json:"ratio_corrected"` // nil where the correction is off
	Trust       Trust           `json:"trust"`
	Decides     string          `json:"decides"` // corrected | uncorrected
	Sentence    finding.Text    `json:"sentence"`

	Answer   *Corrected       `json:"-"`
	account  *Corrected       // Answer, or what it were if the flow had not changed by more than a day does
	NoRatio  *finding.Finding `json:"-"` // why the free revs themselves are not comparable
	unsure   float64          // variance for a consumer that seems to run in the falls of one side
	sittings [2][]sitting
	change   change
	believed believed
	prior    prior
	levelsOf [2][]float64
	fallsOf  Falls
}

// Correct sets the holds of both sides against each other. It returns nil where neither side was held (and the
// idle was not asked for): then there is nothing to say.
func Correct(before, after *Side, falls Falls, opt Options) *Finding {
	if !before.Held() && !after.Held() && !opt.IdleFlow {
		return nil
	}
	c := &correction{sides: [2]*Side{before, after}, falls: falls, opt: opt,
		f: &Finding{Before: []Hold{}, After: []Hold{}, SpeedsRPM: []float64{},
			Refusals: []finding.Finding{}, Exponent: usualExponent, Decides: "uncorrected", Trust: Trust{Verdict: Open}}}
	c.compare()
	if before != nil {
		c.f.Before = append(c.f.Before, before.Holds...)
	}
	if after != nil {
		c.f.After = append(c.f.After, after.Holds...)
	}
	return c.f
}

// correction is the state of one Correct.
type correction struct {
	sides [2]*Side
	falls Falls
	opt   Options
	f     *Finding
}

func (c *correction) refuse(code finding.Code, values ...finding.Value) {
	c.refuseFor(finding.New(code, values...))
}

func (c *correction) refuseFor(r finding.Finding) {
	if !slices.ContainsFunc(c.f.Refusals, r.Equal) {
		c.f.Refusals = append(c.f.Refusals, r)
	}
	switch r.Code {
	// what they tell of is in the falls themselves
	case finding.PressureInFalls, finding.ChargesOneSide, finding.FuelCutDiffers:
		if c.f.NoRatio == nil {
			c.f.NoRatio = &r
		}
	}
}

func (c *correction) compare() {
	f := c.f
	c.lookAtFalls()
	if len(c.opt.Parts) > 0 {
		c.refuse(finding.FlowPartsChanged, finding.Name("parts", strings.Join(c.opt.Parts, ", ")))
		return
	}
	if !c.bring() {
		if c.opt.IdleFlow {
			c.compareIdles()
		}
		return
	}
	f.prior = priorFor(flow(f.Flow), c.opt)
	if len(f.SpeedsRPM) == 1 {
		f.prior.cSD = math.Max(f.prior.cSD, oneSpeedSD)
	}
	if b, a := c.average(func(s sitting) float64 { return s.purge }); f.prior.fuel > 0 && !math.IsNaN(b-a) {
		f.prior.fuel = math.Hypot(f.prior.fuel, vapourOpen*(b-a)/100)
	}
	x := f.prior.weigh(c.mean(airOf), c.mean(fuelOf), c.holdVariance())
	c.refuseFlow(x)
	c.tell(x)
	c.trust(c.opt.Ladder)
	a := f.believed.correct(f.prior, c.falls, f.levelsOf)
	if !slices.ContainsFunc(f.Refusals, againstFlow) {
		f.account = &a
	}
	if len(f.Refusals) == 0 {
		f.Answer, f.Corrected = &a, a.estimate()
	}
}

// againstFlow tells whether a refusal says that the flow tells of something else than the drag.
func againstFlow(r finding.Finding) bool {
	return r.Code != finding.FlowTooDifferent && r.Code != finding.ConsumerOneSide
}

// bring takes the sittings of both sides at the speeds that all share; it tells whether both sides have one.
func (c *correction) bring() bool {
	f := c.f
	for k, s := range c.sides {
		if !s.Held() {
			c.refuse(finding.OneSideHeld, finding.Flag("after", k == 0))
			return false
		}
	}
	if a, b := c.sides[0].flow, c.sides[1].flow; a != b {
		// Air alone is in both where one side lacks the trims.
		if (a == AirAndFuel || a == Air) && (b == AirAndFuel || b == Air) {
			f.Flow = string(Air)
		} else {
			c.refuse(finding.FlowReadOtherwise, finding.Name("before", string(a)), finding.Name("after", string(b)))
			return false
		}
	} else {
		f.Flow = string(a)
	}
	f.FlowUnit = unitOf(flow(f.Flow))
	if f.SpeedsRPM = c.commonSpeeds(); len(f.SpeedsRPM) == 0 {
		f.SpeedsRPM = []float64{}
		if !c.reasonOfHolds() {
			c.refuse(finding.NoCommonSpeed)
		}
		return false
	}
	f.Exponent = c.exponent()
	for k, s := range c.sides {
		for _, session := range c.falls.Session[k] {
			st, why, ok := s.sit(session, f.SpeedsRPM, f.Exponent, k == 1)
			if why != nil {
				c.refuseFor(*why)
			}
			if ok {
				f.sittings[k] = append(f.sittings[k], st)
			}
		}
	}
	if len(f.sittings[0]) == 0 || len(f.sittings[1]) == 0 {
		if len(f.Refusals) == 0 {
			c.refuse(finding.NoCommonSpeed)
		}
		return false
	}
	for k := range f.sittings {
		for _, st := range f.sittings[k] {
			if st.fuel == nil && f.Flow == string(AirAndFuel) {
				f.Flow = string(Air)
			}
		}
	}
	c.keepHeld()
	return true
}

// reasonOfHolds tells in place of "no common speed" why holds that were tried do not count, the commonest
// reason of a side that has none.
func (c *correction) reasonOfHolds() bool {
	for _, s := range c.sides {
		used := 0
		for i := range s.Holds {
			if s.Holds[i].Used {
				used++
			}
		}
		if used == 0 {
			c.refuseFor(s.Holds[0].WhyNot[0])
			return true
		}
	}
	return false
}

func unitOf(f flow) string {
	switch f {
	case FuelRate:
		return "L/h"
	case Load:
		return "% x rpm"
	case Pressure:
		return "kPa x rpm"
	}
	return "g/s"
}

// commonSpeeds are the engine speeds that every side was held at, the two that lie farthest apart where there
// are more.
func (c *correction) commonSpeeds() []float64 {
	all := speeds(c.sides[0].Holds, c.sides[1].Holds)
	var out []float64
	for _, rpm := range all {
		both := true
		for _, s := range c.sides {
			has := slices.ContainsFunc(s.Holds, func(h Hold) bool { return h.Used && math.Abs(math.Log(h.RPM/rpm)) < apart })
			both = both && has
		}
		if both {
			out = append(out, rpm)
		}
	}
	if len(out) > 2 {
		out = []float64{out[0], out[len(out)-1]}
	}
	return out
}

// exponent is the car's own answer of flow to speed where two speeds were held, else the usual one.
func (c *correction) exponent() float64 {
	at := c.f.SpeedsRPM
	if len(at) < 2 {
		return usualExponent
	}
	var low, high, lowN, highN []float64
	for _, s := range c.sides {
		for _, h := range s.Holds {
			switch {
			case !h.Used:
			case math.Abs(math.Log(h.RPM/at[0])) < apart:
				low, lowN = append(low, h.air.value), append(lowN, math.Log(h.RPM))
			case math.Abs(math.Log(h.RPM/at[1])) < apart:
				high, highN = append(high, h.air.value), append(highN, math.Log(h.RPM))
			}
		}
	}
	e := (stat.Mean(high, nil) - stat.Mean(low, nil)) / (stat.Mean(highN, nil) - stat.Mean(lowN, nil))
	if e < leastExponent || e > mostExponent {
		return usualExponent
	}
	return e
}

// keepHeld leaves only those falls that a sitting with holds goes with.
func (c *correction) keepHeld() {
	for k := range c.falls.Session {
		var session []int
		var means, variances []float64
		for i, s := range c.falls.Session[k] {
			if slices.ContainsFunc(c.f.sittings[k], func(st sitting) bool { return st.session == s }) {
				session, means, variances = append(session, s), append(means, c.falls.Mean[k][i]),
					append(variances, c.falls.Variance[k][i])
			}
		}
		if len(session) < len(c.falls.Session[k]) {
			c.falls.Session[k], c.falls.Mean[k], c.falls.Variance[k] = session, means, variances
		}
	}
	if len(c.falls.Mean[0]) == 1 && len(c.falls.Mean[1]) == 1 {
		c.falls.Ln = c.falls.Mean[0][0] - c.falls.Mean[1][0]
		c.falls.Runs = c.falls.Variance[0][0] + c.falls.Variance[1][0]
	}
}

func airOf(s sitting) []level { return s.air }

func fuelOf(s sitting) []level { return s.fuel }

// levelOf is the mean over the speeds of one sitting.
func levelOf(l []level) float64 {
	sum := 0.0
	for _, x := range l {
		sum += x.value
	}
	return sum / float64(len(l))
}

// mean is before minus after of a flow, each the mean of its sittings; 0 where it is not told.
func (c *correction) mean(of func(sitting) []level) float64 {
	var side [2]float64
	for k, all := range c.f.sittings {
		for _, s := range all {
			if of(s) == nil {
				return 0
			}
			side[k] += levelOf(of(s)) / float64(len(all))
		}
	}
	return side[0] - side[1]
}

// holdVariance is what the holds themselves leave open in the change of the flow.
func (c *correction) holdVariance() float64 {
	v := 0.0
	for _, all := range c.f.sittings {
		m := float64(len(all))
		for _, s := range all {
			for _, l := range s.air {
				v += l.sd * l.sd / stats.Square(float64(len(s.air))*m)
			}
		}
	}
	return v
}

// weighed is the level of a sitting by both meters.
func (c *correction) weighed(s sitting) float64 {
	p := c.f.prior
	if p.fuel <= 0 || s.fuel == nil {
		return levelOf(s.air)
	}
	a, f := 1/(p.air*p.air), 1/(p.fuel*p.fuel)
	return (a*levelOf(s.air) + f*levelOf(s.fuel)) / (a + f)
}

// tell fills the finding: the change of flow and drag, and the corrected ratio where nothing stands against it.
func (c *correction) tell(x change) {
	f, p := c.f, c.f.prior
	f.change, f.believed = x, p.believe(x)
	pct := func(ln float64) *float64 { v := 100 * math.Expm1(-ln); return &v }
	f.AirChange = pct(x.air)
	if p.fuel > 0 {
		f.FuelChange = pct(x.fuel)
	}
	f.FlowChange = percent(-x.both, math.Sqrt(x.meters+x.holds))
	f.DragChange = percent(-f.believed.gain*p.c*x.both, math.Sqrt(f.believed.left))
	for k, all := range f.sittings {
		for _, s := range all {
			f.levelsOf[k] = append(f.levelsOf[k], c.weighed(s))
		}
	}
	f.fallsOf = c.falls
}

// percent is a change in per cent from a logarithm and its standard deviation.
func percent(ln, sd float64) *stats.Estimate {
	e := stats.LogNormal(ln, sd)
	return &stats.Estimate{Value: 100 * (e.Value - 1), SD: 100 * e.SD,
		CI95: [2]float64{100 * (e.CI95[0] - 1), 100 * (e.CI95[1] - 1)}}
}
