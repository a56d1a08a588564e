package guide_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"flywitness/analysis/plan"
	"flywitness/capture"
	"flywitness/capture/adapter"
	"flywitness/capture/emulator"
	"flywitness/cmd/logger/guide"
	"flywitness/cmd/logger/live"
	"flywitness/drive"
	"flywitness/sim"
)

var start = time.Date(2026, 5, 9, 10, 15, 0, 0, time.UTC)

// nowhere is a sink that keeps nothing; the book does.
type nowhere struct{}

func (nowhere) Index(string) int                     { return 0 }
func (nowhere) WriteRow(float64, []drive.Cell) error { return nil }
func (nowhere) WriteNote(float64, string) error      { return nil }

// guided records a scripted drive through the emulator under a guide and returns what the guide said.
func guided(t *testing.T, linkName string, car sim.Car, script []sim.Action, answers guide.Answers, needs plan.Session) (said []string, done bool) {
	t.Helper()
	link, err := emulator.LinkByName(linkName)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(4, 4))
	tr := sim.Drive(car, sim.HillyRoad(rng, 0.004, 300), script, rng)
	dev := emulator.New(emulator.FromDrive(tr, sim.NewLogger(sim.CANMulti), false), link, rng)
	b := emulator.NewBench(dev, start, rng)
	a := adapter.New(b.Open, b, adapter.Options{})
	if err := a.Connect(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := a.FindCar(t.Context()); err != nil {
		t.Fatal(err)
	}
	book := live.NewSampleBuffer()
	veh := car.Vehicle
	judge := &live.Judge{Vehicle: veh}
	judge.Inertia.FootOnClutch = answers.FootOnClutch()
	g := guide.New(book, needs, answers, plan.On(veh, plan.Road{SpeedLimit: 130 / 3.6}), func(m guide.Message) { said = append(said, m.String()) })
	watch := live.NewWatcher(judge, book)
	watch.Alarm = func(at float64, _ live.State) { g.Slipped(at) }
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	learnt, look := false, 0.0
	_, err = capture.Record(ctx, capture.Config{
		Adapter: a, Clock: b, Sink: nowhere{}, Created: start, For: time.Duration(tr.Duration()) * time.Second, Plan: g.Plan,
		Watch: func(s capture.Sample) { book.Add(s); watch.Push(s) },
		Tick: func(s capture.Status) {
			if !learnt && s.Elapsed > 200*time.Second {
				watch.Relearn()
				learnt = watch.Learnt()
			}
			g.Tick(s.Elapsed.Seconds())
			if s.Elapsed.Seconds() >= look {
				look = s.Elapsed.Seconds() + 20
				g.Judged(s.Elapsed.Seconds(), judge.Runs(book.Log(0)))
			}
			if g.Done() {
				stop()
			}
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	return said, g.Done()
}

func count(said []string, part string) int {
	n := 0
	for _, s := range said {
		if strings.Contains(s, part) {
			n++
		}
	}
	return n
}

// quick is what a short drive can give.
func quick() plan.Session {
	n := plan.Usual()
	n.FreeRevs, n.InARow, n.RestS, n.CoolingS, n.InGear, n.Coasts = 4, 3, 20, 30, 2, 2
	return n
}

func runs(pulls int) []sim.Action {
	plan := []sim.Action{sim.Idle(30), sim.FreeRev(2300), sim.Idle(8)}
	for i := 0; i < 6; i++ {
		plan = append(plan, sim.FreeRev(4100), sim.Idle(12))
	}
	plan = append(plan, sim.Idle(20), sim.FreeRev(4100), sim.Idle(10), sim.FreeRev(4100), sim.Idle(10), sim.Accelerate(60), sim.Cruise(70, 20))
	for i := 0; i < pulls; i++ {
		for _, gear := range []int{3, 4} {
			plan = append(plan, sim.Pull(gear, 1900, 5200), sim.Overrun(gear, 5000, 1700), sim.Cruise(50, 12))
		}
	}
	for i := 0; i < 2; i++ {
		plan = append(plan, sim.Pull(3, 1900, 5200), sim.Overrun(3, 5000, 1500), sim.Accelerate(75), sim.Coast(70, 22))
	}
	return append(plan, sim.Stop(), sim.Idle(20))
}

// The whole guided recording through the emulator, on a healthy car: everything is asked for, a poor run is refused with a reason, and
// nothing says that the clutch slips.
func TestGuidedRecording(t *testing.T) {
	t.Parallel()
	for _, link := range []string{"can"} {
		said, done := guided(t, link, sim.BenchMule(), runs(4), guide.Answers{"foot_on_clutch": "no"}, quick())
		all := strings.Join(said, "\n")
		if !done {
			t.Errorf("%s: not finished:\n%s", link, all)
		}
		for _, want := range []string{"1. Warm up", "Idle: good", "Good: free rev, 1 of 4", "Good: free rev, 4 of 4", "3 free revs in a row", "Good: pull in gear", "Good: off-throttle in gear", "Good: neutral coast", "foot off the clutch", "Done"} {
			if !strings.Contains(all, want) {
				t.Errorf("%s: never said %q:\n%s", link, want, all)
			}
		}
		if count(said, "Not used: free rev") == 0 {
			t.Errorf("%s: the free rev to 2300 rpm was not refused:\n%s", link, all)
		}
		if count(said, "LIFT") > 0 || count(said, "slipped") > 0 {
			t.Errorf("%s: slip on a healthy car:\n%s", link, all)
		}
	}
}

// On a clutch that slips it says lift, lets it cool, offers one confirmation and then no more pulls.
func TestGuideSparesTheClutch(t *testing.T) {
	t.Parallel()
	car := sim.BenchMule().Tired(0.85, rand.New(rand.NewPCG(2, 2)))
	said, _ := guided(t, "can", car, runs(4), guide.Answers{}, quick())
	all := strings.Join(said, "\n")
	if count(said, "The clutch slipped under load") != 1 || count(said, "One short confirmation") != 1 || count(said, "no more pulls")+count(said, "No more pulls") != 1 {
		t.Errorf("said:\n%s", all)
	}
}

// A clutch so weak that it never takes hold at full load gets so hot in one pull that no other is offered.
func TestGuideStopsAtTheHeat(t *testing.T) {
	t.Parallel()
	car := sim.BenchMule().Tired(0.72, rand.New(rand.NewPCG(2, 2)))
	said, _ := guided(t, "can", car, runs(4), guide.Answers{}, quick())
	if count(said, "No more pulls: slip has left") != 1 || count(said, "LIFT") == 0 {
		t.Errorf("said:\n%s", strings.Join(said, "\n"))
	}
}

func TestBeddingInAndNoOffer(t *testing.T) {
	t.Parallel()
	said, _ := guided(t, "can", sim.BenchMule(), runs(0), guide.Answers{"km_since_fitted": "120", "bed_in_km": "500"}, quick())
	if count(said, "No pulls yet: the clutch has 120 km of the 500 km") != 1 {
		t.Errorf("said:\n%s", strings.Join(said, "\n"))
	}
}

// What a guide asks for is what the plan of that car and that limit holds: gear, engine speeds, and nothing where the limit allows nothing.
func TestPullsAreThePlans(t *testing.T) {
	v := sim.BenchMule().Vehicle
	for _, kmh := range []float64{30, 100, 0} {
		var said []string
		d := plan.On(v, plan.Road{SpeedLimit: kmh / 3.6})
		g := guide.New(live.NewSampleBuffer(), plan.Usual(), guide.Answers{}, d, func(m guide.Message) { said = append(said, m.String()) })
		for i := range guide.Steps {
			g.Tick(float64(i))
			g.Skip()
		}
		g.Tick(10)
		if n := count(said, "4. Full-load pulls"); (n == 1) != (kmh != 30) || count(said, "4. No pulls: "+d.NoPull.String()) != 1-n {
			t.Errorf("%.0f km/h:\n%s", kmh, strings.Join(said, "\n"))
		}
		for _, p := range d.Pulls[:min(2, len(d.Pulls))] {
			if count(said, fmt.Sprintf("gear %d, floored from %.0f rpm", p.Gear, p.FromRPM)) != 1 {
				t.Errorf("%+v:\n%s", p, strings.Join(said, "\n"))
			}
		}
		if d.Overrun != nil && count(said, fmt.Sprintf("about %.0f rpm in gear %d", d.Overrun.FromRPM, d.Overrun.Gear)) != 1 {
			t.Errorf("%+v:\n%s", d.Overrun, strings.Join(said, "\n"))
		}
	}
}

func TestQuestions(t *testing.T) {
	var out bytes.Buffer
	a, err := guide.Ask(strings.NewReader("Kim\nquarry\n12a\n120345,5\n\n\n120\n500\nyes\nyes\ny\nYES\nno\n"), &out)
	if err != nil {
		t.Fatal(err)
	}
	if on := a.FootOnClutch(); on == nil || *on || *a.Number("odometer_km") != 120345.5 || a["start_stop_off"] != "no" || a.Number("fuel") != nil {
		t.Errorf("%v", a)
	}
	f := a.Fields()
	if f[len(f)-1] != (drive.Field{Key: "checklist", Value: "yes"}) || f[0].Value != "Kim" {
		t.Errorf("%v", f)
	}
	if !strings.Contains(out.String(), "no number of kilometres") {
		t.Error("a wrong answer was taken")
	}
	if a, err := guide.Ask(strings.NewReader(""), &out); err != nil || len(a) != 0 {
		t.Errorf("nobody there: %v, %v", a, err)
	}
}

// Runs count in whatever order they are driven: nothing waits for a step that the driver has passed over.
func TestRunsCountInAnyOrder(t *testing.T) {
	var said []string
	book := live.NewSampleBuffer()
	g := guide.New(book, plan.Usual(), guide.Answers{}, plan.Drive{Untold: true}, func(m guide.Message) { said = append(said, m.String()) })
	var runs []live.Run
	now := 0.0
	drive := func(r live.Run) {
		now += 30
		r.Start, r.End = now-10, now-5
		runs = append(runs, r)
		g.Tick(now)
		g.Judged(now, runs)
	}
	have := func(k live.Kind) int {
		for _, n := range g.Needs() {
			if n.Kind == k {
				return n.Have
			}
		}
		return -1
	}
	// The coolant is never warm, nobody ever idles: pulls and what falls off between them are driven at once.
	book.Add(capture.Sample{Channel: "coolant_temp_c", T: 1, V: 40})
	for i := range 5 {
		drive(live.Run{Kind: live.Pull, Gear: 3 + i/3, Used: true})
		if have(live.Pull) != i+1 {
			t.Fatalf("after %d pulls the guide counts %d", i+1, have(live.Pull))
		}
		drive(live.Run{Kind: live.InGear, Gear: 3, Used: true})
	}
	if count(said, "4. Full-load pulls") != 1 || count(said, "5. Over the same") != 1 || count(said, "Good: pull in gear 4, 2 of 2") != 1 {
		t.Errorf("it did not follow the driver:\n%s", strings.Join(said, "\n"))
	}
	for range 4 {
		drive(live.Run{Kind: live.Coast, Used: true})
	}
	if count(said, "2. Idle for") != 1 {
		t.Errorf("what was left is not asked for:\n%s", strings.Join(said, "\n"))
	}
	for range 6 { // instead of idling
		drive(live.Run{Kind: live.FreeRev, Used: true})
	}
	if have(live.FreeRev) != 6 || g.Done() {
		t.Errorf("%d free revs, done %v", have(live.FreeRev), g.Done())
	}
	g.Skip() // the idling
	g.Tick(now + 1)
	if !g.Done() {
		t.Errorf("not done:\n%s", strings.Join(said, "\n"))
	}
}

// The poll list is that of what is driven: who drives off while free revs are asked for gets road speed at once.
func TestPlanFollowsTheCar(t *testing.T) {
	book := live.NewSampleBuffer()
	g := guide.New(book, plan.Usual(), guide.Answers{}, plan.Drive{Untold: true}, func(guide.Message) {})
	g.Tick(0)
	g.Skip()
	g.Tick(1)
	g.Skip()
	g.Tick(2)
	if p := g.Plan().Name; p != "free revs" {
		t.Fatalf("plan %s", p)
	}
	book.Add(capture.Sample{Channel: "vehicle_speed_kmh", T: 3, V: 20})
	g.Tick(3)
	if p := g.Plan().Name; p != "pull" {
		t.Errorf("plan %s while it moves", p)
	}
	book.Add(capture.Sample{Channel: "vehicle_speed_kmh", T: 9, V: 0})
	g.Tick(9)
	if p := g.Plan().Name; p != "free revs" {
		t.Errorf("plan %s while it stands", p)
	}
}

// Where the car tells its air, both speeds are held before the free revs and after them, a hold that counts is told of, and a speed that took another flow is asked for
// once more. The poll list follows.
func TestHoldsStandAroundTheFreeRevs(t *testing.T) {
	var said []string
	book := live.NewSampleBuffer()
	book.Add(capture.Sample{Channel: drive.AirFlow, T: 1, V: 2})
	g := guide.New(book, plan.Usual(), guide.Answers{}, plan.Drive{Untold: true}, func(m guide.Message) { said = append(said, m.String()) })
	var runs []live.Run
	now := 0.0
	tick := func() {
		now += 30
		g.Tick(now)
		g.Judged(now, runs)
		g.Tick(now)
	}
	drives := func(r live.Run) {
		r.Start, r.End = now+10, now+25
		runs = append(runs, r)
		tick()
	}
	hold := func(rpm, flow float64, used bool) {
		drives(live.Run{Kind: live.Hold, RPM: rpm, Flow: flow, Used: used})
	}
	told := func(n int, text string) {
		t.Helper()
		if count(said, text) != n {
			t.Fatalf("%q is said %d times, want %d:\n%s", text, count(said, text), n, strings.Join(said, "\n"))
		}
	}
	for range 2 { // warm-up and idling
		g.Tick(now)
		g.Skip()
	}
	g.Tick(now)
	told(1, "3. First the engine's drag of the day")
	if p := g.Plan().Name; p != "hold" {
		t.Fatalf("plan %s", p)
	}
	hold(2150, 5, true)
	told(0, "3. Free revs")
	hold(2600, 6, true) // at neither speed
	told(0, "3. Free revs")
	hold(3000, 7.2, true)
	told(1, "3. Free revs")
	told(1, "Good: hold at 3000 rpm")
	if p := g.Plan().Name; p != "fall" {
		t.Fatalf("plan %s", p)
	}
	for range 6 {
		drives(live.Run{Kind: live.FreeRev, Used: true})
	}
	told(1, "Now the same holds again")
	hold(2160, 5.01, true)
	hold(3000, 7.6, true)
	told(1, "hold that speed once more")
	told(0, "4. Full-load pulls")
	hold(3000, 7.21, true)
	told(1, "4. Full-load pulls")
}

// Holds are offered, not insisted on.
func TestHoldsMayBeLeftOut(t *testing.T) {
	var said []string
	book := live.NewSampleBuffer()
	book.Add(capture.Sample{Channel: drive.AirFlow, T: 1, V: 2})
	g := guide.New(book, plan.Usual(), guide.Answers{}, plan.Drive{Untold: true}, func(m guide.Message) { said = append(said, m.String()) })
	for range 2 {
		g.Tick(0)
		g.Skip()
	}
	g.Tick(0)
	run := live.Run{Kind: live.FreeRev, Used: true, Start: 10, End: 15}
	g.Judged(30, []live.Run{run})
	if count(said, "Holds are left out") != 1 || count(said, "3. Free revs") != 1 {
		t.Errorf("who revs goes on to the revs:\n%s", strings.Join(said, "\n"))
	}
}

func FuzzAsk(f *testing.F) {
	f.Add("Kim\nquarry\n12a\n120345,5\n\n\n120\n500\nyes\nyes\ny\nYES\nno\n")
	f.Add("\x00\xff\n-1\n1e400\nNaN\nInf\n0x10\n")
	f.Add(strings.Repeat("é", 300) + "\n")
	f.Fuzz(func(t *testing.T, in string) {
		a, err := guide.Ask(strings.NewReader(in), io.Discard)
		if err != nil {
			if strings.Contains(err.Error(), "\n") {
				t.Errorf("error of two lines: %q", err)
			}
			return
		}
		meta := append([]drive.Field{{Key: "created", Value: "2026-05-09T10:15:00Z"}}, a.Fields()...)
		var file bytes.Buffer
		if _, err := drive.NewSessionWriter(noSync{&file}, meta, []string{drive.EngineSpeed}); err != nil {
			t.Fatalf("an answer that cannot be kept: %v", err)
		}
		if !utf8.Valid(file.Bytes()) {
			t.Errorf("%q is no UTF-8", file.Bytes())
		}
		l, err := drive.ReadSession(&file, "x")
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range a.Fields() {
			if got := l.HeaderValue(x.Key); got != x.Value {
				t.Errorf("%s: %q is read back as %q", x.Key, x.Value, got)
			}
		}
		for _, key := range []string{"odometer_km", "km_since_fitted", "bed_in_km"} {
			if v := a.Number(key); v != nil && !(*v >= 0 && *v < 1e7) {
				t.Errorf("%s is %v", key, *v)
			}
		}
	})
}

// noSync is a buffer as a file.
type noSync struct{ *bytes.Buffer }

func (noSync) Sync() error  { return nil }
func (noSync) Close() error { return nil }
