package main

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"flywitness/analysis"
	"flywitness/analysis/inertia"
	"flywitness/analysis/slip"
	"flywitness/capture"
	"flywitness/capture/adapter"
	"flywitness/capture/emulator"
	"flywitness/cmd/logger/live"
	"flywitness/drive"
	"flywitness/internal/numbers"
	"flywitness/sim"
)

// discard is a sink that keeps nothing.
type discard struct{}

func (discard) Index(string) int                     { return 0 }
func (discard) WriteRow(float64, []drive.Cell) error { return nil }
func (discard) WriteNote(float64, string) error      { return nil }

// through records a whole drive through the emulator, with free revs polled as the guide polls them.
func through(ctx context.Context, tr *sim.Truth, lg sim.Logger, link emulator.Link) (*drive.Log, error) {
	start := time.Date(2026, 5, 9, 10, 15, 0, 0, time.UTC)
	dev := emulator.New(emulator.FromDrive(tr, lg, false), link, rand.New(rand.NewPCG(1, 2)))
	b := emulator.NewBench(dev, start, rand.New(rand.NewPCG(3, 4)))
	a := adapter.New(b.Open, b, adapter.Options{})
	if err := a.Connect(ctx); err != nil {
		return nil, err
	}
	if err := a.FindCar(ctx); err != nil {
		return nil, err
	}
	book := live.NewSampleBuffer()
	_, err := capture.Record(ctx, capture.Config{
		Adapter: a, Clock: b, Sink: discard{}, Created: start, For: time.Duration(tr.Duration() * float64(time.Second)), Watch: book.Add,
		Plan: func() capture.Plan {
			t := b.Elapsed().Seconds()
			for _, l := range tr.Labelled("free_rev") {
				if t >= l.StartS && t < l.EndS {
					return capture.RevDownPlan()
				}
			}
			return capture.RoadPlan()
		},
	})
	return book.Log(0), err
}

// testDrive has what slip and inertia need.
func testDrive() []sim.Action {
	plan := []sim.Action{sim.Idle(20)}
	for i := 0; i < 6; i++ {
		plan = append(plan, sim.FreeRev(4200), sim.Idle(6))
	}
	plan = append(plan, sim.Accelerate(60))
	for i := 0; i < 3; i++ {
		plan = append(plan, sim.Pull(3, 1900, 5400), sim.Overrun(3, 5200, 1800), sim.Cruise(60, 10), sim.Pull(4, 2000, 5000), sim.Cruise(70, 15))
	}
	return append(plan, sim.Stop(), sim.Idle(5))
}

// rateOf is the mean fall of the usable free revs in rpm/s, and their number.
func rateOf(f *inertia.Finding) (rate float64, n int) {
	var sum float64
	for _, r := range f.Runs {
		if r.Kind == inertia.RevDown && r.Used {
			sum += r.MeanRate
			n++
		}
	}
	return sum / math.Max(float64(n), 1), n
}

// The analysis of a drive recorded through the emulator tells the same as that of the same drive written by the simulator.
func TestSameVerdictThroughTheEmulator(t *testing.T) {
	numbers.Only(t)
	links := map[string]sim.Link{"kline": sim.KLine, "can": sim.CANSequential, "canmulti": sim.CANMulti}
	t.Log("| clutch | link | simulator's log | through the emulator | usable free revs | fall, rpm/s, simulator | fall, rpm/s, emulator |")
	for _, share := range []float64{0, 0.7} {
		name, car := "good", sim.BenchMule()
		if share > 0 {
			name, car = "tired", car.Tired(share, rand.New(rand.NewPCG(6, 6)))
		}
		rng := rand.New(rand.NewPCG(5, 5))
		tr := sim.Drive(car, sim.HillyRoad(rng, 0.005, 300), testDrive(), rng)
		for _, link := range emulator.Links() {
			lg := sim.NewLogger(links[link.Name])
			written := lg.Record(tr, rng)
			recorded, err := through(t.Context(), tr, lg, link)
			if err != nil {
				t.Fatal(err)
			}
			want, got := judged(written, car), judged(recorded, car)
			wantRate, _ := rateOf(want.free)
			gotRate, n := rateOf(got.free)
			t.Logf("| %s | %s | %s | %s | %d | %.0f | %.0f |", name, link.Name, want.slip, got.slip, n, wantRate, gotRate)
			if want.slip != got.slip {
				t.Errorf("%s, %s: %s by the simulator's log, %s through the emulator", name, link.Name, want.slip, got.slip)
			}
			if n < 5 || math.Abs(gotRate-wantRate) > 0.05*math.Abs(wantRate) && link.Name != "kline" {
				t.Errorf("%s, %s: %d free revs that fall at %.0f rpm/s, %.0f by the simulator's log", name, link.Name, n, gotRate, wantRate)
			}
		}
	}
}

// both is what the analysis tells of a log.
type both struct {
	slip slip.Verdict
	free *inertia.Finding
}

func judged(l *drive.Log, car sim.Car) both {
	set := analysis.Set{Logs: []*drive.Log{l}, Vehicle: car.Vehicle}
	return both{analysis.Slip(set, slip.Options{}).Slip.Verdict, analysis.Inertia(set, inertia.Options{}).Inertia}
}
