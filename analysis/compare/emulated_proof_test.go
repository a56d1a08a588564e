//go:build proof

package compare

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"flywitness/analysis/inertia"
	"flywitness/capture"
	"flywitness/capture/adapter"
	"flywitness/capture/emulator"
	"flywitness/drive"
	"flywitness/sim"
	"flywitness/vehicle"
)

// memoryFile is a session file that is never on disk.
type memoryFile struct{ bytes.Buffer }

func (*memoryFile) Sync() error  { return nil }
func (*memoryFile) Close() error { return nil }

// pollList is which poll list is asked for at t s of a drive.
type pollList func(tr *sim.Truth, t float64) capture.Plan

// roadList is the list of a recording that nobody guides.
func roadList(*sim.Truth, float64) capture.Plan { return capture.RoadPlan() }

// guidedList is what the guided recording asks for: engine speed alone in the free revs, both speeds while the
// car rolls.
func guidedList(tr *sim.Truth, t float64) capture.Plan {
	for _, l := range tr.Labelled("free_rev") {
		if t >= l.StartS && t < l.EndS {
			return capture.RevDownPlan()
		}
	}
	return capture.PullPlan()
}

// throughAdapter plays a drive behind the emulated adapter on an emulated clock, records it as the logger does
// and reads the session again. The drive starts when the car was found.
func throughAdapter(ctx context.Context, tr *sim.Truth, shown sim.Logger, link emulator.Link, list pollList,
	rng *rand.Rand) (*drive.Log, error) {
	start := time.Date(2026, 5, 9, 10, 15, 0, 0, time.UTC)
	played := &later{Car: emulator.FromDrive(tr, shown, false)}
	device := emulator.New(played, link, rng)
	bench := emulator.NewBench(device, start, rng)
	a := adapter.New(bench.Open, bench, adapter.Options{})
	if err := errors.Join(a.Connect(ctx), a.FindCar(ctx)); err != nil {
		return nil, err
	}
	played.from = bench.Elapsed().Seconds()
	created := bench.Now()
	f := &memoryFile{}
	w, err := drive.NewSessionWriter(f, []drive.Field{{Key: "created", Value: created.Format(time.RFC3339Nano)}},
		capture.Columns(false, capture.Plans()...))
	if err != nil {
		return nil, err
	}
	_, err = capture.Record(ctx, capture.Config{
		Adapter: a, Clock: bench, Sink: w, Created: created, For: time.Duration(tr.Duration() * float64(time.Second)),
		Plan: func() capture.Plan { return list(tr, bench.Now().Sub(created).Seconds()) },
	})
	if err := errors.Join(err, w.Close()); err != nil {
		return nil, err
	}
	return drive.ReadSession(&f.Buffer, "emulated.csv")
}

// later is a car whose drive starts some seconds after the adapter was plugged in.
type later struct {
	emulator.Car
	from float64
}

func (c *later) Value(channel string, t float64) (float64, bool) {
	return c.Car.Value(channel, max(0, t-c.from))
}

// emulatedLinks are the emulator's links with those of the simulator's own logger that are their like.
var emulatedLinks = []struct {
	name string
	like sim.Link
}{{"kline", sim.KLine}, {"can", sim.CANSequential}, {"canmulti", sim.CANMulti}}

// withHabit draws when the control unit takes its values: one habit a car, so the same before and after.
func withHabit(link emulator.Link, rng *rand.Rand) emulator.Link {
	link.Sampling = emulator.Sampling(rng.IntN(int(emulator.FromTask) + 1))
	return link
}

// perSecond is how many values of a channel a recording has in a second of it.
func perSecond(l *drive.Log, channel string) float64 {
	c := l.Channel(channel)
	first, last := l.Span()
	return float64(c.Len()) / (last - first)
}

// emulatedSide drives and records a sitting of a car and measures it.
func emulatedSide(ctx context.Context, car sim.Car, v *vehicle.Vehicle, plan []sim.Action, road sim.Road,
	shown sim.Logger, link emulator.Link, list pollList, rng *rand.Rand) (Side, error) {
	log, err := throughAdapter(ctx, sim.Drive(car, road, plan, rng), shown, link, list, rng)
	if err != nil {
		return Side{}, err
	}
	s := Side{Logs: []*drive.Log{log}, Vehicle: v}
	s.Inertia, _ = inertia.Measure(s.Logs, v, nil, inertia.Options{})
	return s, nil
}

func TestProofEmulatedAdapter(t *testing.T) {
	fmt.Printf("\n### The ratio through the emulated adapter and the recorder: 8 free revs from 5300 rpm a side\n\n" +
		"| link | poll list | engine speed, values/s | bias %% | sd %% | coverage | no answer " +
		"|\n|---|---|---|---|---|---|---|\n")
	for _, l := range emulatedLinks {
		link, err := emulator.LinkByName(l.name)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range []struct {
			name string
			list pollList
		}{{"road", roadList}, {"free revs", guidedList}} {
			o, rate := &tally{}, 0.0
			var mu sync.Mutex
			parallel(replications(), func(rep uint64) {
				rng := seeded(rep, 11000+uint64(l.like)+uint64(len(p.name))<<8)
				link := withHabit(link, rng)
				var side [2]Side
				for k, i := range []float64{0.205, 0.160} {
					var plan []sim.Action
					for range 8 {
						plan = append(plan, sim.FreeRev(5300+100*rng.NormFloat64()))
					}
					car := dirtyCar(i, 0)
					var err error
					if side[k], err = emulatedSide(t.Context(), car, car.Vehicle, plan, sim.LevelRoad(), sim.NewLogger(l.like), link,
						p.list, rng); err != nil {
						t.Error(err)
						return
					}
				}
				r := bestRatio(side[0].Inertia, side[1].Inertia)
				mu.Lock()
				defer mu.Unlock()
				o.add(r, math.Log(0.205/0.160))
				rate += perSecond(side[0].Logs[0], drive.EngineSpeed)
			})
			bias, sd, _, cover, _ := o.row()
			fmt.Printf("| %v | %s | %.1f | %+.2f | %.2f | %.3f | %d |\n", l.like, p.name, rate/float64(replications()),
				100*bias, 100*sd, cover, o.missing)
		}
	}
}

func TestProofAbsoluteThroughEmulatedAdapter(t *testing.T) {
	fmt.Printf("\n### Absolute inertia through the emulated adapter: runs and errors as above, drag of a session 1 "+
		"%%, %d replications\n\n"+
		"| link | bias %% | rms %% | coverage | no value | change: rms %% | coverage | no change "+
		"|\n|---|---|---|---|---|---|---|---|\n", max(1, replications()/2))
	for _, l := range emulatedLinks {
		link, err := emulator.LinkByName(l.name)
		if err != nil {
			t.Fatal(err)
		}
		var sum absoluteTally
		parallel(max(1, replications()/2), func(rep uint64) { // a drive of several minutes each side
			rng := seeded(rep, 13000+uint64(l.like))
			link := withHabit(link, rng)
			v := misstated(sim.BenchMule().Vehicle, rng)
			shown := sim.RandomLogger(l.like, rng)
			var side [2]Side
			for k, i := range []float64{0.205, 0.160} {
				var err error
				if side[k], err = emulatedSide(t.Context(), dirtyCar(i, 0.01), v, absolutePlan(6, rng),
					sim.HillyRoad(rng, 0.001, 300), shown, link, guidedList, rng); err != nil {
					t.Error(err)
					return
				}
			}
			sum.add(side[0], side[1])
		})
		sum.row(t, l.like)
	}
}

// misstated is a vehicle file whose mass is off by 1 % and its tyre by 0.5 %, standard deviations.
func misstated(v *vehicle.Vehicle, rng *rand.Rand) *vehicle.Vehicle {
	out := *v
	out.Mass *= 1 + 0.01*rng.NormFloat64()
	out.MassSD = 0.015 * out.Mass
	out.RollingCircumference *= 1 + 0.005*rng.NormFloat64()
	return &out
}

// absolutePlan is n free revs from 5500 rpm, and two overruns in second gear and two neutral coasts, one of
// each each way.
func absolutePlan(n int, rng *rand.Rand) []sim.Action {
	var plan []sim.Action
	for range n {
		plan = append(plan, sim.FreeRev(5500+100*rng.NormFloat64()))
	}
	return append(plan, sim.Overrun(2, 5000, 1400), sim.Coast(75, 25), sim.TurnRound(), sim.Overrun(2, 5000, 1400),
		sim.Coast(75, 25))
}
