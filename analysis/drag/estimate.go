package drag

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"flywitness/analysis/stats"
)

// prior is what is known before of how flow tells drag, as logarithms. All were found on simulated engines
// whose days differ as handbooks say; no car with a known change has been measured yet.
type prior struct {
	c, cSD    float64 // d ln drag / d ln flow, over the mean of both speeds
	air, fuel float64 // standard deviation of what the scale of either differs by between two sittings; 0: there is none
	engine    float64 // of efficiency, spark and humidity, in the flow
	fall      float64 // of what is in the falls and not in the holds, or the other way
	day       float64 // of ln drag between two sittings
}

// The elasticity at one held speed differs by what raised the drag, oil or consumers; the mean of both does not.
const oneSpeedSD = 0.20

// What two sittings differ by, as logarithms. Handbook knowledge from memory.
const (
	vapourSD = 0.0057 // of the fuel that comes from the tank's canister and not from the injectors
	// What comes from there where its valve is all open, as a share of the fuel: how rich it is nobody tells. From
	// memory.
	vapourOpen = 0.10
	shutAirSD  = 0.002 // of ln drag, by the air that a shut throttle lets through
	// Share of the phases in which the radiator's fan runs, with the checklist, which waits for it, and without.
	fanShare, fanShareUnchecked = 0.05, 0.20
	// What is left of the spreads of day, of air and of the injected fuel where both sides were driven on one day.
	// Common practice, no source.
	sameDayDay, sameDayAir, sameDayFuel = 0.0255, 0.005, 0.005
)

// unfound is the share of what a fan does to the holds that stays: it was found on simulated engines that the rest is
// more than two holds of a speed may differ by, and is held once more.
const unfound = 0.4

// unseen is the standard deviation of ln drag, between two sittings, by what the holds have and the falls have not.
// What a fan does in some of the falls is in the scatter of the runs. In one of a sitting's four holds it moves their
// mean by a quarter of what it draws.
func unseen(share float64) float64 {
	return math.Hypot(shutAirSD, fanDrag*math.Sqrt(unfound*share*(1-share)*2/4))
}

func priorFor(f flow, opt Options) prior {
	p := prior{c: 1.20, cSD: 0.12, air: 0.015, engine: 0.0085, fall: unseen(fanShare), day: 0.0283}
	fuel := 0.010
	switch f {
	case Pressure:
		p.air = 0.022
	case FuelRate:
		p.c, p.air, p.engine, p.day = 1.22, 0.021, 0, 0.039
	}
	if !opt.Checklist {
		p.fall, p.day = unseen(fanShareUnchecked), 0.0566
		if f == FuelRate {
			p.day = 0.075
		}
	}
	if opt.SameDay {
		p.engine, p.day = 0.006, math.Min(p.day, sameDayDay)
		p.air, fuel = math.Min(p.air, sameDayAir), sameDayFuel
	}
	if f == AirAndFuel {
		p.fuel = math.Hypot(fuel, vapourSD)
	}
	return p
}

// change is what the flow changed by from before to after, as a logarithm.
type change struct {
	air, fuel float64
	both      float64 // weighed
	meters    float64 // variance of the scales, as told and as the two meters disagree
	holds     float64 // variance from the holds themselves
	disagree  float64 // chi-square of the two meters with one degree of freedom; 0 with one
}

// priorMeters is how many degrees of freedom the told spread of the scales is worth beside the one that the
// disagreement of two meters shows: a spread that may be wrong by a factor of two either way has some two.
const priorMeters = 2

// weigh brings both meters together: the mean by their variances, which are as large as they were told to be and as
// the meters disagree, weighed.
func (p prior) weigh(air, fuel, holds float64) change {
	x := change{air: air, fuel: fuel, both: air, meters: p.air * p.air, holds: holds}
	if p.fuel > 0 {
		a, f := 1/(p.air*p.air), 1/(p.fuel*p.fuel)
		x.both = (a*air + f*fuel) / (a + f)
		x.disagree = (air - fuel) * (air - fuel) / (1/a + 1/f + 2*holds)
		x.meters = (priorMeters + x.disagree) / (priorMeters + 1) / (a + f)
	}
	return x
}

// believed is how well the flow tells the drag, and how far it is believed.
type believed struct {
	drag    float64 // variance of ln drag that the flow leaves
	day     float64 // variance of ln drag between two sittings before anything was measured
	gain    float64 // share of the change of drag that the flow shows which is corrected for
	left    float64 // variance of ln ratio that stays for one sitting a side
	persist float64 // part of it that more sittings do not average: scales and efficiency stay as they are
}

// believe shrinks the correction towards none by what the day's spread and the flow's own doubt are worth.
func (p prior) believe(x change) believed {
	b := believed{day: p.day * p.day}
	b.drag = p.c*p.c*(x.meters+x.holds+p.engine*p.engine) + p.fall*p.fall + stats.Square(p.cSD*x.both)
	if p.fuel > 0 { // two meters that agree may show a day that was further off
		b.day = math.Max(b.day, stats.Square(p.c*x.both)-b.drag)
	}
	b.gain = b.day / (b.day + b.drag)
	b.left = b.gain * b.drag
	b.persist = p.c * p.c * b.gain * b.gain * (x.meters + p.engine*p.engine)
	return b
}

// Falls is what the free revs of both sides tell. b is how long a fall takes, as a factor of the common shape. Mean is
// the mean of ln b in each sitting, Variance its variance by the scatter of the runs.
type Falls struct {
	Session        [2][]int
	Mean, Variance [2][]float64
	Ln             float64 // ln(b before / b after) over all runs
	Runs           float64 // its variance from the scatter of the runs
	Other          float64 // and from what does not shrink with them
	DF             float64 // degrees of freedom of Runs
}

// Corrected is the logarithm of the inertia's ratio with the drag of each sitting taken out.
type Corrected struct {
	Ln, Variance, DF float64
}

func (c Corrected) estimate() *stats.Estimate {
	sd := math.Sqrt(c.Variance)
	h, v := stats.TQuantile(0.975, c.DF)*sd, math.Exp(c.Ln)
	return &stats.Estimate{Value: v, SD: v * sd, CI95: [2]float64{math.Exp(c.Ln - h), math.Exp(c.Ln + h)}}
}

// priorSittings is how many degrees of freedom the usual spread is worth beside the one that sittings show.
const priorSittings = 2

// correct takes the drag out of the falls. level is the weighed flow of each sitting of both sides, in the
// order of falls.
func (b believed) correct(p prior, f Falls, level [2][]float64) Corrected {
	k := b.gain * p.c
	m := [2]float64{float64(len(f.Mean[0])), float64(len(f.Mean[1]))}
	if m[0] == 1 && m[1] == 1 {
		rest := b.left + f.Other
		return Corrected{Ln: f.Ln + k*(level[0][0]-level[1][0]), Variance: f.Runs + rest,
			DF: stats.Satterthwaite([]float64{f.Runs, rest}, []float64{f.DF, math.Inf(1)})}
	}
	var side [2]float64
	var ss, runs, within, inverse, df float64
	one := math.Max(0, b.left-b.persist) / 2
	for s := range side {
		own := make([]float64, len(f.Mean[s]))
		for i, y := range f.Mean[s] {
			own[i] = y + k*level[s][i]
			runs += f.Variance[s][i] / (m[0] + m[1])
			within += f.Variance[s][i] / (m[s] * m[s])
		}
		side[s] = stat.Mean(own, nil)
		for _, y := range own {
			ss += (y - side[s]) * (y - side[s])
		}
		inverse += 1 / m[s]
		df += m[s] - 1
	}
	between := math.Max((priorSittings*(one+runs)+ss)/(priorSittings+df)*inverse, within)
	rest := b.persist + f.Other
	return Corrected{Ln: side[0] - side[1], Variance: between + rest,
		DF: stats.Satterthwaite([]float64{between, rest}, []float64{priorSittings + df, math.Inf(1)})}
}
