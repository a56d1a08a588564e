package drag

import (
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/stats"
)

// Two sittings of one day differ by no more than sittings of two days, in either meter, in the flow and in the drag. Dirt
// on an air meter and another weather are what its scale differs by: in one day it is known twice as well.
func TestOneDayDiffersByNoMoreThanTwo(t *testing.T) {
	for _, f := range []flow{AirAndFuel, Air, Pressure, FuelRate} {
		for _, checklist := range []bool{false, true} {
			days, day := priorFor(f, Options{Checklist: checklist}), priorFor(f, Options{Checklist: checklist, SameDay: true})
			flow := func(p prior) float64 { return p.weigh(0, 0, 0).meters + p.engine*p.engine }
			if day.air > days.air || day.fuel > days.fuel || flow(day) > flow(days) || day.day > days.day || day.fall > days.fall {
				t.Errorf("%s, checklist %v: one day %+v, two %+v", f, checklist, day, days)
			}
			if day.air > days.air/2 {
				t.Errorf("%s: the air is known to %v in one day, to %v in two", f, day.air, days.air)
			}
		}
	}
}

// The flow of this engine goes with its speed to the power that both speeds show; what no engine does is not believed.
func TestExponentIsTheCarsOwn(t *testing.T) {
	for shown, want := range map[float64]float64{1.35: 1.35, 3: usualExponent, 0.2: usualExponent} {
		c := &correction{f: &Finding{SpeedsRPM: []float64{2500, 3500}}}
		for k := range c.sides {
			c.sides[k] = &Side{}
			for _, rpm := range c.f.SpeedsRPM {
				c.sides[k].Holds = append(c.sides[k].Holds, Hold{RPM: rpm, Used: true, air: &level{value: 0.5 + shown*math.Log(rpm)}})
			}
		}
		if got := c.exponent(); math.Abs(got-want) > 1e-9 {
			t.Errorf("%v where the holds show %v, want %v", got, shown, want)
		}
	}
}

// What a shut throttle lets through goes with the air's pressure, for it is choked there. That pressure differs by 1 %
// from day to day, and the manifold's, some 30 kPa in a fall, with it: 0.3 kPa of the 200 kPa that motoring an engine
// with a shut throttle asks for (Heywood, Internal Combustion Engine Fundamentals, chapter 13, from memory: 150 to
// 250 kPa).
func TestAirOfAShutThrottle(t *testing.T) {
	if got, want := unseen(0), 0.01*30/200.0; got > 2*want || got < want/2 {
		t.Errorf("%v where nothing but the air differs, want about %v", got, want)
	}
}

// An engine that is held in neutral heats its coolant with some 7 kW: 5 kW of drag by a third, of the fuel as much again
// for the coolant. A radiator at rest gives off some 2 kW by itself and some 30 kW with its fan (common practice, no
// source). So the fan of a driver who does not wait for it runs in a fifth of the phases, with which the sitting's mean
// differs by as much as a draw of four holds of which two in five go unnoticed.
func TestFanOfWhoDoesNotWait(t *testing.T) {
	runs := (7 - 2) / (30.0 - 2)
	want := fanDrag * math.Sqrt(unfound*runs*(1-runs)*2/4)
	fan := func(fall float64) float64 { return math.Sqrt(fall*fall - unseen(0)*unseen(0)) }
	got := fan(priorFor(AirAndFuel, Options{}).fall)
	if got > 1.15*want || got < want/1.3 {
		t.Errorf("%v, want about %v", got, want)
	}
	if kept := fan(priorFor(AirAndFuel, Options{Checklist: true}).fall); kept > 0.75*got {
		t.Errorf("%v with the checklist, %v without", kept, got)
	}
}

// Two holds at each of two speeds, and the fan of a driver who waits for it runs in one phase of twenty. Holds of a speed
// that differ are held once more, and the two that agree count: the fan stays in what a speed tells where it ran in both
// of its holds, or in one of them and in the third.
func TestFanThatIsHeldOnceMore(t *testing.T) {
	const runs = 0.05
	stays := runs*runs + 2*runs*(1-runs)*runs
	want := fanDrag * math.Sqrt(stays*(1-stays)/2*2) // of the mean of two speeds, between two sittings
	fall := priorFor(AirAndFuel, Options{Checklist: true}).fall
	if got := math.Sqrt(fall*fall - unseen(0)*unseen(0)); got > 1.4*want || got < want/1.4 {
		t.Errorf("%.4f, want about %.4f", got, want)
	}
}

// A valve of 2 mm2, all open under a manifold's vacuum, is choked: 0.0404 A p / sqrt(T) of air, some 0.4 l/s. Petrol
// vapour in it stands between what burns at the least and at the most, 1.4 and 7.6 % by volume, at some 2.5 g/l (from
// memory). An engine that is held in neutral burns some 0.4 g/s.
func TestVapourOfAnOpenValve(t *testing.T) {
	air := 0.0404 * 2e-6 * 100e3 / math.Sqrt(293) / 1.2e-3 // l/s
	lean, rich := air*0.014*2.5/0.4, air*0.076*2.5/0.4
	if vapourOpen < lean || vapourOpen > rich {
		t.Errorf("%v of the fuel, want %.3f to %.3f", vapourOpen, lean, rich)
	}
}

// Of two sittings of one day the oil is warmer in one by some 8 K a sitting, which is worth 0.19 % each, and consumers
// differ by some 70 W of the 5 kW that drag takes (common practice, no source).
func TestDragOfOneDay(t *testing.T) {
	want := math.Sqrt2 * math.Hypot(8*dragPerK, 70/5000.0)
	for _, checklist := range []bool{false, true} {
		if got := priorFor(Air, Options{Checklist: checklist, SameDay: true}).day; got > 1.5*want || got < want/1.5 {
			t.Errorf("checklist %v: %v, want about %v", checklist, got, want)
		}
	}
}

// The usual spread is known within a factor of two. The intervals of two sittings a side hold where sittings truly
// differ by half or by twice as much; where they differ as usual they are narrower than those that the sittings give by
// themselves, Student's with two degrees of freedom.
func TestSpreadOfSittingsIsWeighed(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	p := prior{c: 1.2}
	b := believed{left: 2 * 0.02 * 0.02}
	for _, times := range []float64{0.5, 1, 2} {
		const draws = 4000
		held, wide, alone := 0.0, 0.0, 0.0
		for range draws {
			f, level := Falls{DF: 10}, [2][]float64{{0, 0}, {0, 0}}
			ss := 0.0
			for s := range f.Mean {
				x, y := times*0.02*rng.NormFloat64(), times*0.02*rng.NormFloat64()
				f.Mean[s], f.Variance[s] = []float64{x, y}, []float64{1e-8, 1e-8}
				ss += (x - y) * (x - y) / 2
			}
			got := b.correct(p, f, level)
			half := stats.TQuantile(0.975, got.DF) * math.Sqrt(got.Variance)
			if math.Abs(got.Ln) < half {
				held += 1.0 / draws
			}
			wide, alone = wide+half/draws, alone+stats.TQuantile(0.975, 2)*math.Sqrt(ss/2)/draws
		}
		if held < 0.9 {
			t.Errorf("%v times the usual spread: %.3f of the intervals hold", times, held)
		}
		if times == 1 && wide > 0.72*alone {
			t.Errorf("intervals of %.4f, by the sittings alone %.4f", wide, alone)
		}
	}
}

// Spark that was late by four degrees and is late by nine costs 4 % of the efficiency, as much as a day's drag: the loss
// goes with the square, some 6 % for ten degrees (Heywood, Internal Combustion Engine Fundamentals, chapter 15, from
// memory). One degree costs half a per cent, which is nothing.
func TestSparkThatIsLater(t *testing.T) {
	for later, refused := range map[float64]bool{1: false, 5: true} {
		c := &correction{f: &Finding{}}
		for k := range c.f.sittings {
			c.f.sittings[k] = []sitting{{spark: 30 - later*float64(k)}}
		}
		c.refuseBurning(change{})
		if got := len(c.f.Refusals) > 0; got != refused {
			t.Errorf("later by %.0f degrees: %v", later, c.f.Refusals)
		}
	}
}

// What a lamp asks for in torque goes with one over engine speed: in a hold at 2500 rpm it is 1.2 times as much as in the
// middle of the falls, at 3000, in one at 3500 rpm 0.86 times. The mean of both is right, and either alone is off by so
// much of the elasticity.
func TestHoldsAtOneSpeed(t *testing.T) {
	want := priorFor(Air, Options{}).c * (3000.0/2500 - 3000.0/3500) / 2
	if oneSpeedSD > 1.7*want || oneSpeedSD < want/1.7 {
		t.Errorf("%v, want about %.2f", oneSpeedSD, want)
	}
}

// The wider interval decides; the car's own data decide for the corrected one whatever it is.
func TestWhichRatioDecides(t *testing.T) {
	for _, c := range []struct {
		corrected, plain float64 // standard deviations
		trust            Verdict
		want             bool
	}{{0.02, 0.03, Open, false}, {0.03, 0.02, Open, true}, {0.02, 0.03, Earned, true}} {
		f := &Finding{Answer: &Corrected{Variance: c.corrected * c.corrected, DF: 20}, Trust: Trust{Verdict: c.trust}}
		if got := f.Decide(c.plain*c.plain, 20); got != c.want {
			t.Errorf("%+v: the corrected one decides %v", c, got)
		}
	}
	if (&Finding{}).Decide(1, 20) {
		t.Error("a ratio that is not there decides")
	}
}

// scaleOf is the mean of the square of a scale that is 1 give or take a factor exp(sd), once a value lies at so many
// times the scale: Bayes' rule, summed up over the scale's logarithm.
func scaleOf(sd, times float64) float64 {
	sum, weight := 0.0, 0.0
	for ln := -4.0; ln < 4; ln += 0.001 {
		s := math.Exp(ln)
		w := math.Exp(-ln*ln/(2*sd*sd)-times*times/(2*s*s)) / s
		sum, weight = sum+w*s*s, weight+w
	}
	return sum / weight
}

// How well two meters agree is told within a factor of two, which is two standard deviations of its logarithm, or one and
// a half. Where they disagree by two and by three times as much, what is left unknown lies between what either makes of it.
func TestMetersThatDisagreeMore(t *testing.T) {
	p := prior{c: 1.2, air: 0.015, fuel: 0.012}
	told := 1 / (1/(p.air*p.air) + 1/(p.fuel*p.fuel))
	for _, times := range []float64{2, 3} {
		got := p.weigh(times*math.Hypot(p.air, p.fuel), 0, 0).meters / told
		if low, high := scaleOf(math.Ln2/2, times), scaleOf(math.Ln2/1.4, times); got < low || got > high {
			t.Errorf("%.0f times what is told: the variance is %.2f times as large, want %.2f to %.2f", times, got, low, high)
		}
	}
}
