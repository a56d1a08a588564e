package detect

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/gearstate"
	"flywitness/internal/numbers"
)

// Two trials on the same road or on another one, against many roads drawn at random: fifteen in a hundred are slippery
// and hold anything from 0.05 to 0.4 of weight, the others hold about 0.45 with a standard deviation of 0.35 of the
// logarithm; tyres begin to slip at 0.8 of it, spread by 0.14. The first trial held, the second gave way near a force.
func TestWheelsAgainstRandomRoads(t *testing.T) {
	numbers.Only(t)
	const sd, near2 = 0.14, 0.05
	for _, c := range []struct{ held, gave, after float64 }{{0.1, 0.12, 10}, {0.2, 0.3, 60}, {0.3, 0.12, 10},
		{0.3, 0.12, 600}, {0.02, 0.35, 10}, {0.04, 0.06, 10}} {
		rng := rand.New(rand.NewPCG(1, 2))
		road := func() float64 {
			if rng.Float64() < 0.15 {
				return 0.8 * (0.05 + 0.35*rng.Float64())
			}
			return 0.8 * 0.45 * math.Exp(0.35*rng.NormFloat64())
		}
		n, kept, seen := 400_000, 0.0, 0.0
		for range n {
			x := road()
			if x*math.Exp(sd*rng.NormFloat64()) < c.held {
				continue
			}
			kept++
			if rng.Float64() > math.Exp(-c.after/600) { // another road
				x = road()
			}
			if math.Abs(math.Log(x*math.Exp(sd*rng.NormFloat64())/c.gave)) < near2 {
				seen++
			}
		}
		got := math.Exp(byWheels([]trial{{force: math.Log(c.held)}, {t: c.after, force: math.Log(c.gave), gave: true}}, sd))
		// one trial in two hundred is misread: it gave way anywhere within one of the logarithm
		want := (seen/(2*near2) + misread*kept) / float64(n)
		near(t, fmt.Sprintf("held %.2f, gave way at %.2f %.0f s later", c.held, c.gave, c.after), got, want, 0.1*want+0.001)
	}
}

// What gives way at an eighth of the weight in fourth, a torque that nothing else tells of, may be wheels on a road of
// which nothing is known. Told that it was dry, it is the clutch; at 0.4 it may be the tyres even so, and of fifty drivers
// who say that it was dry one is wrong: the odds stay below ln(50) more than those of any road.
func TestWheelsOnARoadToldToBeDry(t *testing.T) {
	odds := func(force float64, dry bool) float64 {
		return clutchOrWheels([]trial{{force: math.Log(force), torque: math.Log(force / 34), gave: true, dry: dry}})
	}
	if known, told := odds(0.125, false), odds(0.125, true); known > Proven || told < Proven || told > known+math.Log(50) {
		t.Errorf("at an eighth of the weight %.1f nats, %.1f on a dry road", known, told)
	}
	if told := odds(0.4, true); told > 1 {
		t.Errorf("at 0.4 of the weight %.1f nats on a dry road", told)
	}
}

// Another log was driven on another road.
func TestRoadOfAnotherLog(t *testing.T) {
	held, gave := trial{force: math.Log(0.3)}, trial{force: math.Log(0.12), gave: true}
	same := byWheels([]trial{held, gave}, 0.14)
	gave.input = 1
	if other := byWheels([]trial{held, gave}, 0.14); other < same+1 {
		t.Errorf("%.1f nats in the same log, %.1f in another", same, other)
	}
}

// A clutch that gave way at the greatest torque tried holds anything from 0.6 to 1.1 of it, as likely: a density of
// 1/ln(1.1/0.6) = 1.65 of the logarithm, of which with a scatter of 0.14 the normal distribution has ln(1.1)/0.14 =
// 0.68 standard deviations above: 0.75. One in five fades, and holds anything from 0.1 of it: 1/ln(11) = 0.417.
func TestOneTrialOfAClutch(t *testing.T) {
	near(t, "likelihood", math.Exp(byClutch([]trial{{torque: -5, gave: true}}, 0.14)), (0.8*1.65+0.2*0.417)*0.75, 0.01)
	// a torque 30 % greater that held leaves it one of 0.89 at most, 1.9 standard deviations: some of one in ten
	if n := byClutch([]trial{{torque: -5, gave: true}, {torque: -5 + math.Log(1.3)}}, 0.14); n > math.Log(0.2) {
		t.Errorf("%.1f nats for a clutch that held more another time", n)
	}
	// where it held e^2 times as much one of the two is misread, 0.005; the mean of Phi(x/0.14) for x from ln(0.6) to
	// ln(1.1) is 0.19, and 0.06 from ln(0.1)
	two := []trial{{torque: -5, gave: true}, {torque: -3}}
	near(t, "misread", math.Exp(byClutch(two, 0.14)), 0.8*0.005*0.195+0.2*0.005*(0.417+0.06), 0.0001)
}

// A clutch that is kept hot by a dozen pulls in fifth gives way at ever less, to a tenth of what it held, in two minutes:
// no road changes so. Wheels on a road that stays the same are no clutch for it.
func TestClutchThatFades(t *testing.T) {
	var fades, spins []trial
	for i := range 12 {
		force, k := math.Log(0.24)-0.2*float64(i), []float64{70, 46, 34}[i%3]
		x := trial{t: 10 * float64(i), force: force, torque: force - math.Log(34), gave: true, lasted: 3}
		fades = append(fades, x)
		x.force, x.torque, x.lasted = math.Log(0.24), math.Log(0.24/k), 1
		spins = append(spins, x)
	}
	if n := clutchOrWheels(fades); n < Proven {
		t.Errorf("%.1f nats of a clutch that fades", n)
	}
	if n := clutchOrWheels(spins); n > 0 {
		t.Errorf("%.1f nats of wheels", n)
	}
}

// slid is a departure of a record that began at a force (of weight) in a place of the ladder.
func slid(r *Record, place int, force float64) *Departure {
	d := departure(r, 4, 6)
	d.run.Index, d.run.Gear = place, place+1
	d.seen.locked = true
	for i, x := range r.Track.T {
		if x > 3 && x < 5 {
			r.push(i, force)
		}
	}
	return d
}

// drives are records, each with one departure: place in the ladder and force over weight; pulls that passed hold a
// force at no departure.
func drives(slides, passes [][2]float64) (out []*Record) {
	for _, s := range slides {
		r := at(60, 0.05).drive(leg{s: 10, gear: 3, load: 1}).record()
		r.Pulls = []Pull{{Run: &r.Runs[0], Hi: r.Track.Len(), Departures: []Departure{*slid(r, int(s[0]), s[1])}}}
		out = append(out, r)
	}
	for _, s := range passes {
		r := at(60, 0.05).drive(leg{s: 3, gear: 3, load: 1}).record()
		r.Runs[0].Index = int(s[0])
		for i := range r.Track.Len() {
			r.push(i, s[1])
		}
		r.Pulls = []Pull{{Run: &r.Runs[0], Hi: r.Track.Len()}}
		out = append(out, r)
	}
	return out
}

// Departures at one torque are a clutch's, at one force wheels'; what passed with more force and less torque speaks
// for a clutch, the other way round for wheels. In second and fourth 0.30 and 0.146 of weight (times 34/70) are one
// torque.
func TestClutchOrWheels(t *testing.T) {
	clutch := 0.30 * 34 / 70
	for _, c := range []struct {
		what           string
		slides, passes [][2]float64
		lo, hi         float64
	}{
		{"one torque", [][2]float64{{1, 0.30}, {3, clutch}, {1, 0.30}}, nil, Proven, 6},
		{"one torque, many times", [][2]float64{{1, 0.30}, {3, clutch}, {1, 0.30}, {3, clutch}, {1, 0.30}, {3, clutch}}, nil,
			6, 6},
		{"one force", [][2]float64{{1, 0.30}, {3, 0.30}, {1, 0.30}}, nil, -6, -1},
		{"one force, of ice", [][2]float64{{1, 0.12}, {3, 0.12}, {1, 0.12}}, nil, -3, Proven - 1},
		{"once, as on a dry road", [][2]float64{{1, 0.30}}, nil, -1, 1},
		{"once, as on ice", [][2]float64{{3, 0.10}}, nil, 1, Proven},
		{"no departure", nil, nil, 0, 0},
		{"second passed with twice the force", [][2]float64{{3, 0.15}, {3, 0.15}}, [][2]float64{{1, 0.29}, {1, 0.29}}, Proven,
			6},
		{"fourth passed with more torque", [][2]float64{{1, 0.25}, {1, 0.25}}, [][2]float64{{3, 0.18}, {3, 0.18}}, -6, -1},
	} {
		records := drives(c.slides, c.passes)
		weighTrials(records, nil)
		got := 0.0
		if len(records) > 0 {
			got = records[0].clutchOdds
		}
		if got < c.lo || got > c.hi {
			t.Errorf("%s: %.2f nats, want %.1f to %.1f", c.what, got, c.lo, c.hi)
		}
	}
}

// On gravel tyres creep at every hard pull, so at the engine's one torque in each gear: that is no clutch's doing, and
// the one time that the wheels spin is as likely theirs as without it.
func TestPullsThatCreepAreNoTrials(t *testing.T) {
	odds := func(slides [][2]float64, creeps float64) float64 {
		records := drives(slides, nil)
		for _, r := range records[1:] {
			r.Track.Model.MayCreep = true
			r.Pulls[0].Departures[0].creepOdds = creeps
		}
		trials := []trial{}
		for _, r := range records {
			trials = append(trials, r.findTrials()...)
		}
		return clutchOrWheels(trials)
	}
	pulls := [][2]float64{{1, 0.34}, {2, 0.34 * 46 / 70}, {3, 0.34 * 34 / 70}}
	if clutch, gravel, once := odds(pulls, 20), odds(pulls, -20), odds(pulls[:1], 0); clutch < Proven || gravel > once+1 {
		t.Errorf("%.1f nats of a clutch, %.1f of tyres that creep, %.1f of one slip", clutch, gravel, once)
	}
}

// A departure counts once its clutch was locked before, it lasts, and it is in second or higher: in first cars set off.
// What its own stretch in gear held before it counts no second time, what another held does.
func TestWhatIsATrial(t *testing.T) {
	for _, c := range []struct {
		what   string
		change func(c *Departure)
		gave   int
	}{
		{"in second", func(*Departure) {}, 1},
		{"in first", func(c *Departure) { c.run.Gear = 1 }, 0},
		{"half a second", func(c *Departure) { c.duration = 0.5 }, 0},
		{"not locked before", func(c *Departure) { c.seen.locked = false }, 0},
		{"nor, under a foot that stays down", func(c *Departure) { c.seen.locked, c.Moving = false, true }, 1},
		{"at one ratio, which may be a gear's", func(c *Departure) {
			c.seen.locked, c.Moving, c.seen.steady = false, true, true
		}, 0},
	} {
		r := drives([][2]float64{{1, 0.3}}, nil)[0]
		c.change(&r.Pulls[0].Departures[0])
		gave := 0
		trials := r.findTrials()
		for _, x := range trials {
			if x.gave {
				gave++
			}
		}
		if gave != c.gave || len(trials) != 1 {
			t.Errorf("%s: %d of %d trials gave way, want %d of 1", c.what, gave, len(trials), c.gave)
		}
	}
}

// A departure that is no trial, since the clutch was not seen locked before it, is weighed beside those that are, and
// alone where there are none. What an earlier log held counts.
func TestTrialThatStandsAlone(t *testing.T) {
	r := drives([][2]float64{{3, 0.10}}, nil)[0]
	c := &r.Pulls[0].Departures[0]
	c.seen.locked, c.Moving, c.seen.within = false, false, 0.10
	weighTrials([]*Record{r}, nil)
	alone := spinning(r, c)
	slid := trial{input: earlier, force: math.Log(0.2), torque: math.Log(0.2 / 70), gave: true}
	weighTrials([]*Record{r}, []trial{slid})
	if beside := spinning(r, c); math.Abs(beside-3-r.clutchOdds) > 1e-9 || alone < 4.5 || alone > 7 {
		t.Errorf("%.2f nats alone, %.2f beside another that tells %.2f", alone, beside, r.clutchOdds)
	}
}

// What slides carries its most while the foot is down: a lift in the midst of a departure that began with the foot's
// going down takes nothing away from it.
func TestForceOfATrialWithALift(t *testing.T) {
	r := drives([][2]float64{{1, 0.05}}, nil)[0]
	c := &r.Pulls[0].Departures[0]
	c.lo, c.hi, c.seen.footDown, c.seen.within = r.at(4), r.at(6), true, 0.2
	for i, x := range r.Track.T {
		if x >= 4.2 && x < 5.2 {
			r.push(i, 0.45)
		}
	}
	near(t, "force", math.Exp(r.trialOf(c).force), 0.45, 1e-9)
}

// Two pulls of one run that meet in a departure are one trial.
func TestTrialSeenFromTwoPulls(t *testing.T) {
	r := drives([][2]float64{{1, 0.3}}, nil)[0]
	r.Pulls = append(r.Pulls, r.Pulls[0])
	if trials := r.findTrials(); len(trials) != 1 {
		t.Errorf("%d trials, want 1", len(trials))
	}
}

// What was held, was held for a second; a moment is no proof.
func TestForceThatWasHeld(t *testing.T) {
	for _, c := range []struct{ s, want float64 }{{1.2, 0.3}, {0.5, 0.1}} {
		r := at(60, 0.05).drive(leg{s: 8, gear: 3, load: 1}).record()
		for i, x := range r.Track.T {
			r.push(i, 0.1)
			if x >= 3 && x < 3+c.s {
				r.push(i, 0.3)
			}
		}
		r.measureHeld()
		near(t, "held", r.held[0].clutch, c.want, 1e-9)
		near(t, "carried", r.capacity(), c.want/46, 1e-9)
	}
}

// A clutch lets go at the force about the start, or at that of its midst where the foot went down at the start.
func TestForceAtWhichAClutchLetsGo(t *testing.T) {
	r := at(60, 0.05).drive(leg{s: 10, gear: 3, load: 1}).record()
	for i := range r.Track.Len() {
		r.push(i, 0.1)
	}
	d := departure(r, 4, 7)
	d.seen.within = 0.3
	near(t, "as before", d.onsetForce(r), 0.1, 1e-9)
	d.seen.footDown = true
	near(t, "the foot went down", d.onsetForce(r), 0.3, 1e-9)
	// a car that is hardly pushed tells its force as well, one that is braked tells that it is as good as none
	for _, c := range [][2]float64{{0.02, 0.02}, {-0.05, 0.01}} {
		for i := range r.Track.Len() {
			r.push(i, c[0])
		}
		d.seen.footDown = false
		near(t, "hardly pushed", d.onsetForce(r), c[1], 0.006)
	}
}

// A clutch that carried three times the torque is not weak; one that carried a little more may be. A slip that is hardly
// seen begins at what the clutch carries at its usual best.
func TestClutchThatCarriedMore(t *testing.T) {
	for _, c := range []struct {
		now  float64 // of what was carried
		z    float64 // standard deviations that it stands out by
		want int
	}{{0.2, 20, -1}, {0.5, 20, 1}, {0.9, 20, 1}, {0.5, 6, -1}, {0.7, 6, 0}, {0.9, 6, 1}} {
		r := at(60, 0.05).drive(leg{s: 10, gear: 3, load: 1}).record()
		for i := range r.Track.Len() {
			r.push(i, 0.3)
		}
		r.capacity()
		d := slid(r, 2, 0.3*c.now)
		d.seen.z = c.z
		if n := carriedMore(r, d); (n >= Proven) != (c.want > 0) || (n < 0) != (c.want < 0) {
			t.Errorf("%.0f sd, at %.1f of what it carried: %.1f nats", c.z, c.now, n)
		}
	}
	// by hand, at 0.4: ln(0.4/0.6)/0.2 = -2.03 standard deviations: 0.0213, so 6 - 3.85 = 2.15 nats
	r := at(60, 0.05).drive(leg{s: 10, gear: 3, load: 1}).record()
	for i := range r.Track.Len() {
		r.push(i, 0.3)
	}
	r.capacity()
	d := slid(r, 2, 0.12)
	d.seen.z = 20
	near(t, "nats", carriedMore(r, d), 2.15, 0.05)
	// and one that is hardly seen, at 0.8, 0.24 of weight: ln 0.8 over hypot(0.1, 0.02/0.24) = -1.71: 0.0432, 2.86 nats
	d = slid(r, 2, 0.24)
	d.seen.z = 6
	near(t, "nats", carriedMore(r, d), 2.86, 0.05)
}

// Most drivers lift when their wheels spin. By hand: 4 s under load is 2.2 s more than it takes, e^(-2.2/0.6) = 0.0256
// of those who lift, ln(0.5 + 0.5 x 0.0256) = -0.668; nobody's habits are known better than by ln 0.5 = -0.693. On the
// move nine in ten lift from wheels that run far ahead: ln(0.1 + 0.9 x 0.0256) = -2.096, ln 0.1 = -2.303 at most.
func TestWheelsLeftSpinning(t *testing.T) {
	for _, c := range []struct {
		lasted []float64
		far    bool
		want   float64
	}{{nil, false, 0}, {[]float64{1.5, 1}, false, 0}, {[]float64{4}, false, -0.668}, {[]float64{9, 9, 9}, false, -0.693},
		{[]float64{4}, true, -1.312}, {[]float64{9, 9, 9}, true, -1.386}} {
		var trials []trial
		for _, s := range c.lasted {
			trials = append(trials, trial{gave: true, lasted: s, far: c.far})
		}
		near(t, "nats", leftSpinning(trials), c.want, 0.001)
	}
	near(t, "nats of tyres that creep", leftSpinning([]trial{{gave: true, lasted: 9, creeps: 1}}), 0, 1e-9)
}

// Wheels that were left to run far ahead: for longer than a driver takes to lift, by more than traction control lets
// them, faster than cars struggle up a slope. What pushes the car keeps engine and foot at work where no load is
// recorded.
func TestWheelsFarAhead(t *testing.T) {
	for _, c := range []struct {
		what              string
		kmh, load, force  float64
		peak, upTo, lasts float64
		far               bool
	}{
		{"30 % at 60 km/h", 60, 1, 0.3, 30, 7, 3, true},
		{"no load recorded", 60, math.NaN(), 0.3, 30, 7, 3, true},
		{"nor pushed", 60, math.NaN(), 0.02, 30, 7, 0, false},
		{"a second", 60, 1, 0.3, 30, 5, 1, false},
		{"as traction control leaves it", 60, 1, 0.3, 12, 7, 3, false},
		{"up a slope", 30, 1, 0.3, 30, 7, 3, false},
		{"a foot that lifted", 60, 0.1, 0.3, 30, 7, 0, false},
	} {
		r := at(c.kmh, 0.05).drive(leg{s: 10, gear: 3, load: c.load}).record()
		for i := range r.Track.Len() {
			r.push(i, c.force)
		}
		d := departure(r, 4, c.upTo)
		d.PeakSlip, d.speed, d.seen.locked, d.lo, d.hi = c.peak, c.kmh, true, r.at(4), r.at(c.upTo)
		x := r.trialOf(d)
		if x.far != c.far || math.Abs(x.lasted-c.lasts) > 0.1 {
			t.Errorf("%s: far %v, lasted %.2f s", c.what, x.far, x.lasted)
		}
	}
}

// Only a foot that is known to be down tells that nobody lifted.
func TestFootKept(t *testing.T) {
	for _, c := range []struct {
		load, want float64
	}{{1, 2}, {0.2, 0}, {math.NaN(), 0}} {
		r := at(60, 0.05).drive(leg{s: 3, a: 2, gear: 3, load: c.load}).record()
		near(t, "s", r.footKept(&Departure{lo: 10, hi: 51}), c.want, 0.01)
	}
}

// On a slow link gears may be changed between two values, which leaves no trace but a foot that lifts: a long departure
// proves slip alone where the foot is known to stay down or the engine runs between the gears for most of it, or where
// it is smaller than what a gear makes. One that is mostly at the ratio of another gear is no slip, whatever the force.
func TestChangesOfGearOnASlowLink(t *testing.T) {
	for _, c := range []struct {
		load, peak, outside float64
		want                bool
	}{{1, 30, 0, true}, {math.NaN(), 30, 0, false}, {math.NaN(), 7, 0, true}, {math.NaN(), 30, 5, true},
		{math.NaN(), 30, 3, false}} {
		r := at(60, 0.5).drive(leg{s: 10, a: 2, gear: 3, load: c.load}).record()
		d := lasting(6, c.peak, c.peak/1.2, evidence{locked: true, z: 20, alone: 6, stands: 6, outside: c.outside})
		d.Kind, d.lo, d.hi = KindSlip, 2, 15
		if got := r.alone(&d); got != c.want {
			t.Errorf("load %.0f, %.0f %%, %.0f s between the gears: proves slip alone: %v", c.load, c.peak, c.outside, got)
		}
	}
	r := at(60, 0.5).drive(leg{s: 3, a: 2, gear: 3, load: 1}).record()
	d := lasting(6, 30, 25, evidence{locked: true, before: 0.2, within: 0.2, otherFit: 0.8})
	if n := inOtherGear(r, &d); n >= 0 {
		t.Errorf("another gear fits: %.1f nats", n)
	}
}

// What holds at 25 km/h was held, at 8 km/h the steps of road speed are larger than what they tell. An engine that stands
// 3 % ahead at speed, by more than tyres do while they hold, is held by no clutch.
func TestWhatCountsAsHeld(t *testing.T) {
	for _, c := range []struct {
		what string
		h    *handmade
		want float64
	}{
		{"at 25 km/h", at(25, 0.05).drive(leg{s: 4, gear: 1, load: 1}), 0.2},
		{"at 8 km/h", at(8, 0.05).drive(leg{s: 4, gear: 1, load: 1}), 0},
		{"half a per cent ahead", at(100, 0.05).drive(leg{s: 4, gear: 3, load: 1, slip: constant(0.005)}), 0.2},
		{"3 % ahead", at(100, 0.05).drive(leg{s: 4, gear: 3, load: 1, slip: constant(0.03), clutch: gearstate.Locked}), 0},
	} {
		r := c.h.record()
		for i := range r.Track.Len() {
			r.push(i, 0.2)
		}
		r.measureHeld()
		near(t, c.what, r.held[0].clutch, c.want, 1e-9)
	}
}

// A slope that nobody knows makes a force of 0.05 read as anything between 0.03 and 0.07: forces that differ as much are
// those of one road, and torques of one clutch.
func TestSmallForcesAreReadBadly(t *testing.T) {
	at := func(force float64) trial { return trial{force: math.Log(force), gave: true, read: 0.02 / force} }
	for _, c := range []struct{ a, b, lo, hi float64 }{{0.04, 0.06, -0.4, 1}, {0.2, 0.3, -9, -2}} {
		same := at(c.a)
		two := byWheels([]trial{same, at(c.b)}, 0.07) - byWheels([]trial{same, same}, 0.07)
		if two < c.lo || two > c.hi {
			t.Errorf("%.2f and %.2f: %.2f nats beside twice the same", c.a, c.b, two)
		}
	}
	r := drives(nil, [][2]float64{{3, 0.05}})[0]
	near(t, "reading", r.findTrials()[0].read, 0.02/0.05, 0.001)
}

// Pulls in fifth that hold two thirds of what the clutch gives way at tell hardly anything, be they ever so many: that all
// of them held shows that their road is no steeper than it need be.
func TestPullsFarBelowTellHardlyAnything(t *testing.T) {
	at := func(t, force, k float64, gave bool) trial {
		return trial{t: t, force: math.Log(force), torque: math.Log(force / k), gave: gave, read: 0.02 / force}
	}
	odds := func(pulls int) float64 {
		trials := []trial{at(0, 0.0019*46, 46, true), at(10, 0.11, 70, false), at(20, 0.0019*34, 34, true),
			at(30, 0.0019*46, 46, true)}
		for i := range pulls {
			trials = append(trials, at(40+5*float64(i), 0.0013*28, 28, false))
		}
		return clutchOrWheels(trials)
	}
	if none, hundred := odds(0), odds(100); none < Proven || hundred < none-1.5 {
		t.Errorf("%.2f nats for a clutch, %.2f with a hundred pulls that ask less of it", none, hundred)
	}
}

// Brakes that took 0.45 of weight from the car show that a driven axle, which carries half of it at least, holds 0.18
// before it creeps by per cents: a minute later it does not give way at 0.10, unless the road is another one. Brakes tell
// nothing of the clutch.
func TestBrakesShowWhatTheRoadHolds(t *testing.T) {
	r := drives(nil, [][2]float64{{3, -0.45}})[0]
	trials := r.findTrials()
	if len(trials) != 1 || trials[0].gave {
		t.Fatalf("%d trials", len(trials))
	}
	near(t, "held", math.Exp(trials[0].force), 0.18, 1e-6)
	near(t, "torque", math.Exp(trials[0].torque)*34, leastForce, 1e-6)
	gave := trial{t: 60, force: math.Log(0.10), torque: math.Log(0.10 / 34), gave: true}
	if alone, braked := clutchOrWheels([]trial{gave}), clutchOrWheels(append(trials, gave)); braked < alone+0.7 {
		t.Errorf("%.2f nats, %.2f beside brakes", alone, braked)
	}
}
