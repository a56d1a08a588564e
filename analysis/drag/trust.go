package drag

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"flywitness/analysis/stats"
	"flywitness/finding"
)

// Verdict on whether the correction works on this car.
type Verdict string

// The verdicts.
const (
	Earned  Verdict = "earned"
	Open    Verdict = "open"
	Refuted Verdict = "refuted"
)

// Trust is what this car's own data say of the correction. The figures behind it come from simulated engines,
// so it decides nothing before the car itself has shown that its flow tells its drag.
type Trust struct {
	Verdict Verdict `json:"verdict"`
	By      string  `json:"by"` // sittings | ladder | ""
	// How much likelier the scatter of the sittings of one side is if the correction is right than if it has nothing
	// to do with it; nil with one sitting a side.
	Odds   *float64 `json:"odds_of_sittings"`
	Ladder *Ladder  `json:"ladder"` // nil where none was driven
}

// Odds from which sittings are said to speak for the correction, or against it. Where flow and drag have
// nothing to do with each other, less than one set of sittings in ten reaches them by chance.
const enoughOdds = 10

// trust asks the car's own sittings and ladder.
func (c *correction) trust(l *Ladder) {
	t := &c.f.Trust
	t.Ladder = l
	better := false
	if odds, plain, corrected, ok := c.odds(); ok {
		t.Odds = &odds
		better = corrected < plain
	}
	switch {
	case l != nil && l.Verdict == Refuted:
		t.Verdict, t.By = Refuted, "ladder"
		c.refuse(finding.FlowNoAnswer, finding.Number("times", l.Elasticity.Value))
	case t.Odds != nil && *t.Odds <= 1.0/enoughOdds:
		t.Verdict, t.By = Refuted, "sittings"
		c.refuse(finding.SittingsDisagree)
	case l != nil && l.Verdict == Earned:
		t.Verdict, t.By = Earned, "ladder"
	case t.Odds != nil && *t.Odds >= enoughOdds && better:
		t.Verdict, t.By = Earned, "sittings"
	}
}

// mostOdds is beyond what the odds of normal distributions mean anything: tails further out than some three standard
// deviations are those of the real world.
const mostOdds = 1000

// odds weighs two accounts of how the sittings of each side scatter about their mean: falls and flow have the
// drag in common, or nothing. It is the likelihood ratio of two normal distributions of (ln b, ln flow) with
// the same spreads, with and without the correlation that the correction rests on. plain and corrected are the
// sums of squares of ln b about the sides' means.
func (c *correction) odds() (odds, plain, corrected float64, ok bool) {
	f := c.f
	p, b := f.prior, f.believed
	day := b.day / 2
	noise := 0.0
	for _, all := range f.fallsOf.Variance {
		for _, v := range all {
			noise += v / float64(len(f.fallsOf.Variance[0])+len(f.fallsOf.Variance[1]))
		}
	}
	varB, varZ := day+noise, day/(p.c*p.c)+(f.change.meters+f.change.holds+p.engine*p.engine+stats.Square(p.fall/p.c))/2
	rho := -day / p.c / math.Sqrt(varB*varZ)
	ln := 0.0
	for k, y := range f.fallsOf.Mean {
		if len(y) < 2 {
			continue
		}
		ok = true
		// Deviations of n values from their mean have n-1 degrees of freedom.
		my, mz := stat.Mean(y, nil), stat.Mean(f.levelsOf[k], nil)
		var yy, yz, zz float64
		for i := range y {
			dy, dz := y[i]-my, f.levelsOf[k][i]-mz
			yy, yz, zz = yy+dy*dy, yz+dy*dz, zz+dz*dz
			plain += dy * dy
			corrected += stats.Square(dy + b.gain*p.c*dz)
		}
		yy, yz, zz = yy/varB, yz/math.Sqrt(varB*varZ), zz/varZ
		ln += -float64(len(y)-1)/2*math.Log(1-rho*rho) - (yy-2*rho*yz+zz)/(2*(1-rho*rho)) + (yy+zz)/2
	}
	return math.Max(1.0/mostOdds, math.Min(math.Exp(ln), mostOdds)), plain, corrected, ok
}
