package slip

import (
	"math"
	"strings"
	"testing"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/detect"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/vehicle"
)

// empty is a judgement with nothing in it.
func empty() *judge {
	return &judge{cal: &calibrate.Calibration{Period: 0.05}, force: motion.NewForce(nil, false), out: &Finding{}}
}

// slid is a slip of 3 s that began at a time with a torque (N m; 0: not known).
func slid(gear int, at, torque float64) Event {
	e := Event{Start: at, End: at + 3, Gear: gear, Kind: detect.KindSlip, PeakSlip: 10}
	if torque > 0 {
		e.OnsetTorque = stats.Normal(torque, 5)
	}
	return e
}

// The torque at which a clutch lets go falls as it gets hot: over four slips, by more than chance and by more than a twentieth.
func TestOnsetThatFallsWithHeat(t *testing.T) {
	for _, c := range []struct {
		what    string
		torques []float64
		want    bool
	}{
		{"210 to 180", []float64{210, 199, 191, 180}, true},
		{"210 to 190", []float64{210, 204, 196, 190}, true}, // a tenth
		{"210 to 205", []float64{210, 208, 207, 205}, false},
		{"three slips", []float64{210, 195, 180}, false},
		{"five slips, a straight line", []float64{210, 200, 190, 180, 170}, true},
		{"up", []float64{180, 190, 200, 210}, false},
		// by hand: slope -4, mean square left gives r^2 = 0.25, t = 1.0 of three degrees of freedom: one in five by chance
		{"up and down", []float64{200, 170, 205, 165, 190}, false},
		// t = 2.11 of two degrees of freedom: 0.085
		{"one in twelve by chance", []float64{210, 180, 190, 170}, false},
	} {
		var events []Event
		for i, x := range c.torques {
			events = append(events, slid(4, float64(100*i), x))
		}
		if falling(events) != c.want {
			t.Errorf("%s: falling %v", c.what, !c.want)
		}
	}
}

// The patterns by what they rest on.
func TestPatterns(t *testing.T) {
	shift := func(end float64) Engagement { return Engagement{Start: end - 0.6, End: end, Kind: "upshift", Gear: 3} }
	long := Pull{Start: 200, End: 208, Verdict: Holds}
	for _, c := range []struct {
		what        string
		events      []Event
		engagements []Engagement
		pulls       []Pull
		rating      float64
		want        string
	}{
		{"twice, near its torque", []Event{slid(3, 100, 200), slid(4, 300, 205)}, nil, []Pull{{PeakTorque: stats.Normal(220, 5)}}, 0, AboveTorque},
		{"once", []Event{slid(3, 100, 200)}, nil, nil, 0, ""},
		{"after changes of gear alone", []Event{slid(3, 102, 200), slid(3, 302, 200)}, []Engagement{shift(100), shift(300)}, []Pull{long}, 0, AfterShifts},
		{"five seconds after changes of gear", []Event{slid(3, 105, 200), slid(3, 305, 200)}, []Engagement{shift(100), shift(300)}, []Pull{long}, 0, AboveTorque},
		{"after changes of gear, no long pull held", []Event{slid(3, 102, 200), slid(3, 302, 200)}, []Engagement{shift(100), shift(300)}, nil, 0, AboveTorque},
		{"after changes of gear, ten seconds held", []Event{slid(3, 102, 200), slid(3, 302, 200)}, []Engagement{shift(100), shift(300)},
			[]Pull{{Start: 200, End: 210, Verdict: Holds}}, 0, AfterShifts},
		{"low in two gears", []Event{slid(3, 100, 100), slid(4, 300, 110)}, nil, []Pull{{PeakTorque: stats.Normal(220, 5)}}, 0, Everywhere},
		{"low in one gear", []Event{slid(4, 100, 100), slid(4, 300, 110)}, nil, []Pull{{PeakTorque: stats.Normal(220, 5)}}, 0, AboveTorque},
		{"far below the rating", []Event{slid(3, 100, 100), slid(4, 300, 110)}, nil, nil, 250, Everywhere},
		{"hotter each time", []Event{slid(4, 100, 210), slid(4, 200, 199), slid(4, 300, 191), slid(4, 400, 180)}, nil, []Pull{{PeakTorque: stats.Normal(220, 5)}}, 0, WithHeat},
	} {
		j := empty()
		j.out.Events, j.out.Engagements, j.out.Pulls = c.events, c.engagements, c.pulls
		if c.rating > 0 {
			j.veh = &vehicle.Vehicle{Clutch: &vehicle.Clutch{TorqueRating: c.rating}}
		}
		j.pattern()
		if j.out.Pattern != c.want || (c.want == "") != (len(j.out.LikelyCauses) == 0) {
			t.Errorf("%s: %q, causes %v", c.what, j.out.Pattern, j.out.LikelyCauses)
		}
	}
}

// A pull is hot after two others within five minutes, in one log.
func TestHotPulls(t *testing.T) {
	for _, c := range []struct {
		starts []float64
		want   bool
	}{{[]float64{0, 100, 200}, true}, {[]float64{100, 200}, false}, {[]float64{0, 100, 200, 900}, false}, {[]float64{0, 400, 500}, false}, {[]float64{200, 0, 100}, true}} {
		if got := lastHot(map[int][]float64{0: c.starts}); got != c.want {
			t.Errorf("pulls at %v s: hot %v", c.starts, got)
		}
	}
}

// Bedding-in takes 500 km where nobody says otherwise.
func TestUsualBeddingIn(t *testing.T) {
	for _, c := range []struct {
		km, told float64
		want     bool
	}{{400, 0, true}, {700, 0, false}, {700, 1000, true}, {300, 200, false}} {
		o := Options{KmSinceFitted: &c.km}
		if c.told > 0 {
			o.BedInKm = &c.told
		}
		if o.beddingIn() != c.want {
			t.Errorf("%.0f km of %.0f: bedding in %v", c.km, c.told, !c.want)
		}
	}
	if (Options{}).beddingIn() {
		t.Error("a clutch of unknown age is bedding in")
	}
}

// What is left over and by what it is named: each kind, long enough and suspect.
func TestWhatIsLeftOver(t *testing.T) {
	for kind, x := range alternatives {
		j := empty()
		j.out.Events = []Event{{Start: 100, End: 102, Gear: 3, Kind: kind, PeakSlip: 12}}
		j.suspect = []bool{true}
		reason, next := j.leftOver()
		if !strings.Contains(reason, x.what) || next != x.next || !strings.Contains(reason, "seen once") {
			t.Errorf("%s: %q, %q", kind, reason, next)
		}
		j.suspect[0] = false
		if reason, _ = j.leftOver(); reason != "" {
			t.Errorf("%s that is explained: %q", kind, reason)
		}
	}
	for _, c := range []struct {
		n    int
		last float64 // s
		want string
	}{{2, 0.7, ""}, {4, 0.7, "less than a second 4 times"}, {1, 1.5, "seen once"}} {
		j := empty()
		for i := range c.n {
			j.out.Events = append(j.out.Events, Event{Start: float64(100 * i), End: float64(100*i) + c.last, Gear: 3, Kind: detect.KindPedal})
			j.suspect = append(j.suspect, true)
		}
		if reason, _ := j.leftOver(); (reason == "") != (c.want == "") || !strings.Contains(reason, c.want) {
			t.Errorf("%d of %.1f s: %q", c.n, c.last, reason)
		}
	}
}

// Which departures may be slip after all.
func TestSuspectDepartures(t *testing.T) {
	of := func(kind string, gear int, seconds float64, moving bool) *detect.Departure {
		d := &detect.Departure{Moving: moving}
		d.Kind, d.Gear, d.End = kind, gear, seconds
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
		{"in second", of(detect.KindWheelspin, 2, 3, true), false},
		{"for one second in third", of(detect.KindWheelspin, 3, 1, true), false},
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

// recordOf is a track of one row each: seconds, gear, clutch, load, km/h/s, at 20 values a second from 60 km/h on.
type row struct {
	s, load, a float64
	gear       int
	clutch     gearstate.Clutch
}

func recordOf(rows ...row) *detect.Record {
	t := &gearstate.Track{Model: gearstate.Model{Period: 0.05, Step: 0.1, Idle: 800, Load: gearstate.LoadScale{Channel: "load", Full: 1}}}
	ladder := []float64{120, 70, 46, 34}
	for i, k := range ladder {
		t.Model.Gears = append(t.Model.Gears, gearstate.Gearing{Number: i + 1, K: k})
	}
	now, v := 0.0, 60.0
	for _, x := range rows {
		for range int(math.Round(20 * x.s)) {
			s := gearstate.State{Gear: x.gear, Clutch: x.clutch, Excess: math.NaN()}
			s.T, s.V, s.A, s.Load, s.N = now, v, x.a, x.load, 3000
			if x.gear > 0 {
				s.N, s.Excess = v*ladder[x.gear-1], 0
			}
			t.Append(s)
			now, v = now+0.05, v+0.05*x.a
		}
	}
	return detect.Find([]*motion.Record{motion.New(0, t)}, motion.NewForce(nil, false))[0]
}

// An engine that is kept under load with no gear that fits, for longer than a change of gear without a lift takes.
func TestEngineThatRunsFree(t *testing.T) {
	for _, c := range []struct {
		what    string
		s, load float64
		want    bool
	}{{"three seconds", 3, 0.9, true}, {"a second and a half", 1.5, 0.9, false}, {"three seconds with the foot off", 3, 0.1, false}} {
		r := recordOf(row{s: 3, gear: 3, clutch: gearstate.Locked, load: 0.9}, row{s: c.s, clutch: gearstate.Open, load: c.load}, row{s: 3, gear: 3, clutch: gearstate.Locked, load: 0.9})
		if _, _, got := runsFree(r); got != c.want {
			t.Errorf("%s: runs free %v", c.what, got)
		}
	}
}

// A gear that was entered from a taller one under force, and never driven gently, may be slip of a constant size.
func TestGearDrivenOnlyUnderLoad(t *testing.T) {
	tall, low := row{s: 4, gear: 4, clutch: gearstate.Locked, load: 0.9, a: 4}, row{s: 4, gear: 3, clutch: gearstate.Locked, load: 0.9, a: 4}
	gently := func(s float64) row { return row{s: s, gear: 3, clutch: gearstate.Locked, load: 0.2} }
	for _, c := range []struct {
		what string
		rows []row
		want bool
	}{
		{"under load alone", []row{tall, low}, true},
		{"and gently for a moment", []row{tall, low, {s: 2, clutch: gearstate.Open, load: 0.2}, gently(2.5)}, true},
		{"and gently for five seconds", []row{tall, low, {s: 2, clutch: gearstate.Open, load: 0.2}, gently(5)}, false},
		{"entered from a lower one", []row{{s: 4, gear: 2, clutch: gearstate.Locked, load: 0.9, a: 4}, low}, false},
		{"with a break of force", []row{tall, {s: 1, clutch: gearstate.Open, load: 0.1, a: -3}, low}, false},
	} {
		j := empty()
		j.records = []*detect.Record{recordOf(c.rows...)}
		j.cal.Gears = []calibrate.Gear{{Gear: 3}, {Gear: 4}}
		if _, got := j.onlyUnderLoad(); got != c.want {
			t.Errorf("%s: %v", c.what, got)
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
		reason, next := j.caveat()
		if (reason == "") != (c.want == "") || !strings.Contains(reason, c.want) || (reason != "") != (next != "") {
			t.Errorf("%d gears, off file %v: %q", c.gears, c.off, reason)
		}
	}
	j := empty()
	r := recordOf(row{s: 3, gear: 3, clutch: gearstate.Locked, load: 0.9})
	r.Spread = 5
	j.records = []*detect.Record{r}
	if reason, _ := j.caveat(); !strings.Contains(reason, "do not keep step") {
		t.Errorf("a log that is not understood: %q", reason)
	}
}

// Without a load channel the hardest pulls are full, if the hardest deserves the name: 35 W/kg.
func TestHardestPulls(t *testing.T) {
	for _, c := range []struct {
		power float64
		want  []bool
	}{{50, []bool{true, true, false}}, {20, []bool{false, false, false}}} {
		j := empty()
		j.out.Pulls = make([]Pull, 3)
		j.full = make([]bool, 3)
		j.asked = []demand{{0.0040, c.power}, {0.0036, c.power}, {0.0024, c.power}}
		j.fullByForce()
		for i, want := range c.want {
			if j.full[i] != want {
				t.Errorf("%.0f W/kg: pull %d full %v", c.power, i, j.full[i])
			}
		}
	}
}

// The same event seen from the stretch on either side of a lapse counts once.
func TestEventIsCountedOnce(t *testing.T) {
	j := empty()
	d := &detect.Departure{}
	d.Start, d.End = 100, 103
	if j.seen(d) {
		t.Error("the first event was seen before")
	}
	j.out.Events = []Event{{Start: 100, End: 103}}
	if !j.seen(d) {
		t.Error("an event counts twice")
	}
	d.Start = 110
	if j.seen(d) {
		t.Error("another event was seen before")
	}
}

// A pull holds where 4 % would have shown, on a slow link 5.5 %.
func TestWhatAPullMustShow(t *testing.T) {
	for _, c := range []struct {
		period, pct float64
		want        Verdict
	}{{0.05, 3.5, Holds}, {0.05, 5, Inconclusive}, {0.4, 5, Inconclusive}, {1, 5, Holds}, {1, 7, Inconclusive}} {
		j := empty()
		j.cal.Period = c.period
		seconds := 3.0
		p := Pull{SmallestDetectable: &c.pct, SmallestSeconds: &seconds}
		if j.judgePull(&p, "", 0, 0); p.Verdict != c.want || p.Reason == "" {
			t.Errorf("%.1f %% on a link of %.2f s: %s (%s)", c.pct, c.period, p.Verdict, p.Reason)
		}
	}
	j := empty()
	p := Pull{}
	if j.judgePull(&p, "too short", 0, 0); p.Verdict != Inconclusive || p.Reason != "too short" {
		t.Errorf("a short pull: %s (%s)", p.Verdict, p.Reason)
	}
	if j.judgePull(&p, "", 0, 1); p.Verdict != Inconclusive {
		t.Errorf("a pull in which something moved: %s", p.Verdict)
	}
	if j.judgePull(&p, "", 1, 0); p.Verdict != Slips {
		t.Errorf("a pull with slip: %s", p.Verdict)
	}
}

// Slower than a value every two seconds no clutch is said to hold; 1.5 s may do.
func TestLinkThatIsTooSlow(t *testing.T) {
	for _, c := range []struct {
		period float64
		want   bool
	}{{1.5, false}, {3, true}} {
		j := empty()
		j.cal.Period = c.period
		if got := j.tooSlow() != ""; got != c.want {
			t.Errorf("a value every %.1f s: too slow %v", c.period, got)
		}
	}
}

// Why pulls prove nothing, each with its own words.
func TestUntestedReasons(t *testing.T) {
	pct, seconds := 7.0, 6.0
	known := recordOf(row{s: 1, gear: 3, clutch: gearstate.Locked})
	unknown := recordOf(row{s: 1, gear: 3, clutch: gearstate.Locked})
	unknown.Track.Model.Load.Channel = ""
	for _, c := range []struct {
		what        string
		pulls       int
		tried, full int
		r           *detect.Record
		smallest    *float64
		period      float64
		want        string
	}{
		{"no pull", 0, 0, 0, known, nil, 0.05, "never asked for much"},
		{"no load, no hard pull", 2, 0, 0, unknown, &pct, 0.05, "neither throttle nor load"},
		{"never full", 2, 0, 0, known, &pct, 0.05, "never at full load above 2000 rpm"},
		{"too coarse", 2, 2, 0, known, &pct, 0.05, "one below 4 % could not"},
		{"a slow link", 2, 2, 0, known, &pct, 1, "a value every 1.0 s one below 7 % lasting 6 s"},
		{"no stretch steady", 2, 2, 0, known, nil, 0.05, "no pull was long and steady"},
		{"tested", 2, 2, 2, known, &pct, 0.05, ""},
	} {
		j := empty()
		j.cal.Period = c.period
		j.records = []*detect.Record{c.r}
		j.out.Pulls = make([]Pull, c.pulls)
		j.out.SmallestDetectable, j.out.SmallestSeconds = c.smallest, &seconds
		got := j.untested(c.tried, c.full)
		if (got == "") != (c.want == "") || !strings.Contains(got, c.want) {
			t.Errorf("%s: %q", c.what, got)
		}
	}
}

// Torque held: the mean of the full pulls of a gear, not the greatest; without a full one the greatest stands.
func TestTorqueHeldIsAMean(t *testing.T) {
	j := empty()
	j.force = &motion.Force{Mass: 1000, MassSD: 20}
	j.cal.Gears = []calibrate.Gear{{Gear: 3}, {Gear: 4}}
	j.out.Pulls = []Pull{{Gear: 3, HeldTorque: stats.Normal(200, 10)}, {Gear: 3, HeldTorque: stats.Normal(220, 10)}, {Gear: 4, HeldTorque: stats.Normal(150, 5)}, {Gear: 4}}
	j.full = []bool{true, true, true, true}
	if got := j.heldTorque(); math.Abs(got.Value-210) > 1e-9 {
		t.Errorf("%.1f N m of pulls of 200 and 220", got.Value)
	}
	j.full = []bool{false, false, false, false}
	if got := j.heldTorque(); got.Value != 220 {
		t.Errorf("%.1f N m, no pull was full", got.Value)
	}
	j.out.Pulls = j.out.Pulls[3:]
	if j.heldTorque() != nil {
		t.Error("a torque of no pull")
	}
}

// What the log shows of the gearbox decides where nobody told its kind: 2.2 nats and more are not judged, -3 and less are manual.
func TestGearboxToldShownOrNot(t *testing.T) {
	lag := stats.Normal(0.2, 0.01)
	shift := func(n int, force float64) *detect.Record {
		var rows []row
		for range n {
			rows = append(rows, row{s: 3, gear: 2, clutch: gearstate.Locked, load: 0.9, a: 8}, row{s: 0.8, clutch: gearstate.Open, load: 0.9, a: force},
				row{s: 3, gear: 3, clutch: gearstate.Locked, load: 0.9, a: 7}, row{s: 5, clutch: gearstate.Open, load: 0, a: -9})
		}
		return recordOf(rows...)
	}
	for _, c := range []struct {
		what           string
		r              *detect.Record
		told           vehicle.GearboxType
		manual, judged bool
	}{
		{"force broken twice", shift(2, -4), "", true, true},
		{"force never broken", shift(4, 8), "", false, false},
		{"force never broken, told", shift(4, 8), vehicle.Manual, true, true},
		{"nothing seen", recordOf(row{s: 5, gear: 3, clutch: gearstate.Locked, load: 0.9}), "", false, true},
		{"told to be automatic", shift(2, -4), vehicle.Automatic, true, false},
	} {
		j := empty()
		j.opt.Gearbox = c.told
		j.records = []*detect.Record{c.r}
		j.cal.Gears, j.cal.SpeedLag = []calibrate.Gear{{Gear: 2}, {Gear: 3}}, lag
		if got := j.isManual(); got != c.manual {
			t.Errorf("%s: manual %v (%.1f nats)", c.what, got, detect.GearboxOdds(j.records))
		}
		if reason := j.notJudged(); (reason == "") != c.judged {
			t.Errorf("%s: %q", c.what, reason)
		}
	}
}

// The engine's own torque must differ by a tenth before that is said.
func TestTorqueChannelApart(t *testing.T) {
	for _, c := range []struct {
		engine float64
		want   bool
	}{{207, false}, {240, true}, {170, true}} {
		l := &drive.Log{Channels: []*drive.Channel{{Name: drive.EngineTorque, T: []float64{1, 2}, V: []float64{100, 100}}, {Name: drive.ReferenceTorque, T: []float64{0}, V: []float64{c.engine}}}}
		j := empty()
		for range 3 {
			j.out.Pulls = append(j.out.Pulls, Pull{Start: 0, End: 3, Verdict: Holds, PeakTorque: stats.Normal(200, 5)})
		}
		j.checkTorqueChannel([]*drive.Log{l})
		if got := len(j.warnings) > 0; got != c.want {
			t.Errorf("%.0f N m against 200: said %v", c.engine, got)
		}
	}
}
