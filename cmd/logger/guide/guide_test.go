package guide_test

import (
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

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
func guided(t *testing.T, linkName string, car sim.Car, plan []sim.Action, answers guide.Answers, needs guide.Needs) (said []string, done bool) {
	t.Helper()
	link, err := emulator.LinkByName(linkName)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(4, 4))
	tr := sim.Drive(car, sim.HillyRoad(rng, 0.004, 300), plan, rng)
	dev := emulator.New(emulator.FromDrive(tr, sim.NewLogger(sim.CANMulti), false), link, rng)
	b := emulator.NewBench(dev, start, rng)
	a := adapter.New(b.Open, b, adapter.Options{})
	if err := a.Connect(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := a.FindCar(t.Context()); err != nil {
		t.Fatal(err)
	}
	book := live.NewBook()
	veh := car.Vehicle
	judge := &live.Judge{Vehicle: veh}
	judge.Inertia.FootOnClutch = answers.FootOnClutch()
	offers, why := guide.Offers(veh, 0)
	g := guide.New(book, needs, answers, offers, why, func(s string) { said = append(said, s) })
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
				look = s.Elapsed.Seconds() + 12
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
func quick() guide.Needs {
	n := guide.Usual()
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
	car := sim.BenchMule().Tired(0.72, rand.New(rand.NewPCG(2, 2)))
	said, _ := guided(t, "can", car, runs(4), guide.Answers{}, quick())
	all := strings.Join(said, "\n")
	if count(said, "The clutch slipped under load") != 1 || count(said, "One short confirmation") != 1 || count(said, "no more pulls")+count(said, "No more pulls") != 1 {
		t.Errorf("said:\n%s", all)
	}
}

func TestBeddingInAndNoOffer(t *testing.T) {
	said, _ := guided(t, "can", sim.BenchMule(), runs(0), guide.Answers{"km_since_fitted": "120", "bed_in_km": "500"}, quick())
	if count(said, "No pulls yet: the clutch has 120 km of the 500 km") != 1 {
		t.Errorf("said:\n%s", strings.Join(said, "\n"))
	}
}

func TestOffers(t *testing.T) {
	v := sim.BenchMule().Vehicle
	all, why := guide.Offers(v, 0)
	if len(all) == 0 || why != "" {
		t.Fatalf("%v, %q", all, why)
	}
	for _, o := range all {
		if k := v.RPMPerKmh(o.Gear); o.Gear < 2 || o.FromKmh >= o.ToKmh || fmt.Sprintf("%.3f", o.ToRPM/k) != fmt.Sprintf("%.3f", o.ToKmh) || o.LengthM < 50 || o.Seconds < 2 {
			t.Errorf("%+v", o)
		}
	}
	limited, _ := guide.Offers(v, 100)
	for _, o := range limited {
		if o.ToKmh > 100 {
			t.Errorf("%+v exceeds 100 km/h", o)
		}
	}
	if len(limited) == 0 || len(limited) >= len(all) {
		t.Errorf("within 100 km/h %d of %d", len(limited), len(all))
	}
	if none, why := guide.Offers(v, 30); len(none) != 0 || !strings.Contains(why, "rollers") {
		t.Errorf("within 30 km/h: %v, %q", none, why)
	}
	if _, why := guide.Offers(nil, 0); why == "" {
		t.Error("no vehicle and no reason")
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
