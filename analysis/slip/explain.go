package slip

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat/distuv"
)

// Explanations compete for the same trials: a torque that the clutch holds, one that falls with the heat in it, a
// slip that only a change of gear makes, and chance. Each has unknowns; its likelihood is the mean over what they
// may be, so that the one with more of them must fit that much better (Bayes; MacKay, Information Theory, ch. 28,
// from memory). What the unknowns may be: common practice, no source.
var (
	scatters = []float64{0.03, 0.06, 0.12} // relative standard deviation of what the clutch holds
	// of what it holds when cool, lost at the hottest trial. Less is within the error of the torques: some 7 % each,
	// alike within a gear, and the gear is often higher when the clutch is hot
	falls     = []float64{0.2, 0.3, 0.45, 0.6}
	coolings  = []float64{60, 180, 600}            // s in which the heat falls to a third
	shares    = []float64{0.1, 0.3, 0.5, 0.7, 0.9} // of the trials that slip
	torqueMin = 0.1                                // of the largest torque tried: what the clutch may hold,
	torqueMax = 1.5
)

const (
	torqueSteps = 40
	shiftNear   = 3.0  // s after a gear change that a slip of it begins in
	odd         = 0.02 // share of the trials that no explanation covers: a misread one
	// nats by which a clutch that loses hold with heat is the rarer before anything is seen: one in ten that slip does.
	// Common practice, no source
	fading = math.Ln10
	// of what it held, that a clutch still carries as it slides, at least: a dry one, one with oil on its lining, and one
	// that fades, by its own slip first of all. Common practice, no source
	dryKeeps, oilyKeeps, fadesTo = 0.92, 0.8, 0.5
)

// explain names what may explain the trials, the likeliest first: all that the best does not lead by patternLead,
// whatever is on the lining. Unclear stands for chance.
func explain(trials []trial) (may []Pattern) {
	if len(trials) == 0 {
		return []Pattern{Unclear}
	}
	scaled := scale(trials)
	beside := besideShifts(scaled, true)
	nats := map[Pattern]float64{
		AboveTorque: byTorque(scaled, nil) + beside,
		AfterShifts: byShift(scaled) + besideShifts(scaled, false),
		Unclear:     byChance(scaled) + beside,
	}
	heat := byHeat(scaled) + beside - fading
	for _, least := range []float64{dryKeeps, oilyKeeps} {
		nats[WithHeat] = heat + fades(scaled, least)
		for _, p := range likeliest(nats) {
			if !slices.Contains(may, p) {
				may = append(may, p)
			}
		}
	}
	return may
}

// likeliest are the explanations that the best does not lead by patternLead, the best first.
func likeliest(nats map[Pattern]float64) []Pattern {
	names := []Pattern{AboveTorque, WithHeat, AfterShifts, Unclear}
	slices.SortStableFunc(names, func(a, b Pattern) int { return cmp.Compare(nats[b], nats[a]) })
	n := slices.IndexFunc(names, func(p Pattern) bool { return nats[names[0]]-nats[p] >= patternLead })
	if n < 0 {
		return names
	}
	return names[:n]
}

// scale gives torques as shares of the largest.
func scale(trials []trial) []trial {
	most := 0.0
	for _, x := range trials {
		most = math.Max(most, x.torque)
	}
	out := make([]trial, len(trials))
	for i, x := range trials {
		x.torque, x.error = x.torque/most, x.error/most
		out[i] = x
	}
	return out
}

// byTorque is the log likelihood of a clutch that holds one torque; left is the share of it that is left at each
// trial, nil for all of it.
func byTorque(trials []trial, left []float64) float64 {
	var all []float64
	for k := range torqueSteps {
		holds := torqueMin * math.Pow(torqueMax/torqueMin, float64(k)/(torqueSteps-1))
		for _, sd := range scatters {
			sum := 0.0
			for i, x := range trials {
				at := holds
				if left != nil {
					at *= left[i]
				}
				sum += math.Log(odd + (1-odd)*x.likely(distuv.Normal{Mu: at, Sigma: math.Hypot(sd*at, x.error)}))
			}
			all = append(all, sum)
		}
	}
	return mean(all)
}

// likely is how likely a trial is when what the clutch holds is spread so: the density of the torque from which it
// slipped, the probability that more is held.
func (x trial) likely(holds distuv.Normal) float64 {
	if x.slipped {
		return holds.Prob(x.torque)
	}
	return holds.Survival(x.torque)
}

// byHeat is the log likelihood of a clutch that holds less, the more heat is left in it. Where no heat was put in,
// none explains anything.
func byHeat(trials []trial) float64 {
	var all []float64
	for _, cooling := range coolings {
		heat := make([]float64, len(trials))
		for i, x := range trials {
			for _, h := range x.heat {
				heat[i] += h.energy * math.Exp(-h.ago/cooling)
			}
		}
		most := floats.Max(heat)
		if most == 0 {
			return math.Inf(-1)
		}
		for _, fall := range falls {
			left := make([]float64, len(trials))
			for i := range left {
				left[i] = 1 - fall*heat[i]/most
			}
			all = append(all, byTorque(trials, left))
		}
	}
	return mean(all)
}

// fades is by how many nats the shares of its hold that the clutch kept as it slid are those of a lining that
// fades, and not those of one that keeps at least so much.
func fades(trials []trial, least float64) float64 {
	sum, weight := 0.0, 0.0
	for _, x := range trials {
		if x.kept != nil {
			w := 1 / (x.kept.SD * x.kept.SD)
			sum, weight = sum+w*x.kept.Value, weight+w
		}
	}
	if weight == 0 {
		return 0
	}
	read := distuv.Normal{Mu: sum / weight, Sigma: 1 / math.Sqrt(weight)}
	from := func(least float64) float64 {
		return math.Log(odd + (1-odd)*(read.CDF(1)-read.CDF(least))/(1-least))
	}
	return from(fadesTo) - from(least)
}

// byShift is the log likelihood of slip that follows a share of the gear changes made under as much torque, and
// nothing else.
func byShift(trials []trial) float64 {
	low := lowest(trials)
	return bySlipShare(trials, func(x trial) (held, slipped bool) {
		near := x.since < shiftNear
		return near && x.torque >= low, near
	})
}

// besideShifts is the log likelihood of as many trials beside a gear change as there are, with the slips or of those
// that held alone: drivers put the foot down after a change, some more often than others. Where slip has another
// cause, slips lie beside a change as often as pulls that held.
func besideShifts(trials []trial, slips bool) float64 {
	var all []float64
	for _, share := range shares {
		sum := 0.0
		for _, x := range trials {
			switch {
			case math.IsNaN(x.since) || x.slipped && !slips:
			case x.since < shiftNear:
				sum += math.Log(share)
			default:
				sum += math.Log(1 - share)
			}
		}
		all = append(all, sum)
	}
	return mean(all)
}

// byChance is the log likelihood of slip in a share of the pulls of as much torque, whatever went before.
func byChance(trials []trial) float64 {
	low := lowest(trials)
	return bySlipShare(trials, func(x trial) (bool, bool) { return x.torque >= low, true })
}

// bySlipShare is the log likelihood of slip in an unknown share of the trials that may slip, from any torque on.
func bySlipShare(trials []trial, open func(x trial) (held, slipped bool)) float64 {
	var all []float64
	for _, share := range shares {
		sum := 0.0
		for _, x := range trials {
			held, slipped := open(x)
			switch {
			case x.slipped && slipped:
				sum += math.Log(share)
			case x.slipped:
				sum += math.Log(odd)
			case held:
				sum += math.Log(1 - share)
			}
		}
		all = append(all, sum)
	}
	return mean(all)
}

// lowest is the lowest torque of the slips.
func lowest(trials []trial) float64 {
	low := math.Inf(1)
	for _, x := range trials {
		if x.slipped {
			low = math.Min(low, x.torque)
		}
	}
	return low
}

// mean is the logarithm of the mean of likelihoods from their logarithms.
func mean(logs []float64) float64 { return floats.LogSumExp(logs) - math.Log(float64(len(logs))) }
