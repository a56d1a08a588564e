package detect

import (
	"math"
	"testing"

	"flywitness/analysis/gearstate"
	"flywitness/internal/numbers"
	"flywitness/vehicle"
)

// watched feeds a hand-made drive to an alarm and returns what it says. known is of a manual car that was driven
// hard before.
func watched(h *handmade, known Known) (alerts []Alert, a *Alarm) {
	m := h.Model
	a = NewAlarm(m, known)
	for i := range h.T {
		s := gearstate.State{Gear: int(h.Gear[i]), Clutch: h.Clutch[i], Excess: h.Excess[i]}
		s.T, s.V, s.N, s.NDot, s.A, s.Load = h.T[i], h.SpeedKmh[i], h.RPM[i], h.RPMRate[i], h.Accel[i], h.Load[i]
		if x, ok := a.Push(s); ok {
			alerts = append(alerts, x)
		}
	}
	return alerts, a
}

func manualCar() Known { return Known{Spread: 1, Told: vehicle.Manual, capacity: 0.004} }

// slides is a pull in third in which the clutch slides by a share for a time.
func slides(share, seconds, period float64) *handmade {
	return at(60, period).drive(leg{s: 6, a: 3, gear: 3, load: 1}, leg{s: seconds, a: 3, gear: 3, load: 1,
		slip: hump(share, 0.3, seconds+1)})
}

// A slip is told while it lasts, and again while the foot stays down: within two seconds, then not for five, but
// within ten.
func TestAlarmTellsAndTellsAgain(t *testing.T) {
	alerts, _ := watched(slides(0.07, 12, 0.05), manualCar())
	if len(alerts) < 2 || len(alerts) > 3 {
		t.Fatalf("%d alarms in 12 s: %v", len(alerts), alerts)
	}
	if first := alerts[0]; first.T < 6.6 || first.T > 8 || first.Gear != 3 || math.Abs(first.SlipPct-7) > 2 {
		t.Errorf("first alarm %+v", first)
	}
	if d := alerts[1].T - alerts[0].T; d < 4.9 || d > 10 {
		t.Errorf("again after %.1f s", d)
	}
}

// Where wheels spun in an earlier log, at one force in second and in fourth, they do it again: 3 km/h/s at 78 km/h are
// (3/3.6 + 0.11 + 0.14)/9.81 = 0.11 of weight. The trials of an earlier log are not those of this one.
func TestAlarmKnowsTheTrialsOfAnEarlierLog(t *testing.T) {
	known := manualCar()
	for range 4 {
		for _, k := range []float64{ladder[1], ladder[3]} {
			x := math.Log(0.11)
			known.trials = append(known.trials, trial{input: earlier, force: x, torque: x - math.Log(k), gave: true})
		}
	}
	if alerts, _ := watched(slides(0.07, 12, 0.05), known); len(alerts) > 0 {
		t.Errorf("alarms %v", alerts)
	}
	r := drives([][2]float64{{1, 0.3}}, nil)[0]
	weighTrials([]*Record{r}, nil)
	if got := r.learnt("").trials; len(got) != 1 || got[0].input != earlier {
		t.Errorf("learnt %+v", got)
	}
}

// A slip of 3 % is told, one below 1.8 % is not.
func TestAlarmOfSmallSlip(t *testing.T) {
	for _, c := range []struct {
		share float64
		want  bool
	}{{0.035, true}, {0.014, false}} {
		if alerts, _ := watched(slides(c.share, 5, 0.05), manualCar()); len(alerts) > 0 != c.want {
			t.Errorf("%.1f %%: alarms %v", 100*c.share, alerts)
		}
	}
}

// No alarm where none can be right: a gearbox that slips by design, one that is not known to be manual, a link
// slower than 0.7 s.
func TestAlarmHeldOff(t *testing.T) {
	for _, c := range []struct {
		what   string
		period float64
		change func(k *Known)
		want   bool
	}{
		{"manual", 0.05, func(*Known) {}, true},
		{"seen to be manual", 0.05, func(k *Known) { k.Told, k.GearboxOdds = "", -4 }, true},
		{"not known", 0.05, func(k *Known) { k.Told, k.GearboxOdds = "", 1 }, false},
		{"automatic", 0.05, func(k *Known) { k.Told = vehicle.Automatic }, false},
		{"a log that wanders", 0.05, func(k *Known) { k.Spread = 5 }, true},
		{"one that wanders as far as that", 0.05, func(k *Known) { k.Spread = 20 }, false},
		{"a value every 0.5 s", 0.5, func(*Known) {}, true},
		{"a value every second", 1, func(*Known) {}, false},
	} {
		k := manualCar()
		c.change(&k)
		if alerts, _ := watched(slides(0.07, 8, c.period), k); len(alerts) > 0 != c.want {
			t.Errorf("%s: alarms %v", c.what, alerts)
		}
	}
}

// The alarm looks often enough: not half a second later than whoever looks at every value.
func TestAlarmIsNotLate(t *testing.T) {
	h := slides(0.07, 5, 0.05)
	alerts, a := watched(h, manualCar())
	if len(alerts) == 0 {
		t.Fatal("no alarm")
	}
	late := 0.0
	for i := range h.T {
		if h.T[i] < 6 {
			continue
		}
		b := &Alarm{known: a.known}
		b.past.Model = h.Model
		for q := range i + 1 {
			b.past.Append(gearstate.State{Observation: gearstate.Observation{T: h.T[q], V: h.SpeedKmh[q], N: h.RPM[q],
				NDot: h.RPMRate[q], A: h.Accel[q], Load: h.Load[q]},
				Gear: int(h.Gear[q]), Clutch: h.Clutch[q], Excess: h.Excess[q]})
		}
		if b.slipping(h.T[i]) != nil {
			late = alerts[0].T - h.T[i]
			break
		}
	}
	if late > 0.3 {
		t.Errorf("%.2f s late", late)
	}
}

// What is over is not told: a slip that ended a moment ago is, one of a second and a half ago is not.
func TestAlarmOfWhatIsOver(t *testing.T) {
	for _, c := range []struct {
		since float64
		want  bool
	}{{0.3, true}, {1.5, false}} {
		h := at(60, 0.05).drive(leg{s: 6, a: 3, gear: 3, load: 1}, leg{s: 3, a: 3, gear: 3, load: 1, slip: hump(0.07, 0.3,
			3)}, leg{s: c.since, a: 3, gear: 3, load: 1})
		a := &Alarm{known: manualCar(), past: h.Track}
		if got := a.slipping(h.now) != nil; got != c.want {
			t.Errorf("%.1f s after a slip: %v", c.since, got)
		}
	}
}

// The alarm does not get slower with the drive: it keeps what it asks for and no more.
func TestAlarmForgets(t *testing.T) {
	numbers.Only(t)
	h := slides(0.07, 70, 0.05)
	h.Model.Step = 1
	_, a := watched(h, manualCar())
	if n := float64(a.past.Len()) * 0.05; n > 25 || n < 8 {
		t.Errorf("%.0f s kept", n)
	}
}

// Control units that repeat their last values do not measure: the same road speed for a second, or the same engine
// speed.
func TestFrozenValues(t *testing.T) {
	r := slides(0.07, 4, 0.05).record()
	d := departure(r, 6, 10)
	if r.frozen(d) {
		t.Error("a slip is frozen")
	}
	n := d.hi
	keep := r.Track.RPM[n-2]
	r.Track.RPM[n-2], r.Track.RPM[n-3] = r.Track.RPM[n-1], r.Track.RPM[n-1]
	if !r.frozen(d) {
		t.Error("engine speed stands still three times")
	}
	r.Track.RPM[n-2] = keep
	for i := n - 25; i < n; i++ {
		r.Track.SpeedKmh[i] = r.Track.SpeedKmh[n-1]
	}
	if !r.frozen(d) {
		t.Error("road speed stands still for a second")
	}
	// on a slow link twice the same engine speed is enough
	r = slides(0.07, 6, 0.4).record()
	d = departure(r, 6, 12)
	if r.frozen(d) {
		t.Error("a slip on a slow link is frozen")
	}
	r.Track.RPM[d.hi-1] = r.Track.RPM[d.hi-2]
	if !r.frozen(d) {
		t.Error("slow: engine speed stands still")
	}
}

// A clutch that was let in and slides at full load for two seconds and more is warned of, whoever made it; a foot
// that is on its way is not, nor is anything else.
func TestAlarmOfAClutchThatIsRuined(t *testing.T) {
	for _, c := range []struct {
		what    string
		seconds float64
		load    float64
		want    bool
	}{{"two and a half seconds at full load", 2.5, 1, true}, {"one second", 1, 1, false},
		{"at half load", 2.5, 0.6, false}} {
		h := at(60, 0.05).drive(leg{s: 6, a: 3, gear: 2, load: 1}, leg{s: 0.6, rpm: 3500, load: 0.1})
		start := h.now
		h.drive(leg{s: c.seconds, a: 3, gear: 3, load: c.load,
			slip: func(u float64) float64 { return 0.08 + 0.03*math.Sin(3*u) }})
		r := h.record()
		d := departure(r, start, start+c.seconds)
		d.Kind, d.Moving = KindEngagement, true
		d.Rivals = []Rival{{KindEngagement, 1}, {KindPedal, 6}}
		if got := r.ruins(d); got != c.want {
			t.Errorf("%s: %v", c.what, got)
		}
		d.Rivals[1].Nats = 1
		if r.ruins(d) {
			t.Errorf("%s, and a foot on the pedal: ruins", c.what)
		}
		d.Kind, d.Rivals = KindPedal, []Rival{{KindPedal, 1}}
		if r.ruins(d) {
			t.Errorf("%s, of a foot on the pedal: ruins", c.what)
		}
	}
}

// What another explanation covers as well is not told: here a foot on the clutch pedal takes the force away.
func TestNoAlarmOfAnotherExplanation(t *testing.T) {
	h := at(60, 0.05).drive(leg{s: 6, a: 6, gear: 3, load: 1},
		leg{s: 2, a: 0.5, gear: 3, load: 1, slip: hump(0.2, 0.3, 3)})
	if alerts, _ := watched(h, manualCar()); len(alerts) > 0 {
		t.Errorf("a foot on the pedal: %v", alerts)
	}
}
