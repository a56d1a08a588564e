package detect

import (
	"math"
	"testing"
)

// creepingOnly is what creep is as the explanation of a departure from a locked clutch that is the only one of its log.
func creepingOnly(r *Record, d *Departure) float64 {
	d.seen.locked = true
	d.hardRoad = float64(r.onHardRoad(d))
	d.creepOdds = r.clutchOrCreep(d)
	r.looseOdds = d.tellsLoose()
	return creeping(r, d)
}

// An engine that runs ahead in proportion to the force, as tyres on gravel make it, is no slip where speed is that of
// other wheels; one that runs ahead for a part of the time that the force lasts is none of the tyres' doing, nor is one
// that runs further ahead than any tyre creeps. Creep of 0.3 at 5 km/h/s, 0.14 of weight and a little drag, is 5 %.
func TestCreepFollowsForce(t *testing.T) {
	follows := func(a float64) leg {
		share := 0.3 * (a/3.6/9.81 + 0.02)
		return leg{s: 1.5, gear: 3, a: a, load: 1, slip: constant(share / (1 + share))}
	}
	lets := func(share float64) []leg {
		on := leg{s: 2, gear: 3, a: 5, load: 1}
		slides := on
		slides.slip = constant(share)
		return []leg{on, slides, on}
	}
	for _, c := range []struct {
		what   string
		driven bool
		legs   []leg
		slip   bool
	}{
		{"follows force", false, []leg{follows(0), follows(2), follows(5), follows(3), follows(0)}, false},
		{"the same from the driven wheels", true, []leg{follows(0), follows(2), follows(5), follows(3), follows(0)}, true},
		{"lets go and holds again under one force", false, lets(0.05), true},
		{"goes further than a tyre creeps", false, []leg{follows(0), {s: 3, gear: 3, a: 2, load: 1, slip: constant(0.2)}}, true},
	} {
		h := at(60, 0.1)
		h.Model.MayCreep, h.Model.DrivenNats = !c.driven, 0
		r := h.drive(c.legs...).record()
		end := r.Track.T[r.Track.Len()-1]
		d := departure(r, 1.5, end-1.5)
		if !c.driven && c.slip {
			d = departure(r, 2, 4)
		}
		d.level = r.MeanE(d.lo, d.hi)
		if n := creepingOnly(r, d); (n >= Proven) != c.slip {
			t.Errorf("%s: %.1f nats", c.what, n)
		}
	}
}

// What follows the force may be creep on a loose road, unless the road is told to be paved and dry: of fifty who say so
// one is wrong.
func TestCreepOnARoadToldToBeDry(t *testing.T) {
	odds := func(dry bool) float64 {
		h := at(60, 0.1)
		h.Model.MayCreep, h.Model.DrivenNats, h.dry = true, 0, dry
		r := h.drive(leg{s: 2, gear: 3, load: 0.3}, leg{s: 4, gear: 3, a: 2, load: 1, slip: constant(0.04)},
			leg{s: 2, gear: 3, load: 0.3}).record()
		d := departure(r, 2, 6)
		d.level = r.MeanE(d.lo, d.hi)
		return creepingOnly(r, d)
	}
	if any, dry := odds(false), odds(true); math.Abs(dry-any-math.Log(50)) > 0.2 {
		t.Errorf("%.2f nats on any road, %.2f on a dry one", any, dry)
	}
}

// A pull that carried as much without creep shows a hard road, one that carried less shows nothing.
func TestPullsOnAHardRoad(t *testing.T) {
	for _, c := range []struct {
		a    float64 // km/h/s of the pull beside
		want int
	}{{5, 1}, {2, 0}} {
		r := at(60, 0.1).drive(leg{s: 4, gear: 3, a: c.a, load: 1}, leg{s: 2, rpm: 1500}, leg{s: 4, gear: 3, a: 5, load: 1,
			slip: constant(0.05)}).found(noForce())
		d := departure(r, 6.5, 9.5)
		if got := r.onHardRoad(d); got != c.want {
			t.Errorf("%.0f km/h/s: %d pulls on a hard road, %d pulls in all", c.a, got, len(r.Pulls))
		}
	}
}

// Where the excess is too odd for tyres, slip stands; where the road may make it, slip is not proven.
func TestWhatTyresMake(t *testing.T) {
	on := func(s, a, share float64) leg { return leg{s: s, gear: 3, a: a, load: 1, slip: constant(share)} }
	of := func(per, a float64) float64 { // creep per force over weight, with a little drag
		share := per * (a/3.6/9.81 + 0.02)
		return share / (1 + share)
	}
	snow := func(a float64) float64 { // brush model: 15 % at 0.139 of weight, in proportion to a small force 6 %
		const holds, per = 0.14, 0.44
		share := 3 * holds * per * (1 - math.Cbrt(1-(a/3.6/9.81+0.02)/holds))
		return share / (1 + share)
	}
	for _, c := range []struct {
		what     string
		legs     []leg
		from, to float64
		slip     bool
	}{
		{"on snow, where wheels hold 0.14 of weight", []leg{on(1.5, 0, snow(0)), on(1.5, 2, snow(2)), on(10, 4.2, snow(4.2)),
			on(1.5, 2, snow(2))}, 1.5, 13, false},
		{"as far for a while under that force", []leg{on(3, 4.2, 0.005), on(3, 4.2, snow(4.2)), on(3, 4.2, 0.005)}, 3, 6, true},
		{"2 % ahead in third at a steady speed, maybe up a hill", []leg{on(8, 0, 0.02)}, 1, 7, false},
		{"12 % ahead there", []leg{on(8, 0, 0.12)}, 1, 7, true},
		{"1, 7 and 1 % under one force", []leg{on(2, 5, 0.01), on(2, 5, 0.07), on(2, 5, 0.01)}, 2, 4, true},
		{"follows force, and five seconds before the road was a hard one", []leg{on(4, 5, 0), on(5, 5, of(0.3, 5)),
			on(3, 2, of(0.3, 2)), on(4, 5, of(0.3, 5))}, 9, 14, false},
	} {
		h := at(60, 0.1)
		h.Model.MayCreep, h.Model.DrivenNats = true, 0
		r := h.drive(c.legs...).record()
		d := departure(r, c.from, c.to)
		d.level = r.MeanE(d.lo, d.hi)
		if n := creepingOnly(r, d); (n >= Proven) != c.slip {
			t.Errorf("%s: %.1f nats", c.what, n)
		}
	}
}

// A departure that tells nothing is creep as often as hard pulls are done on loose roads: nine to one against it. Each
// pull that shows a hard road makes that the longer odds.
func TestCreepThatNothingTells(t *testing.T) {
	h := at(60, 0.1)
	h.Model.MayCreep, h.Model.DrivenNats = true, 0
	r := h.drive(leg{s: 4, gear: 3, load: 1}, leg{s: 2, rpm: 1500}, leg{s: 4, gear: 3, load: 1, slip: constant(0.05)}).record()
	d := departure(r, 6.5, 9.5)
	for i := range r.Track.Excess {
		r.Track.Excess[i] = nan
	}
	near(t, "nats", creepingOnly(r, d), math.Log(9), 0.01)
}

// A pull under the same force in which the engine stood ahead by three fifths of what a departure does was on no hard
// road; by one fifth, it was.
func TestHowFarAnEngineStandsAheadOnAHardRoad(t *testing.T) {
	for _, c := range []struct {
		ahead float64
		want  int
	}{{0.03, 0}, {0.01, 1}} {
		r := at(60, 0.1).drive(leg{s: 4, gear: 3, a: 5, load: 1, slip: constant(c.ahead)}, leg{s: 2, rpm: 1500},
			leg{s: 4, gear: 3, a: 5, load: 1, slip: constant(0.05)}).record()
		r.Pulls = []Pull{{Run: &r.Runs[0], Lo: r.at(0.5), Hi: r.at(3.5)}}
		if got := r.onHardRoad(departure(r, 6.5, 9.5)); got != c.want {
			t.Errorf("%.0f %% ahead: %d pulls on a hard road", 100*c.ahead, got)
		}
	}
}

// Neighbouring values err alike: eleven seconds tell as much as 22 values half a second apart, however many come, and
// eleven where one comes a second.
func TestReadingsOfCreep(t *testing.T) {
	for _, c := range []struct{ period, want float64 }{{0.05, 22}, {0.25, 22}, {1, 11}} {
		r := at(60, c.period).drive(leg{s: 8, gear: 3, a: 2, load: 1}, leg{s: 5, gear: 3, a: 2, load: 1, slip: constant(0.05)},
			leg{s: 8, gear: 3, a: 2, load: 1}).record()
		sum := 0.0
		d := departure(r, 8, 13)
		d.seen.locked = true
		for _, x := range r.creepReadings(d, 0) {
			sum += x.weight
		}
		near(t, "readings", sum, c.want, 1.01)
	}
}

// A departure that tells nothing is creep as often as the others say that the road is loose: by no more than 3 nats
// each, and 5 all of them. A clutch that is let in as a departure begins tells nothing of tyres.
func TestOtherDeparturesTellTheRoad(t *testing.T) {
	for _, c := range []struct {
		others []float64 // nats for a clutch
		before float64   // nats of earlier logs for a loose road
		want   float64
	}{
		{nil, 0, math.Log(9)},
		{[]float64{-2}, 0, math.Log(9) - 2},
		{[]float64{2}, 0, math.Log(9) + 2},
		{[]float64{-20, 1}, 0, math.Log(9) - 2},
		{[]float64{-20, -20, -20}, 0, math.Log(9) - 5},
		{[]float64{20, 20}, 0, math.Log(9) + 5},
		{nil, 1, math.Log(9) - 1},
	} {
		h := at(60, 0.1)
		h.Model.MayCreep, h.Model.DrivenNats = true, 0
		r := h.drive(leg{s: 20, gear: 3, load: 1}).record()
		r.Pulls = []Pull{{Departures: []Departure{{run: &r.Runs[0]}}}}
		for i := range r.Track.Excess {
			r.Track.Excess[i] = nan
		}
		weighCreep([]*Record{r}, c.before)
		for _, x := range c.others {
			r.looseOdds += (&Departure{creepOdds: x}).tellsLoose()
		}
		near(t, "nats", creeping(r, &r.Pulls[0].Departures[0]), c.want, 0.01)
	}
	r := at(60, 0.1).drive(leg{s: 8, gear: 3, load: 1}).record()
	d := departure(r, 1, 5)
	if first := len(r.creepReadings(d, 0)); first != 55 {
		t.Errorf("%d readings of 8 - 1 - 1.5 s", first)
	}
	d.seen.locked = true
	if all := len(r.creepReadings(d, 0)); all != 80 {
		t.Errorf("%d readings of 8 s", all)
	}
	for i := range 30 {
		r.push(i+50, []float64{-0.05, -0.1}[i%2]) // dragged along, and under the brakes
	}
	if pushed := len(r.creepReadings(d, 0)); pushed != 65 {
		t.Errorf("%d readings of 8 s, 1.5 s of them under the brakes", pushed)
	}
}
