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
	"flywitness/finding"
	"flywitness/vehicle"
)

// empty is a judgement with nothing in it.
func empty() *judge {
	return &judge{cal: &calibrate.Calibration{Period: 0.05}, force: motion.NewForce(nil, false), out: &Finding{}}
}

// Slip begins at the lowest torque of the slips. Where their own errors explain how they lie apart, all of them tell it
// together, but for the error that all share; where they do not, it is the lowest.
func TestSlipBeginsAtATorque(t *testing.T) {
	for _, c := range []struct {
		what             string
		torques          []float64
		own, shared      float64
		want, within, sd float64
	}{
		{"one", []float64{210}, 30, 40, 210, 0, 50},
		{"four that agree", []float64{202, 198, 201, 199}, 40, 10, 188.4, 2, 25}, // 200 less their spread, a tenth or less
		{"two that do not", []float64{300, 200}, 4, 3, 200, 1, 5},
		{"none", nil, 1, 1, 0, 0, 0},
	} {
		j := empty()
		for _, torque := range c.torques {
			e := Event{OnsetTorque: stats.Normal(torque, math.Hypot(c.own, c.shared))}
			e.Kind = detect.KindSlip
			j.out.Events, j.events = append(j.out.Events, e), append(j.events, eventNote{shared: c.shared})
		}
		pedal := Event{OnsetTorque: stats.Normal(50, 1), Kind: detect.KindPedal}
		j.out.Events = append(j.out.Events, pedal, Event{Kind: detect.KindSlip})
		j.events = append(j.events, eventNote{}, eventNote{})
		j.summary()
		got := j.out.OnsetTorque
		if (got == nil) != (c.torques == nil) {
			t.Errorf("%s: slip begins at %v", c.what, got)
		}
		if got != nil && (math.Abs(got.Value-c.want) > c.within+1e-9 || math.Abs(got.SD-c.sd) > 0.05*c.sd) {
			t.Errorf("%s: slip begins at %.2f ± %.2f N m, want %g ± %g", c.what, got.Value, got.SD, c.want, c.sd)
		}
	}
}

// A pull is hot after two others within five minutes, in one log.
func TestHotPulls(t *testing.T) {
	for _, c := range []struct {
		starts []float64
		want   bool
	}{{[]float64{0, 100, 200}, true}, {[]float64{100, 200}, false}, {[]float64{0, 100, 200, 900}, false}, {[]float64{0,
		400, 500}, false}, {[]float64{200, 0, 100}, true}} {
		if got := lastHot(map[int][]float64{0: c.starts}); got != c.want {
			t.Errorf("pulls at %v s: hot %v", c.starts, got)
		}
	}
}

// An engine gives the most of its torque from a third to two thirds of the speed that it may turn to, 6600 rpm here: a
// clutch that held up to 3500 rpm was not shown to hold that, and it is said how far it was tried.
func TestHowFarAnEngineWasTurned(t *testing.T) {
	for _, c := range []struct {
		top  float64
		said bool
	}{{3500, true}, {5000, false}} {
		j := empty()
		j.veh = &vehicle.Vehicle{Engine: vehicle.Engine{LimitRPM: 6600}}
		pct, seconds := 2.0, 3.0
		j.out.SmallestDetectable, j.out.SmallestSeconds = &pct, &seconds
		j.out.Pulls, j.pulls = []Pull{{Verdict: Holds, FullLoad: true}}, []pullNote{{top: c.top}}
		said := finding.Say(j.held()).String()
		if strings.Contains(said, "up to 3500 rpm") != c.said || strings.Contains(said, "up to 5000 rpm") {
			t.Errorf("turned to %.0f rpm: %q", c.top, said)
		}
	}
}

// One pull may have been a lucky one: two that held call for more, four do not.
func TestFewPullsThatHeldAskForMore(t *testing.T) {
	for _, c := range []struct {
		pulls int
		asks  bool
	}{{2, true}, {4, false}} {
		j := empty()
		pct, seconds := 2.0, 3.0
		j.out.SmallestDetectable, j.out.SmallestSeconds = &pct, &seconds
		for range c.pulls {
			j.out.Pulls = append(j.out.Pulls, Pull{Verdict: Holds, FullLoad: true})
			j.pulls = append(j.pulls, pullNote{top: 5000})
		}
		j.holding()
		asks := len(j.out.WhatToDrive) == 1 && j.out.WhatToDrive[0].Has(finding.ThreePulls)
		if j.out.Verdict != Holds || asks != c.asks {
			t.Errorf("%d pulls: %s, to drive %v", c.pulls, j.out.Verdict, j.out.WhatToDrive)
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
		if j.judgePull(&p, "", 0, 0); p.Verdict != c.want || len(p.Reason) == 0 {
			t.Errorf("%.1f %% on a link of %.2f s: %s (%s)", c.pct, c.period, p.Verdict, p.Reason)
		}
	}
	j := empty()
	p := Pull{}
	if j.judgePull(&p, finding.PullTooShortToSee, 0, 0); p.Verdict != Inconclusive || p.Reason.String() != "too short" {
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
		if got := j.tooSlow() != nil; got != c.want {
			t.Errorf("a value every %.1f s: too slow %v", c.period, got)
		}
	}
}

// Why pulls prove nothing, each with its own words.
func TestUntestedReasons(t *testing.T) {
	pct, seconds, light := 7.0, 6.0, 2.0
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
		{"never full", 2, 0, 0, known, &pct, 0.05, "no pull was held at full load above 1500 rpm"},
		{"too coarse", 2, 2, 0, known, &pct, 0.05, "one below 4 % could not"},
		{"a slow link", 2, 2, 0, known, &pct, 1, "a value every 1.0 s one below 7 % lasting 6 s"},
		{"no stretch steady", 2, 2, 0, known, nil, 0.05, "no pull was long and steady"},
		{"tested", 2, 2, 2, known, &pct, 0.05, ""},
	} {
		j := empty()
		j.cal.Period = c.period
		j.records = []*detect.Record{c.r}
		j.odds = detect.GearboxOdds(j.records)
		j.out.Pulls = make([]Pull, c.pulls)
		for i := range j.out.Pulls[min(1, c.pulls):] { // the first is a light pull that showed more
			p := &j.out.Pulls[i+1]
			p.SmallestDetectable, p.SmallestSeconds, p.FullLoad = c.smallest, &seconds, true
		}
		if c.pulls > 0 {
			j.out.Pulls[0].SmallestDetectable, j.out.Pulls[0].SmallestSeconds = &light, &seconds
		}
		got := reasonOf(j.untested(c.tried, c.full))
		if (got == "") != (c.want == "") || !strings.Contains(got, c.want) {
			t.Errorf("%s: %q", c.what, got)
		}
	}
}

// Torque held: the mean of the full pulls of a gear, not the greatest; without a full one the greatest stands.
func TestTorqueHeldIsAMean(t *testing.T) {
	j := empty()
	j.force = &motion.Force{Mass: 1000, MassSD: 20, Vehicle: &vehicle.Vehicle{}}
	j.cal.Gears = []calibrate.Gear{{Gear: 3}, {Gear: 4}}
	j.out.Pulls = []Pull{{Gear: 3, HeldTorque: stats.Normal(200, 10)}, {Gear: 3, HeldTorque: stats.Normal(220, 10)},
		{Gear: 4, HeldTorque: stats.Normal(150, 5)}, {Gear: 4}}
	for i := range j.out.Pulls {
		j.out.Pulls[i].FullLoad = true
	}
	if got := j.heldTorque(); math.Abs(got.Value-210) > 1e-9 {
		t.Errorf("%.1f N m of pulls of 200 and 220", got.Value)
	}
	for i := range j.out.Pulls {
		j.out.Pulls[i].FullLoad = false
	}
	if got := j.heldTorque(); got.Value != 220 {
		t.Errorf("%.1f N m, no pull was full", got.Value)
	}
	j.out.Pulls = j.out.Pulls[3:]
	if j.heldTorque() != nil {
		t.Error("a torque of no pull")
	}
}

// twoGears are second and third of a log.
func twoGears() []calibrate.Gear {
	return []calibrate.Gear{{Gear: 2, RPMPerKmh: stats.Normal(70, 0.1)}, {Gear: 3, RPMPerKmh: stats.Normal(47.5, 0.1)}}
}

// What the log shows of the gearbox decides where nobody told its kind: 2.2 nats and more are not judged, -3 and
// less are manual, of which a sure slip brings 2.8, and 1.4 on a slow link.
func TestGearboxToldShownOrNot(t *testing.T) {
	lag := stats.Normal(0.2, 0.01)
	shift := func(n int, force float64) *detect.Record {
		var rows []row
		for range n {
			rows = append(rows, row{s: 3, gear: 2, clutch: gearstate.Locked, load: 0.9, a: 8}, row{s: 0.8,
				clutch: gearstate.Open, load: 0.9, a: force},
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
		{"force broken once, beside a sure slip", shift(1, -4), "", true, true},
		{"force never broken", shift(4, 8), "", false, false},
		{"force never broken, told", shift(4, 8), vehicle.Manual, true, true},
		{"nothing seen", recordOf(row{s: 5, gear: 3, clutch: gearstate.Locked, load: 0.9}), "", false, true},
		{"told to be automatic", shift(2, -4), vehicle.Automatic, true, false},
	} {
		j := empty()
		j.opt.Gearbox = c.told
		j.records = []*detect.Record{c.r}
		j.odds = detect.GearboxOdds(j.records)
		j.cal.Gears, j.cal.SpeedLag = twoGears(), lag
		if got := j.isManual(); got != c.manual {
			t.Errorf("%s: manual %v (%.1f nats)", c.what, got, j.odds)
		}
		if reason := j.notJudged(); (reason == nil) != c.judged {
			t.Errorf("%s: %q", c.what, reason)
		}
	}
}

// A gearbox that slips by design is taken for a weak clutch more often on a slow link: a slip tells less of it there.
func TestSlipTellsLessOfTheGearboxOnASlowLink(t *testing.T) {
	for period, manual := range map[float64]bool{0.1: true, 1: false} {
		j := empty()
		j.odds, j.cal.Period, j.cal.Gears = -1, period, twoGears()
		if got := j.isManual(); got != manual {
			t.Errorf("a value every %g s: manual %v", period, got)
		}
	}
}

// The engine's own torque must differ by a tenth before that is said.
func TestTorqueChannelApart(t *testing.T) {
	for _, c := range []struct {
		engine float64
		want   bool
	}{{207, false}, {240, true}, {170, true}} {
		l := &drive.Log{Channels: []*drive.Channel{{Name: drive.EngineTorque, T: []float64{1, 2}, V: []float64{100, 100}},
			{Name: drive.ReferenceTorque, T: []float64{0}, V: []float64{c.engine}}}}
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
