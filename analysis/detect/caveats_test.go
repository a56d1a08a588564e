package detect

import "testing"

// Force that was kept: as before, for long enough to be read.
func TestForceThatWasKept(t *testing.T) {
	for _, c := range []struct {
		within, duration, period float64
		want                     bool
	}{{0.27, 1.5, 0.05, true}, {0.2, 1.5, 0.05, false}, {0.27, 0.5, 0.05, false}, {0.27, 1.5, 0.8, false}} {
		d := lasting(c.duration, 10, 8, evidence{before: 0.3, within: c.within})
		if d.ForceKept(c.period) != c.want {
			t.Errorf("%.2f of 0.30 for %.1f s: kept %v", c.within, c.duration, d.ForceKept(c.period))
		}
	}
	for _, relocks := range []bool{true, false} {
		d := lasting(1, 10, 8, evidence{relocks: relocks})
		if d.Relocks() != relocks {
			t.Errorf("relocks %v", d.Relocks())
		}
	}
}

// What was kept of the hold: 0.24 of 0.30, read to sqrt(2) 0.015/0.30 = 0.071. It is not told where the clutch was not
// locked before, the foot went down meanwhile, or the car was hardly pushed.
func TestShareOfTheHoldThatWasKept(t *testing.T) {
	seen := evidence{locked: true, before: 0.25, rise: 0.30, within: 0.24}
	d := lasting(3, 20, 15, seen)
	kept := d.Kept()
	near(t, "kept", kept.Value, 0.8, 1e-9)
	near(t, "read to", kept.SD, 0.071, 0.001)
	for i, change := range []func(e *evidence){
		func(e *evidence) { e.locked = false },
		func(e *evidence) { e.footDown = true },
		func(e *evidence) { e.before, e.rise = 0.02, 0.03 },
		func(e *evidence) { e.within = nan },
	} {
		d.seen = seen
		change(&d.seen)
		if d.Kept() != nil {
			t.Errorf("case %d: kept is told", i)
		}
	}
}

// A car that was slower than its gear allows at idle (800/46 = 17 km/h in third) a moment ago was in another gear;
// ten seconds ago is no matter.
func TestMovingBefore(t *testing.T) {
	for _, c := range []struct {
		since float64
		want  bool
	}{{8, true}, {2, false}} {
		r := at(5, 0.05).drive(leg{s: 3, rpm: 900}, leg{s: 1, a: 40, rpm: 2000}, leg{s: c.since, gear: 3, load: 1}).record()
		if got := r.moving(r.Track.Len()-1, 2); got != c.want {
			t.Errorf("%.0f s after a crawl: moving %v", c.since, got)
		}
	}
}

// A gap under load beside which the engine stands off its gear may hide slip. At 100 km/h 4 km/h off are more than
// 2.2 % and a step.
func TestGapThatMayHideSlip(t *testing.T) {
	pull, off := leg{s: 5, gear: 3, load: 1}, leg{s: 0.5, gear: 3, load: 1, slip: constant(0.04)}
	far := leg{s: 0.4, gear: 3, load: 1, slip: constant(0.1)}
	rolls := leg{s: 5, gear: 3, load: 0}
	for _, c := range []struct {
		what string
		h    *handmade
		want bool
	}{
		{"on the line on both sides", at(100, 0.05).drive(pull).pause(1).drive(pull), false},
		{"off it before", at(100, 0.05).drive(pull, off).pause(1).drive(pull), true},
		{"off it after", at(100, 0.05).drive(pull).pause(1).drive(off, pull), true},
		{"off it after, then another gear", at(100, 0.05).drive(pull).pause(1).drive(leg{s: 3, gear: 2, load: 1}), false},
		{"off it before, then a taller gear", at(100, 0.05).drive(pull, off).pause(1).drive(leg{s: 3, gear: 4, load: 1}), false},
		{"off it before, then sliding in another gear", at(100, 0.05).drive(pull, off).pause(1).drive(leg{s: 3, gear: 2,
			load: 1, slip: constant(0.1)}), true},
		{"off it before, then sliding in a taller gear", at(100, 0.05).drive(pull, off).pause(1).drive(leg{s: 3, gear: 4,
			load: 1, slip: constant(0.1)}), true},
		{"down on it before", at(100, 0.05).drive(pull, far, leg{s: 0.15, gear: 3, load: 1}).pause(1).drive(pull), false},
		{"after one value on it", at(100, 0.05).drive(pull).pause(1).drive(leg{s: 0.05, gear: 3, load: 1}, far, pull), true},
		{"no gap worth the name", at(100, 0.05).drive(pull, off).pause(0.3).drive(pull), false},
		{"off it before a pause in the recording", at(100, 0.05).drive(pull, off).pause(10).drive(pull), true},
		{"without load before", at(100, 0.05).drive(rolls, leg{s: 0.5, gear: 3, load: 0,
			slip: constant(0.04)}).pause(1).drive(pull), false},
		{"without load before, and off it for long after", at(100, 0.05).drive(rolls).pause(1).drive(far, far, far, pull),
			true},
		{"the same, with the load of before the gap for a while", at(100, 0.05).drive(rolls).pause(1).drive(leg{s: 0.1,
			gear: 3, load: 0, slip: constant(0.1)}, far, far, far, pull), true},
		{"without load before, on it, and off it a moment later", at(100, 0.05).drive(rolls).pause(1).drive(leg{s: 0.6,
			gear: 3, load: 1}, far, far, pull), false},
		{"without load before, and off it for a moment after", at(100, 0.05).drive(rolls).pause(1).drive(far, pull), false},
		{"without load before and for a moment after, off it all the while", at(100, 0.05).drive(rolls).pause(1).drive(leg{s: 0.6,
			gear: 3, load: 0, slip: constant(0.1)}, far, far, far, pull), false},
		{"off it before, the foot off after", at(100, 0.05).drive(pull, off).pause(1).drive(rolls), true},
		{"two seconds of a slow link", at(100, 0.5).drive(pull, leg{s: 1.5, gear: 3, load: 1,
			slip: constant(0.04)}).pause(2).drive(pull), true},
		{"a late value of a slow link", at(100, 0.5).drive(pull, leg{s: 1.5, gear: 3, load: 1,
			slip: constant(0.04)}).pause(0.4).drive(pull), false},
		{"out of gear for three seconds before", at(100, 0.05).drive(pull, leg{s: 3, rpm: 5500,
			load: 1}).pause(1).drive(pull), false},
		{"the car crawled before", at(10, 0.05).drive(leg{s: 1, gear: 3, load: 1}, leg{s: 1, a: 90, gear: 3, load: 1},
			off).pause(1).drive(pull), false},
	} {
		if _, got := c.h.record().DoubtfulGap(); got != c.want {
			t.Errorf("%s: %v", c.what, got)
		}
	}
}

// What stands off its gear beside a gap: more than a step of road speed, than 2.2 % of it, than the noise of one
// value.
func TestOffBesideAGap(t *testing.T) {
	for _, c := range []struct {
		what       string
		v, step, a float64
		slip       float64
		want       bool
	}{
		{"2 km/h at 40 in steps of 1", 40, 1, 0, 0.0476, true},
		{"1 km/h at 40 in steps of 1", 40, 1, 0, 0.0244, false},
		{"4 km/h at 100", 100, 1, 0, 0.0385, true},
		{"1.5 km/h at 100", 100, 1, 0, 0.0148, false},
		{"3.5 km/h at 100 at 10 km/h/s", 100, 0.1, 10, 0.0338, true}, // one value: hypot(0.12, 0.32, 0.4) = 0.53
	} {
		h := at(c.v, 0.05).drive(leg{s: 0.5, a: c.a, gear: 3, load: 1, slip: constant(c.slip)})
		h.Model.Step = c.step
		r := h.record()
		if got := r.off(0, 10, 3); got != c.want {
			t.Errorf("%s: off %v", c.what, got)
		}
	}
}

// Without a load channel the acceleration tells whether a gap lay in a pull: (4/3.6 + 0.11 + 0.23)/9.81 = 0.15 of
// weight.
func TestLoadBesideAGap(t *testing.T) {
	for _, c := range []struct {
		a    float64
		want bool
	}{{4, true}, {0, false}} {
		h := at(100, 0.05).drive(leg{s: 1, a: c.a, gear: 3, load: nan})
		if got := h.record().loadedBeside(3); got != c.want {
			t.Errorf("%.0f km/h/s: under load %v", c.a, got)
		}
	}
}

// A clutch that is let in was not locked before, comes to rest, and is locked then.
func TestComesToRest(t *testing.T) {
	for _, c := range []struct {
		seen evidence
		want bool
	}{
		{evidence{settles: true, relocks: true}, true},
		{evidence{settles: true, relocks: true, locked: true}, false},
		{evidence{settles: true, relocks: true, rose: true}, false},
		{evidence{relocks: true}, false},
		{evidence{settles: true}, false},
	} {
		d := Departure{seen: c.seen}
		if d.ComesToRest() != c.want {
			t.Errorf("%+v: %v", c.seen, !c.want)
		}
	}
}

// Two seconds of third and one of fourth at light load, a pause of ten seconds counts for one, and load for nothing.
func TestTimeAtLightLoad(t *testing.T) {
	r := at(60, 0.1).drive(leg{s: 2, gear: 3, load: 0.1}, leg{s: 3, gear: 3, load: 1}, leg{s: 1, gear: 4, load: 0.1}).
		pause(10).drive(leg{s: 1, gear: 4, load: 0.1}).record()
	r.light = make([]bool, r.Track.Len())
	for i, load := range r.Track.Load {
		r.light[i] = load < 0.5
	}
	seconds := map[int]float64{3: 5}
	r.LightTime(seconds)
	near(t, "s in third", seconds[3], 5+1.9, 1e-6)
	near(t, "s in fourth", seconds[4], 1+1+0.9, 1e-6)
}

// A lower gear that goes in without a break of force may be slip of a constant size; where hardly any force was there to break, it tells nothing. Wheel
// force at 60 km/h: (a/3.6 + 0.11 + 0.08)/9.81; a = 6: 0.19, a = 0.7: 0.039.
func TestGearsEnteredUnderForce(t *testing.T) {
	for _, c := range []struct {
		what            string
		from, to        int
		before, through float64 // km/h/s
		want            int
	}{
		{"force kept", 3, 2, 6, 6, 1},
		{"force broken", 3, 2, 6, -3, 0},
		{"a gentle push kept", 3, 2, 1.8, 1.8, 1}, // 0.07 of weight
		{"hardly any force", 3, 2, 0.7, 0.7, 0},
		{"a taller gear", 2, 3, 6, 6, 0},
	} {
		h := at(60, 0.05).drive(leg{s: 2, a: c.before, gear: c.from, load: 0.9}, leg{s: 0.8, a: c.through, rpm: 4000,
			load: 0.9}, leg{s: 2, a: c.before, gear: c.to, load: 0.9})
		if got := len(h.record().EnteredUnderForce()); got != c.want {
			t.Errorf("%s: %d gears, want %d", c.what, got, c.want)
		}
	}
}

// A tyre that pushes with half the weight and creeps by 0.08 of that stands 4 % ahead of a wheel that rolls, and a log
// whose errors are three times what is known of them shows 4 % by itself.
func TestCreepAndWildErrorsBesideAGap(t *testing.T) {
	for _, c := range []struct {
		what   string
		change func(r *Record)
		want   bool
	}{
		{"neither", func(*Record) {}, true},
		{"a creep of 0.08", func(r *Record) { r.Track.Model.MayCreep, r.Track.Model.Creep = true, 0.08 }, false},
		{"errors twice as large", func(r *Record) { r.Spread = 2 }, true},
		{"errors three times as large", func(r *Record) { r.Spread = 3 }, false},
	} {
		// (15/3.6 + 0.14 + 0.23)/9.81 = 0.46 of weight
		h := at(100, 0.05).drive(leg{s: 0.5, a: 15, gear: 3, load: 1, slip: constant(0.0385)})
		r := h.record()
		c.change(r)
		if got := r.off(0, 10, 3); got != c.want {
			t.Errorf("%s: off %v", c.what, got)
		}
	}
}

// What the judge asks of single samples: a car in no gear rolls on, an engine within one and a half per cent of its gear
// fits it, and one further above stands ahead. In no gear an engine stands nowhere.
func TestWhereAnEngineStands(t *testing.T) {
	h := at(5, 0.05).drive(leg{s: 3, rpm: 900}, leg{s: 1, a: 40, rpm: 2000}, leg{s: 1, gear: 3, load: 1, slip: constant(0.01)},
		leg{s: 6, gear: 3, load: 1}, leg{s: 1, gear: 3, load: 1, slip: constant(0.03)}, leg{s: 1, gear: 3, load: 1, slip: constant(-0.03)})
	r := h.record()
	for _, c := range []struct {
		what                string
		at                  float64 // s
		gear                int
		moving, fits, ahead bool
	}{
		{"in no gear", 2, 0, true, false, false},
		{"third, a moment after a crawl, 1 % ahead", 4.5, 3, false, true, false},
		{"third, ten seconds after it", 10.5, 3, true, true, false},
		{"3 % ahead", 11.5, 3, true, false, true},
		{"of the gear below", 11.5, 2, true, false, false},
		{"of the gear above", 10.5, 4, true, true, true},
		{"3 % behind", 12.5, 3, true, false, false},
	} {
		i := r.at(c.at)
		if m, f, a := r.Moving(i, c.gear), r.Fits(i), r.Ahead(i, c.gear); m != c.moving || f != c.fits || a != c.ahead {
			t.Errorf("%s: moving %v, fits %v, ahead %v", c.what, m, f, a)
		}
	}
}
