//go:build proof

package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"flywitness/analysis/inertia"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/sim/engine"
	"flywitness/vehicle"
)

// heldCase is one row: how a job is drawn and recorded, and what the correction is told.
type heldCase struct {
	name     string
	link     engine.Link
	gives    engine.Gives
	spread   engine.Spread
	opt      Options
	falls    int
	seconds  float64
	sittings int
	diesel   bool
	change   float64 // I before over I after
	fool     func(after *engine.Day)
	foolCar  func(after *engine.Engine)
}

// job draws one and compares it.
func (h *heldCase) job(seed, row uint64) (*Finding, float64) {
	rng := rand.New(rand.NewPCG(seed, row))
	e := engine.Random(rng)
	peak, middle := 5700.0, math.Sqrt(1500*4800)
	if h.diesel {
		e = engine.RandomDiesel(rng)
		peak, middle = 4500, math.Sqrt(1500*3800)
	}
	after := *e
	rho := 1.0
	if h.change > 0 {
		rho = h.change
	}
	after.Inertia /= rho
	if h.foolCar != nil {
		h.foolCar(&after)
	}
	veh := &vehicle.Vehicle{Engine: vehicle.Engine{IdleRPM: e.IdleRPM, Fuel: map[bool]string{false: "petrol", true: "diesel"}[h.diesel]}}
	var sides [2]Side
	for k, car := range []*engine.Engine{e, &after} {
		var logs []*drive.Log
		for range max(1, h.sittings) {
			d := h.spread.Draw(rng)
			if k == 1 && h.fool != nil {
				h.fool(&d)
			}
			tr := engine.Sit(car, d, engine.Protocol(0.93*middle, 1.30*middle, h.seconds, peak, h.falls, rng), rng)
			logs = append(logs, h.link.Record(tr, h.gives, rng))
		}
		f, _ := inertia.Measure(logs, veh, nil, inertia.Options{})
		sides[k] = Side{Logs: logs, Inertia: f, Vehicle: veh}
	}
	f, _ := Compare(sides[0], sides[1], h.opt)
	return f, math.Log(rho)
}

type heldTally struct {
	plain, corrected tally
	none             int
	narrow, same     int
	codes            map[string]int
	n                int
	c                []float64
}

func (t *heldTally) add(f *Finding, truth float64, mu *sync.Mutex) {
	mu.Lock()
	defer mu.Unlock()
	t.n++
	if t.codes == nil {
		t.codes = map[string]int{}
	}
	if f.Drag == nil {
		t.codes["no drag: "+f.Reason]++
		return
	}
	one := func(to *tally, e *stats.Estimate) {
		h := (math.Log(e.CI95[1]) - math.Log(e.CI95[0])) / 2
		miss := math.Log(e.Value) - truth
		to.err, to.half = append(to.err, miss), append(to.half, h)
		if math.Abs(miss) <= h {
			to.covered++
		}
	}
	if f.Drag.Uncorrected != nil {
		one(&t.plain, f.Drag.Uncorrected)
	}
	for _, r := range f.Drag.Refusals {
		t.codes[string(r.Code)]++
	}
	if f.Drag.Corrected == nil {
		t.none++
		return
	}
	one(&t.corrected, f.Drag.Corrected)
	t.c = append(t.c, debugRuns, debugOther)
	h := t.corrected.half[len(t.corrected.half)-1]
	if h <= 0.03 {
		t.narrow++
	}
	if e := f.Drag.Corrected; e.CI95[0] > 1/1.05 && e.CI95[1] < 1.05 {
		t.same++
	}
}

func TestProofHeldLook(t *testing.T) {
	petrol := heldCase{link: engine.CAN, gives: engine.Everything(), spread: engine.Checklist(), opt: Options{Checklist: true}, falls: 8, seconds: 15}
	rows := []func(heldCase) heldCase{
		func(h heldCase) heldCase { h.name = "petrol can"; return h },
		func(h heldCase) heldCase { h.name = "petrol kline"; h.link = engine.KLine; return h },
		func(h heldCase) heldCase { h.name = "petrol multi"; h.link = engine.CANMulti; return h },
		func(h heldCase) heldCase { h.name = "air only"; h.gives.Trims = false; return h },
		func(h heldCase) heldCase {
			h.name = "no checklist"
			h.spread = engine.NoChecklist()
			h.opt.Checklist = false
			return h
		},
		func(h heldCase) heldCase { h.name = "diesel"; h.diesel = true; h.gives = engine.OfDiesel(); return h },
		func(h heldCase) heldCase {
			h.name = "same day"
			h.spread = engine.SameDay()
			h.opt.SameDay = true
			return h
		},
		func(h heldCase) heldCase { h.name = "two sittings"; h.sittings = 2; return h },
		func(h heldCase) heldCase {
			h.name = "cold oil 25"
			h.fool = func(d *engine.Day) { d.Oil -= 25 }
			return h
		},
	}
	for i, row := range rows {
		h := row(petrol)
		var all heldTally
		var mu sync.Mutex
		parallel(replications(), func(rep uint64) {
			f, truth := h.job(rep, uint64(7000+i))
			all.add(f, truth, &mu)
		})
		for _, k := range []int{0,1} { var v []float64; for j := k; j < len(all.c); j += 2 { v = append(v, all.c[j]) }; fmt.Printf("  comp %d median %.3g mean %.3g", k, 100*math.Sqrt(stats.Median(v)), 100*math.Sqrt(mean(v))) }
		p, c := stats.Summarise(all.plain.err), stats.Summarise(all.corrected.err)
		fmt.Printf("%-14s n %d plain bias %+.2f sd %.2f half %.2f cover %.3f | corrected bias %+.2f sd %.2f half %.2f cover %.3f | none %d narrow %.2f same %.2f %v\n", h.name, all.n, 100*p.Mean, 100*p.SD, 100*mean(all.plain.half),
			float64(all.plain.covered)/float64(max(1, len(all.plain.err))), 100*c.Mean, 100*c.SD, 100*mean(all.corrected.half), float64(all.corrected.covered)/float64(max(1, len(all.corrected.err))), all.none,
			float64(all.narrow)/float64(all.n), float64(all.same)/float64(all.n), all.codes)
	}
}

func mean(v []float64) float64 { return stats.Summarise(v).Mean }
