package plan

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/inertia"
	"flywitness/drive"
	"flywitness/internal/numbers"
	"flywitness/sim"
	"flywitness/vehicle"
)

// Source: SciPy's noncentral t distribution (testdata/reference.py).
func TestRunsAndSessionsOfSciPy(t *testing.T) {
	var ref struct {
		Runs []struct {
			Timing, Change float64
			RunToRun       float64 `json:"run_to_run"`
			Runs           int
		}
		Detectable []struct {
			Session, Run, Change float64
			Sessions, Runs       int
		}
	}
	numbers.Read(t, "reference.json", &ref)
	if len(ref.Runs) < 40 || len(ref.Detectable) < 10 {
		t.Fatal(len(ref.Runs), len(ref.Detectable))
	}
	for _, r := range ref.Runs {
		if n, ok := runsNeeded(r.Change, Scatter{r.Timing, r.RunToRun}); !ok || n != r.Runs {
			t.Errorf("%+v: %d runs", r, n)
		}
	}
	for _, d := range ref.Detectable {
		if got := detectable(d.Sessions, d.Runs, Scatter{d.Run, 0}, d.Session); math.Abs(got/d.Change-1) > 1e-6 {
			t.Errorf("%+v: %.9f", d, got)
		}
	}
}

// The normal approximation of one session a side: exp((z.975 + z.8) sqrt(2 (u^2 + s^2/n))) - 1, by hand for u = 2 %,
// s = 1.65 %, n = 6: 2.8016 x 0.029827 -> 8.7 %. A session's spread is taken as told, so hardly any degrees are lost.
func TestOneSessionIsLimitedByItsSpread(t *testing.T) {
	s := Scatter{0.0065, 0.0152}
	got := detectable(1, 6, s, 0.02)
	if want := math.Expm1(2.8016 * math.Sqrt(2*(0.0004+s.total()*s.total()/6))); math.Abs(got/want-1) > 0.03 {
		t.Errorf("%.4f, want about %.4f", got, want)
	}
	if many := detectable(1, 1000, s, 0.04); many < 0.16 || many > 0.175 {
		t.Errorf("no number of runs gets below the session's 4 %%: %.3f", many)
	}
	if m, ok := sessionsNeeded(0.10, 6, s, 0.02); !ok || m != 1 {
		t.Errorf("%d sessions", m)
	}
	if m, ok := sessionsNeeded(0.03, 6, s, 0.04); ok && detectable(m, 6, s, 0.04) > 0.03 {
		t.Errorf("%d sessions do not show 3 %%", m)
	}
	if _, ok := sessionsNeeded(0.001, 6, s, 0.04); ok {
		t.Error("0.1 % is never seen")
	}
}

// What is planned is what happens: the share of simulated pairs of sides in which the t test finds the change.
func TestPowerIsKept(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	s := Scatter{0.032, 0.015}
	n, ok := runsNeeded(0.05, s)
	if !ok {
		t.Fatal("not reachable")
	}
	found, trials := 0, 4000
	for range trials {
		var sum, sq [2]float64
		for side := range 2 {
			for range n {
				x := s.total()*rng.NormFloat64() + float64(side)*math.Log1p(0.05)
				sum[side] += x
				sq[side] += x * x
			}
		}
		m := float64(n)
		v := (sq[0] - sum[0]*sum[0]/m + sq[1] - sum[1]*sum[1]/m) / (2*m - 2)
		if math.Abs(sum[1]-sum[0])/m/math.Sqrt(2*v/m) > quantile(2*n-2) {
			found++
		}
	}
	if p := float64(found) / float64(trials); p < 0.78 || p > 0.86 {
		t.Errorf("power %.3f with %d runs, planned for 0.8", p, n)
	}
}

// quantile is the 97.5 % point of Student's distribution (Fisher's expansion, for 8 degrees of freedom and more).
func quantile(df int) float64 {
	z, v := 1.959964, float64(df)
	return z + (z*z*z+z)/(4*v) + (5*math.Pow(z, 5)+16*z*z*z+3*z)/(96*v*v)
}

func TestTimingScatterOfALine(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	l := Link{"x", 8, 0.02}
	const fall, trials = 2.0, 4000
	n := int(l.RateHz * fall)
	sum := 0.0
	for range trials {
		// Time on a speed that falls evenly from 1 to 0 over n samples; the slope is the fall's duration.
		sxx, sxy := 0.0, 0.0
		for i := range n {
			x := (float64(i)+0.5)/float64(n) - 0.5
			sxx += x * x
			sxy += x * (fall*x + l.TimingSD*rng.NormFloat64())
		}
		sum += math.Pow(sxy/sxx/fall-1, 2)
	}
	if got, want := l.timingScatter(fall), math.Sqrt(sum/trials); math.Abs(got/want-1) > 0.04 {
		t.Errorf("%.5f, simulated %.5f", got, want)
	}
}

func mule(t *testing.T, more string) *vehicle.Vehicle {
	t.Helper()
	v, _, err := vehicle.Parse([]byte("[vehicle]\nmass_kg = 1285\ntyre = \"205/55R16\"\n[engine]\nlimit_rpm = "+
		"6800\n[gearbox]\nratios = [3.42, 1.95, 1.36, 1.03, 0.83]\nfinal_drive = 4.06\n"+more), "x")
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// By hand: 205/55R16 rolls 1.927 m, third gear has 1.36 x 4.06 = 5.5216, so 5.5216/(1.927 x 0.06) = 47.75 rpm
// per km/h; at 100 km/h that is 4775 rpm, above 1.1 x 4080 = 4488. Fourth (36.2 rpm per km/h) reaches only
// 3617.
func TestPullInTheHighestLegalGear(t *testing.T) {
	v := mule(t, "")
	p, why := planPull(v, Road{SpeedLimit: 100 / 3.6})
	if p == nil || p.Gear != 3 || math.Abs(p.ToKmh-100) > 1e-9 || math.Abs(p.ToRPM-4775) > 3 || !p.Assumed {
		t.Fatalf("%+v %s", p, why)
	}
	slow, _ := planPull(v, Road{SpeedLimit: 100 / 3.6, Torque: 120})
	fast, _ := planPull(v, Road{SpeedLimit: 100 / 3.6, Torque: 240})
	if slow == nil || fast == nil || fast.Seconds >= slow.Seconds || fast.RoadM >= slow.RoadM {
		t.Errorf("%+v %+v", slow, fast)
	}
	// Constant force by hand: without drag 240 N m x 5.5216/0.3067 x 0.95 = 4105 N on 1285 x (1.03+0.0025x30.5)
	// = 1422 kg,
	// 2.89 m/s2 at most, from 47 to 100 km/h (14.7 m/s) in 5.1 s at least.
	if fast.Seconds < 5.1 || fast.Seconds > 6.5 {
		t.Errorf("%.2f s", fast.Seconds)
	}
	for limit, want := range map[float64]int{30: 0, 50: 0, 75: 2, 130: 4, 300: 5} {
		p, why := planPull(v, Road{SpeedLimit: limit / 3.6, Torque: 250})
		switch {
		case want == 0 && (p != nil || !strings.Contains(why, "not reachable within this limit")):
			t.Errorf("%g km/h: %+v %s", limit, p, why)
		case want > 0 && (p == nil || p.Gear != want || p.ToKmh > limit+1e-9 || p.ToRPM > 6800):
			t.Errorf("%g km/h: %+v %s, want gear %d", limit, p, why, want)
		}
	}
}

func TestNoPullSaysWhy(t *testing.T) {
	limit := Road{SpeedLimit: 30}
	for want, v := range map[string]*vehicle.Vehicle{
		"without a vehicle file": nil, "only a manual": {Gearbox: vehicle.Gearbox{Type: vehicle.CVT}},
		"tyre, ratios": {Gearbox: vehicle.Gearbox{Type: vehicle.Manual}},
	} {
		if p, why := planPull(v, limit); p != nil || !strings.Contains(why, want) {
			t.Errorf("%v %q, want %q", p, why, want)
		}
	}
	if _, why := planPull(mule(t, ""), Road{}); !strings.Contains(why, "state the limit") {
		t.Error(why)
	}
	if _, why := planPull(mule(t, ""), Road{SpeedLimit: 30, TorquePeak: 6700}); !strings.Contains(why, "no room") {
		t.Error(why)
	}
	if _, why := planPull(mule(t, ""), Road{SpeedLimit: 30, Torque: 5}); !strings.Contains(why, "do not carry") {
		t.Error(why)
	}
	if o := planOverrun(mule(t, ""), 30/3.6); o != nil {
		t.Errorf("%+v within 30 km/h", o)
	}
	for limit, from := range map[float64]float64{6800: 5000, 4500: 3600} { // well below the limiter
		v := mule(t, "")
		v.Engine.LimitRPM = limit
		if o := planOverrun(v, 0); o == nil || o.FromRPM != from || o.ToRPM != 1500 {
			t.Errorf("%+v", o)
		}
	}
}

func TestFindingIsWhole(t *testing.T) {
	f := Make(nil, Question{})
	if f.ChangePct != 10 || len(f.Links) != 3 || len(f.WhyNoPull) == 0 || f.RunsPerSession < 6 || f.RunsPerSession > 12 ||
		f.Sessions == nil {
		t.Errorf("%+v", f)
	}
	// 2.5 samples a second for 1.4 s are 3.5, 8 are 11.2: the slow link leaves too few.
	if f.Links[0].Samples >= FewestSamples || f.Links[1].Samples < FewestSamples {
		t.Errorf("samples %g %g", f.Links[0].Samples, f.Links[1].Samples)
	}
	kept := Make(nil, Question{Checklist: true})
	for i := range f.Links {
		if kept.Links[i].BySessions[0].ChangePct >= f.Links[i].BySessions[0].ChangePct {
			t.Error("the checklist does not help")
		}
	}
	if _, err := json.Marshal(f); err != nil {
		t.Error(err)
	}
	if odd := Make(nil, Question{Change: 0.07}); len(odd.Links[0].Needs) != 5 ||
		odd.Links[0].Needs[0].ChangePct != 7.000000000000001 {
		t.Errorf("%+v", odd.Links[0].Needs)
	}
	if Make(nil, Question{Change: 1e-6}).Links[0].Needs[0].Runs != nil {
		t.Error("a millionth is reachable")
	}
}

// measured is what a log of so many free revs tells of the link and the scatter.
func measured(t *testing.T, revs int) Measured {
	t.Helper()
	car := sim.BenchMule()
	car.DragRunSD = 0.015
	rng := rand.New(rand.NewPCG(5, 6))
	actions := []sim.Action{sim.Idle(8)}
	for range revs {
		actions = append(actions, sim.FreeRev(4300))
	}
	truth := sim.Drive(car, sim.LevelRoad(), append(actions, sim.Idle(5)), rng)
	log := sim.NewLogger(sim.CANMulti).Record(truth, rng)
	logs := []*drive.Log{log}
	cal, _ := calibrate.Learn(logs, car.Vehicle)
	f, _ := inertia.Measure(logs, car.Vehicle, cal, inertia.Options{})
	m, ok := FromLog(f)
	if !ok || m.Runs < revs-2 {
		t.Fatalf("%+v", m)
	}
	return m
}

// A simulated car and recorder with known rate, jitter and scatter are learnt back.
func TestLogTellsItsOwnScatter(t *testing.T) {
	m := measured(t, 14)
	if !m.Own {
		t.Fatalf("%+v", m)
	}
	if m.RateHz < 10 || m.RateHz > 24 || m.TimingSD < 0.003 || m.TimingSD > 0.03 {
		t.Errorf("link %+v", m.Link)
	}
	if m.RunToRun < 0.005 || m.RunToRun > 0.035 {
		t.Errorf("scatter %+v", m.Scatter)
	}
	if _, ok := FromLog(&inertia.Finding{}); ok {
		t.Error("no free revs, no scatter")
	}
}

// Half a dozen free revs show their own scatter, three do not: what is usual stands in, and the finding says so.
func TestFewFreeRevsDoNotShowTheirScatter(t *testing.T) {
	if m := measured(t, 7); !m.Own || m.RunToRun == runToRunSD {
		t.Errorf("seven free revs: %+v", m)
	}
	if m := measured(t, 3); m.Own || m.RunToRun != runToRunSD {
		t.Errorf("three free revs: %+v", m)
	}
}

func BenchmarkMake(b *testing.B) {
	for b.Loop() {
		Make(nil, Question{})
	}
}

// planPull is the pull in the highest gear.
func planPull(v *vehicle.Vehicle, road Road) (*Pull, string) {
	d := On(v, road)
	if len(d.Pulls) == 0 {
		return nil, d.NoPull.String()
	}
	return &d.Pulls[0], d.NoPull.String()
}

// Every lower gear that reaches past the torque peak within the limit is a pull as well; none is faster than
// the limit.
func TestPullsOfLowerGears(t *testing.T) {
	v := mule(t, "")
	last := 99
	d := On(v, Road{SpeedLimit: 130 / 3.6, Torque: 250})
	for _, p := range d.Pulls {
		if p.Gear >= last || p.Gear < lowestGear || p.FromKmh >= p.ToKmh || p.ToKmh > 130+1e-9 || p.RoadM < 50 ||
			p.Seconds < shortestPull ||
			math.Abs(p.ToRPM/v.RPMPerKmh(p.Gear)-p.ToKmh) > 1e-6 {
			t.Errorf("%+v", p)
		}
		last = p.Gear
	}
	if len(d.Pulls) < 2 || len(d.NoPull) > 0 || d.Overrun == nil {
		t.Errorf("%+v", d)
	}
}

// Without facts a pull may be driven all the same; where the road or the gearbox does not allow one it may not.
func TestUntoldIsNotForbidden(t *testing.T) {
	for _, c := range []struct {
		v      *vehicle.Vehicle
		road   Road
		untold bool
	}{
		{nil, Road{SpeedLimit: 30}, true},
		{mule(t, ""), Road{}, true},
		{mule(t, ""), Road{SpeedLimit: 30 / 3.6}, false},
		{&vehicle.Vehicle{Gearbox: vehicle.Gearbox{Type: vehicle.CVT}}, Road{SpeedLimit: 30}, false},
	} {
		if d := On(c.v, c.road); d.Untold != c.untold || len(d.NoPull) == 0 || len(d.Pulls) > 0 {
			t.Errorf("%+v: %+v", c.road, d)
		}
	}
}
