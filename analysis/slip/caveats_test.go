package slip

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/detect"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
	"flywitness/analysis/stats"
	"flywitness/finding"
	"flywitness/vehicle"
)

// What is left over and by what it is named: each kind, long enough and suspect.
func TestWhatIsLeftOver(t *testing.T) {
	for kind, x := range alternatives {
		j := empty()
		j.out.Events = []Event{{Start: 100, End: 102, Gear: 3, Kind: kind, PeakSlip: 12}}
		j.events = []eventNote{{suspect: true}}
		c := j.leftOver()
		cause := finding.New(x.cause).String()
		if c == nil || !strings.Contains(c.reason.String(), cause) || c.next.Code != x.next ||
			!strings.Contains(c.reason.String(), "seen once") {
			t.Errorf("%s: %v", kind, c)
		}
		j.events[0].suspect = false
		if c := j.leftOver(); c != nil {
			t.Errorf("%s that is explained: %v", kind, c)
		}
	}
	for _, c := range []struct {
		n    int
		last float64 // s
		want string
	}{{2, 0.7, ""}, {4, 0.7, "less than a second 4 times"}, {1, 1.5, "seen once"}} {
		j := empty()
		for i := range c.n {
			j.out.Events = append(j.out.Events, Event{Start: float64(100 * i), End: float64(100*i) + c.last, Gear: 3,
				Kind: detect.KindPedal})
			j.events = append(j.events, eventNote{suspect: true})
		}
		if reason := reasonOf(j.leftOver()); (reason == "") != (c.want == "") || !strings.Contains(reason, c.want) {
			t.Errorf("%d of %.1f s: %q", c.n, c.last, reason)
		}
	}
}

// reasonOf is what a caveat says, "" for none.
func reasonOf(c *caveat) string {
	if c == nil {
		return ""
	}
	return c.reason.String()
}

// Which departures may be slip after all.
func TestSuspectDepartures(t *testing.T) {
	of := func(kind detect.Kind, gear int, seconds float64, moving bool) *detect.Departure {
		d := &detect.Departure{Moving: moving}
		d.Kind, d.Gear, d.End = kind, gear, seconds
		return d
	}
	sure := func(d *detect.Departure) *detect.Departure {
		d.Odds = -detect.Proven - 1
		return d
	}
	for _, c := range []struct {
		what string
		d    *detect.Departure
		want bool
	}{
		{"slip", of(detect.KindSlip, 2, 1, true), true},
		{"the clutch let in for three seconds in third", of(detect.KindEngagement, 3, 3, true), true},
		{"for one second", of(detect.KindEngagement, 3, 1, true), false},
		{"setting off", of(detect.KindEngagement, 3, 3, false), false},
		{"in first", of(detect.KindEngagement, 1, 3, true), false},
		{"wheelspin for three seconds in third", of(detect.KindWheelspin, 3, 3, true), true},
		{"in second", sure(of(detect.KindWheelspin, 2, 3, true)), false},
		{"in second, if it was the wheels", of(detect.KindWheelspin, 2, 3, true), true},
		{"in first", of(detect.KindWheelspin, 1, 3, true), false},
		{"for one second in third", of(detect.KindWheelspin, 3, 1, true), true},
		{"for 0.7 s in third", of(detect.KindWheelspin, 3, 0.7, true), false},
		{"a signal that wandered for 1.2 s", of(detect.KindSignal, 3, 1.2, true), true},
		{"and for half a second", of(detect.KindSignal, 3, 0.5, true), false},
		{"no force, setting off", of(detect.KindNoForce, 3, 2, false), false},
		{"a late lift whose force went", of(detect.KindShift, 3, 0.5, true), false},
	} {
		if got := empty().isSuspect(c.d); got != c.want {
			t.Errorf("%s: suspect %v", c.what, got)
		}
	}
}

// A pull in a gear that was not learnt is no doubt, with a change of gear on either side; a clutch that takes two seconds
// and a half beside it is one, and so is one at a ratio that it may hold itself.
func TestSuspectsBesideAGearThatWasNotLearnt(t *testing.T) {
	for _, c := range []struct {
		what         string
		change, slip float64
		want         bool
	}{{"half a second of change", 0.5, 0.27, false}, {"two and a half", 2.5, 0.27, true}, {"slip of a fifth", 0.5, 0.2, true}} {
		locked := row{s: 4, gear: 3, clutch: gearstate.Locked, load: 0.9, a: 1}
		in := func(s, slip, a float64) row {
			return row{s: s, gear: 3, clutch: gearstate.Slipping, load: 0.9, a: a, slip: slip}
		}
		r := recordOf(locked, in(c.change, 0.5, 0), in(3, c.slip, 5), in(0.4, 0.1, 0), locked)
		if len(r.Pulls) != 1 || len(r.Pulls[0].Departures) != 1 {
			t.Fatalf("%s: %d pulls", c.what, len(r.Pulls))
		}
		d := &r.Pulls[0].Departures[0]
		if got := empty().isSuspect(d); got != c.want {
			t.Errorf("%s, called %s: suspect %v", c.what, d.Kind, got)
		}
	}
}

// An engine that runs away from third passes the ratio of second and seems to be let in there: that is a doubt. In
// second itself a clutch is let in slowly by many.
func TestSuspectsThatSlidIntoALowerGear(t *testing.T) {
	third := row{s: 4, gear: 3, clutch: gearstate.Locked, load: 0.9, a: 2}
	away := row{s: 1, gear: 3, clutch: gearstate.Slipping, load: 0.9, a: 2, slip: 0.25}
	change := row{s: 1, clutch: gearstate.Open, load: 0.9, a: -2}
	moment := row{s: 0.1, clutch: gearstate.Open, load: 0.9, a: 2}
	second := row{s: 3, gear: 2, clutch: gearstate.Slipping, load: 0.9, a: 2, slip: 0.15}
	for _, c := range []struct {
		what string
		rows []row
		want bool
	}{
		{"from slip in third", []row{third, away, moment, second}, true},
		{"a second after it", []row{third, away, change, second}, false},
		{"by a change of gear", []row{third, change, second}, false},
	} {
		r := recordOf(c.rows...)
		p := &r.Pulls[len(r.Pulls)-1]
		if len(p.Departures) != 1 || p.Run.Gear != 2 {
			t.Fatalf("%s: %d departures in gear %d", c.what, len(p.Departures), p.Run.Gear)
		}
		d := &p.Departures[0]
		if got := empty().isSuspect(d); got != c.want || d.Kind != detect.KindEngagement {
			t.Errorf("%s, called %s: suspect %v", c.what, d.Kind, got)
		}
	}
}

// A clutch that is let in for 1.5 s in third is no doubt; one that had met its line and leaves it again for as long is. One
// that comes to rest within 2.2 s took no longer than a foot on a link of a value every 0.4 s, which hides its begin and end.
func TestSuspectsThatAreLetIn(t *testing.T) {
	fourth := row{s: 5, gear: 4, clutch: gearstate.Locked, load: 0.9, a: 2}
	change := row{s: 1, clutch: gearstate.Open, load: 0.9, a: 2}
	in := func(s, slip float64) row {
		return row{s: s, gear: 3, clutch: gearstate.Slipping, load: 0.9, a: 2, slip: slip}
	}
	on := func(s float64) row { return row{s: s, gear: 3, clutch: gearstate.Locked, load: 0.9, a: 2} }
	for _, c := range []struct {
		what   string
		rows   []row
		period float64
		want   bool
	}{
		{"let in", []row{fourth, change, in(1.5, 0.1), on(3)}, 0.05, false},
		{"off its line again", []row{fourth, change, on(0.2), in(1.5, 0.1), on(3)}, 0.05, true},
		{"at rest within 2.2 s", []row{fourth, change, in(1.1, 0.2), in(1.1, 0.05), on(3)}, 0.4, false},
		{"the same on a quick link", []row{fourth, change, in(1.1, 0.2), in(1.1, 0.05), on(3)}, 0.05, true},
	} {
		r := recordOf(c.rows...)
		p := &r.Pulls[len(r.Pulls)-1]
		if len(p.Departures) != 1 {
			t.Fatalf("%s: %d departures", c.what, len(p.Departures))
		}
		j := empty()
		j.cal.Period = c.period
		if d := &p.Departures[0]; d.Kind != detect.KindEngagement || j.isSuspect(d) != c.want {
			t.Errorf("%s, called %s, for %.2f s: suspect %v", c.what, d.Kind, d.End-d.Start, !c.want)
		}
	}
}

// An engine that runs away for longer than a stab at the clutch pedal takes is a doubt where the car is pushed on
// meanwhile as before; where its force goes, it was the foot, and of a stab no force tells.
func TestStabThroughWhichTheForceStays(t *testing.T) {
	locked := row{s: 4, gear: 3, clutch: gearstate.Locked, load: 0.9, a: 4}
	for _, c := range []struct {
		long, a float64
		want    bool
	}{{1.4, 4, true}, {1.4, -1, false}, {1, 4, false}} {
		away := func(s, slip float64) row {
			return row{s: s, gear: 3, clutch: gearstate.Slipping, load: 0.9, a: c.a, slip: slip}
		}
		r := recordOf(locked, away(c.long-0.8, 0.05), away(0.4, 0.1), away(0.4, 0.35), row{s: 1, gear: 3, clutch: gearstate.Locked, a: c.a})
		p := &r.Pulls[0]
		if len(p.Departures) != 1 || p.Departures[0].Kind != detect.KindPedal {
			t.Fatalf("%+v: %+v", c, p.Departures)
		}
		if got := empty().isSuspect(&p.Departures[0]); got != c.want {
			t.Errorf("%+v: suspect %v", c, got)
		}
	}
}

// A departure of half a second or of two that ends with the clutch locked in its gear is a doubt, be it taken for a stab at
// the clutch pedal or for too short: pull by pull nobody stabs at it. One that is not seen to end may be just that.
func TestDeparturesThatEndLocked(t *testing.T) {
	locked := row{s: 4, gear: 3, clutch: gearstate.Locked, load: 0.9, a: 4}
	away := func(s, slip, a float64) row {
		return row{s: s, gear: 3, clutch: gearstate.Slipping, load: 0.9, a: a, slip: slip}
	}
	for _, c := range []struct {
		what string
		rows []row
		kind detect.Kind
		want bool
	}{
		{"half a second", []row{away(0.5, 0.05, 4), locked}, detect.KindShort, true},
		{"half a second, to the end of the log", []row{away(0.5, 0.05, 4)}, detect.KindShort, false},
		{"0.7 s, far", []row{away(0.3, 0.1, -1), away(0.4, 0.35, -1), locked}, detect.KindPedal, true},
		{"2.3 s, far, without force", []row{away(2.3, 0.2, -1), locked}, detect.KindPedal, true},
		{"the same, to the end of the log", []row{away(2.3, 0.2, -1)}, detect.KindPedal, false},
	} {
		r := recordOf(append([]row{locked}, c.rows...)...)
		p := &r.Pulls[0]
		if len(p.Departures) != 1 {
			t.Fatalf("%s: %d departures", c.what, len(p.Departures))
		}
		d := &p.Departures[0]
		if got := empty().isSuspect(d); got != c.want || d.Kind != c.kind {
			t.Errorf("%s, called %s, %.2f s: suspect %v", c.what, d.Kind, d.End-d.Start, got)
		}
	}
}

// One full-load pull of three that stands ahead is a doubt, one of twenty is chance; a light pull says nothing.
func TestPullsThatStandAhead(t *testing.T) {
	for _, c := range []struct {
		held, ahead int
		full        bool
		want        bool
	}{{2, 1, true, true}, {19, 1, true, false}, {19, 3, true, true}, {2, 1, false, false}, {3, 0, true, false}} {
		j := empty()
		for i := range c.held + c.ahead {
			p := Pull{Start: float64(i), Gear: 3, Verdict: Holds, FullLoad: c.full}
			if i >= c.held {
				p.Verdict, p.Reason = Inconclusive, finding.Say(finding.New(finding.ExcessUnproven))
			}
			j.out.Pulls = append(j.out.Pulls, p)
		}
		got := reasonOf(j.caveat())
		if at := fmt.Sprintf("at %d s, at full load in gear 3", c.held); strings.Contains(got, at) != c.want || !c.want && got != "" {
			t.Errorf("%d held, %d stood ahead, full %v: %q", c.held, c.ahead, c.full, got)
		}
	}
}

// recordOf is a track of one row each: seconds, gear, clutch, load, km/h/s, slip (share of engine speed), a ratio of no
// gear or the rate (rpm/s) of a free engine, and s without a value before, at 20 values a second from 60 km/h on.
type row struct {
	s, load, a float64
	gear       int
	clutch     gearstate.Clutch
	slip, k    float64
	up, pause  float64
}

func recordOf(rows ...row) *detect.Record {
	t := &gearstate.Track{Model: gearstate.Model{Period: 0.05, Step: 0.1, Idle: 800,
		Load: gearstate.LoadScale{Channel: "load", Full: 1}}}
	ladder := []float64{120, 70, 46, 34}
	for i, k := range ladder {
		t.Model.Gears = append(t.Model.Gears, gearstate.Gearing{Number: i + 1, K: k})
	}
	now, v := 0.0, 60.0
	for _, x := range rows {
		now += x.pause
		for i := range int(math.Round(20 * x.s)) {
			s := gearstate.State{Gear: x.gear, Clutch: x.clutch, Excess: math.NaN()}
			s.T, s.V, s.A, s.Load, s.N = now, v, x.a, x.load, 3000+x.up*float64(i)/20
			switch {
			case x.gear > 0:
				s.N = v * ladder[x.gear-1] / (1 - x.slip)
				s.Excess = v * x.slip / (1 - x.slip)
			case x.k > 0:
				s.N = v * x.k
			}
			t.Append(s)
			now, v = now+0.05, v+0.05*x.a
		}
	}
	return detect.Find([]*motion.Record{motion.New(0, t)}, motion.NewForce(nil, false), detect.Told{})[0]
}

// An engine that is kept under load with no gear that fits, for longer than a change of gear without a lift takes.
func TestEngineThatRunsFree(t *testing.T) {
	for _, c := range []struct {
		what    string
		s, load float64
		k       float64
		want    bool
	}{{"three seconds", 3, 0.9, 0, true}, {"a second and a half", 1.5, 0.9, 0, false}, {"three seconds with the foot off",
		3, 0.1, 0, false}, {"in a gear that was not learnt", 3, 0.9, 95, false}, {"as if second slipped", 3, 0.9, 84, true},
		{"three seconds, pushed, with no load known", 3, math.NaN(), 0, true}, {"a second and a half of that", 1.5, math.NaN(), 0,
			false}} {
		r := recordOf(row{s: 3, gear: 3, clutch: gearstate.Locked, load: 0.9}, row{s: c.s, clutch: gearstate.Open,
			load: c.load, k: c.k, a: 5}, row{s: 3, gear: 3, clutch: gearstate.Locked, load: 0.9})
		if _, _, got := runsFree(r); got != c.want {
			t.Errorf("%s: runs free %v", c.what, got)
		}
	}
}

// What a foot does with an engine that no gear holds, and what it cannot do. Uphill, in a gear that slips, the engine of a
// car that grows slower rises for as long as the foot is down.
func TestEngineThatRises(t *testing.T) {
	blank := math.NaN()
	drives := row{s: 3, gear: 3, clutch: gearstate.Locked, load: blank}
	rises := func(s, load float64) row { return row{s: s, clutch: gearstate.Open, load: load, a: -2, up: 700} }
	slips := func(x float64) row { return row{s: 3, gear: 3, clutch: gearstate.Slipping, load: 0.9, slip: x} }
	again := rises(1, blank)
	again.pause = 2
	for _, c := range []struct {
		what string
		rows []row
		want bool
	}{
		{"for two seconds", []row{drives, rises(2, blank), drives}, true},
		{"for two seconds below its gear, as at idle", []row{{s: 3, gear: 2, clutch: gearstate.Locked, load: blank},
			rises(2, blank), drives}, false},
		{"for two seconds by no more than an idle drifts", []row{drives, {s: 2, clutch: gearstate.Open, load: blank, a: -2,
			up: 10}, drives}, false},
		{"for one, as before a lower gear", []row{drives, rises(1, blank), drives}, false},
		{"for two seconds with the foot off", []row{drives, rises(2, 0.1), drives}, false},
		{"for a second before a gap and one behind it", []row{drives, rises(1, blank), again, drives}, false},
		{"as the car sets off", []row{drives, {s: 3, gear: 3, clutch: gearstate.Locked, a: -18, load: 0},
			{s: 8, clutch: gearstate.Open, load: 0.9, a: 6}, drives}, false},
		{"by no more than a gear is known to", []row{drives, slips(0.013), drives}, false},
		{"by more", []row{drives, slips(0.03), drives}, true},
	} {
		if _, _, got := runsFree(recordOf(c.rows...)); got != c.want {
			t.Errorf("%s: runs free %v", c.what, got)
		}
	}
}

// On a slow link two values may be of two revs, and three are of one.
func TestRiseOnASlowLink(t *testing.T) {
	for _, c := range []struct {
		values int
		want   bool
	}{{2, false}, {3, true}} {
		t0 := &gearstate.Track{Model: gearstate.Model{Period: 1.6, Step: 0.1, Idle: 800,
			Gears: []gearstate.Gearing{{Number: 1, K: 46}}}}
		for i := range 12 {
			s := gearstate.State{Gear: 1, Clutch: gearstate.Locked}
			s.T, s.V, s.N, s.Load = 1.6*float64(i), 60, 60*46, math.NaN()
			if up := i - 5; up >= 0 && up < c.values {
				s.Gear, s.Clutch, s.N, s.Excess = 0, gearstate.Open, 3200+600*float64(up), math.NaN()
			}
			t0.Append(s)
		}
		r := detect.Find([]*motion.Record{motion.New(0, t0)}, motion.NewForce(nil, false), detect.Told{})[0]
		if _, _, got := runsFree(r); got != c.want {
			t.Errorf("%d values: runs free %v", c.values, got)
		}
	}
}

// On a slow link a clutch that slips far for three seconds leaves two values, between two of one gear. A change of gear
// ends in another one, who revs while he coasts has the foot off the road, and a stab at the pedal is over by then.
func TestLeavesItsGearAndComesBack(t *testing.T) {
	for _, c := range []struct {
		what      string
		period    float64
		values    int
		load      float64
		gearAfter int
		want      bool
	}{
		{"two values", 1.4, 2, 1, 1, true},
		{"one value", 1.4, 1, 1, 1, false},
		{"two values of a quicker link", 0.7, 2, 1, 1, false},
		{"three of it", 0.7, 3, 1, 1, true},
		{"the foot hardly down", 1.4, 2, 0.3, 1, false},
		{"another gear after", 1.4, 2, 1, 2, false},
		{"from the lowest gear that was learnt", 1.4, 2, 1, 0, false},
	} {
		gears := []gearstate.Gearing{{Number: 4, K: 90}, {Number: 1, K: 46}, {Number: 2, K: 30}}
		if c.gearAfter == 0 {
			gears = gears[1:]
		}
		tr := &gearstate.Track{Model: gearstate.Model{Period: c.period, Step: 0.1, Idle: 800, Gears: gears}}
		for i := range 12 {
			s := gearstate.State{Gear: 1, Clutch: gearstate.Locked}
			s.T, s.V, s.N, s.Load = c.period*float64(i), 60, 60*46, 0.9
			switch out := i - 5; {
			case out >= 0 && out < c.values:
				s.Gear, s.Clutch, s.N, s.Load, s.Excess = 0, gearstate.Open, 4500, c.load, math.NaN()
			case out >= c.values && c.gearAfter == 2:
				s.Gear, s.N = 2, 60*30
			}
			tr.Append(s)
		}
		r := detect.Find([]*motion.Record{motion.New(0, tr)}, motion.NewForce(nil, false), detect.Told{})[0]
		if _, _, got := leftAndBack(r); got != c.want {
			t.Errorf("%s: leaves and comes back %v", c.what, got)
		}
	}
}

// A gear that was entered from a taller one under force, and never driven gently, may be slip of a constant size.
func TestGearDrivenOnlyUnderLoad(t *testing.T) {
	tall, low := row{s: 4, gear: 4, clutch: gearstate.Locked, load: 0.9, a: 4}, row{s: 4, gear: 3,
		clutch: gearstate.Locked, load: 0.9, a: 4}
	gently := func(s float64) row { return row{s: s, gear: 3, clutch: gearstate.Locked, load: 0.2} }
	for _, c := range []struct {
		what string
		rows []row
		want bool
	}{
		{"under load alone", []row{tall, low}, true},
		{"and gently for a moment", []row{tall, low, {s: 2, clutch: gearstate.Open, load: 0.2}, gently(2.5)}, true},
		{"and gently for four seconds", []row{tall, low, {s: 2, clutch: gearstate.Open, load: 0.2}, gently(4)}, false},
		{"entered from a lower one", []row{{s: 4, gear: 2, clutch: gearstate.Locked, load: 0.9, a: 4}, low}, false},
		{"with a break of force", []row{tall, {s: 1, clutch: gearstate.Open, load: 0.1, a: -3}, low}, false},
	} {
		j := empty()
		j.records = []*detect.Record{recordOf(c.rows...)}
		j.cal.Gears = []calibrate.Gear{{Gear: 3}, {Gear: 4}}
		if _, got := j.onlyUnderLoad(); got != c.want {
			t.Errorf("%s: %v", c.what, got)
		}
		j.records[0].Track.Model.Complete = true
		if _, got := j.onlyUnderLoad(); got {
			t.Errorf("%s, in a gear of the vehicle file: %v", c.what, got)
		}
	}
}

// More ratios than gears; a gear off its place in the file. Each is a doubt that is named.
func TestDoubtsAboutTheLadder(t *testing.T) {
	for _, c := range []struct {
		gears int
		off   []int
		want  string
	}{{6, nil, ""}, {9, nil, "9 ratios"}, {6, []int{3}, "gear 3 stands"}} {
		j := empty()
		for g := range c.gears {
			j.cal.Gears = append(j.cal.Gears, calibrate.Gear{Gear: g + 1})
		}
		j.cal.OffFile = c.off
		if reason := reasonOf(j.caveat()); (reason == "") != (c.want == "") || !strings.Contains(reason, c.want) {
			t.Errorf("%d gears, off file %v: %q", c.gears, c.off, reason)
		}
	}
	j := empty()
	r := recordOf(row{s: 3, gear: 3, clutch: gearstate.Locked, load: 0.9})
	r.PullSpread = 5
	j.records = []*detect.Record{r}
	if reason := reasonOf(j.caveat()); !strings.Contains(reason, "do not keep step") {
		t.Errorf("a log that is not understood: %q", reason)
	}
}

// Without a load channel the hardest pulls are full, if the hardest deserves the name: 35 W/kg, or most of what the engine
// gives. Where it took less than that, it is said how much.
func TestHardestPulls(t *testing.T) {
	for _, c := range []struct {
		power, took float64
		want        []bool
		says        string
	}{
		{50, 0, []bool{true, true, false}, "or give a vehicle file"}, {20, 0, []bool{false, false, false}, "or give a vehicle file"},
		{20, 170, []bool{true, true, false}, ""}, {20, 120, []bool{false, false, false}, "120 N m of the 200 N m"},
	} {
		j := empty()
		j.out.Pulls = make([]Pull, 3)
		for _, torque := range []float64{0.0040, 0.0036, 0.0024} {
			j.pulls = append(j.pulls, pullNote{torque: stats.Normal(torque, 0), power: c.power})
		}
		j.records = []*detect.Record{recordOf(row{s: 3, gear: 3, clutch: gearstate.Locked, load: math.NaN()})}
		j.records[0].Track.Model.Load.Channel = ""
		if c.took > 0 {
			j.veh = &vehicle.Vehicle{Engine: vehicle.Engine{PeakTorque: 200}}
			j.out.Pulls[0].PeakTorque = stats.Normal(c.took, 5)
		}
		j.fullByForce()
		if reason := reasonOf(j.untested(0, 0)); !strings.Contains(reason, c.says) {
			t.Errorf("%.0f N m: %q", c.took, reason)
		}
		for i, want := range c.want {
			if got := j.out.Pulls[i].FullLoad; got != want {
				t.Errorf("%.0f W/kg: pull %d full %v", c.power, i, got)
			}
		}
	}
}

// Where several logs were judged, a moment is one of a log that is named.
func TestMomentsOfSeveralLogsNameTheirs(t *testing.T) {
	for _, c := range []struct {
		names []string
		want  string
	}{{[]string{"monday.csv"}, ""}, {[]string{"monday.csv", "friday.csv"}, "at 60 s of friday.csv"}} {
		j := &judge{names: c.names}
		at := len(c.names) - 1
		text := finding.New(finding.GapUnderLoad, j.in(at, finding.Duration("at", 60))...).String()
		if strings.Contains(text, " of friday.csv") != (c.want != "") || !strings.Contains(text, c.want) {
			t.Errorf("%v: %s", c.names, text)
		}
	}
}
