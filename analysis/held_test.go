package analysis_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"flywitness/analysis"
	"flywitness/analysis/compare"
	"flywitness/analysis/drag"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/sim/engine"
	"flywitness/vehicle"
)

// heldJob is one sitting a side of an engine whose inertia fell by a tenth, and a ladder of it.
func heldJob() (before, after, ladder analysis.Set) {
	rng := rand.New(rand.NewPCG(11, 12))
	e := engine.Random(rng)
	light := *e
	light.Inertia *= 0.9
	veh := &vehicle.Vehicle{Engine: vehicle.Engine{IdleRPM: e.IdleRPM, Fuel: "petrol"}}
	record := func(car *engine.Engine, p []engine.Phase) []*drive.Log {
		return []*drive.Log{engine.CAN.Record(engine.Sit(car, engine.Checklist().Draw(rng), p, rng), engine.Everything(),
			rng)}
	}
	before = analysis.Set{Side: "before", Vehicle: veh, Logs: record(e, engine.Protocol(2500, 3500, 15, 5700, 8, rng))}
	after = analysis.Set{Side: "after", Vehicle: veh, Logs: record(&light, engine.Protocol(2500, 3500, 15, 5700, 8, rng))}
	p := []engine.Phase{{Kind: engine.Idle, Seconds: 3}}
	for _, oil := range []float64{60, 69, 78, 87, 95} {
		hold := func(rpm float64) engine.Phase {
			return engine.Phase{Kind: engine.Hold, RPM: rpm, Seconds: 15, Oil: oil}
		}
		p = append(p, hold(2500), hold(3500))
		for range 4 {
			p = append(p, engine.Phase{Kind: engine.Fall, RPM: 5700}, engine.Phase{Kind: engine.Idle, Seconds: 1.5})
		}
		p = append(p, hold(2500), hold(3500))
	}
	return before, after, analysis.Set{Vehicle: veh,
		Logs: record(e, append(p, engine.Phase{Kind: engine.Idle, Seconds: 1}))}
}

// The corrected ratio stands beside the uncorrected one until this car has shown that its flow tells its drag; then
// it decides, and is the narrower.
func TestTrustIsEarnedOnTheCar(t *testing.T) {
	before, after, ladder := heldJob()
	opt := analysis.CompareOptions{Compare: compare.Options{Checklist: true}}
	open := analysis.Compare(before, after, opt).Compare
	if open.Drag == nil || open.Drag.Corrected == nil || open.Drag.Trust.Verdict != drag.Open ||
		open.Drag.Decides != "uncorrected" || open.Ratio.Value != open.Drag.Uncorrected.Value {
		t.Fatalf("without a ladder: %+v", open.Drag)
	}
	opt.Ladder = ladder
	earned := analysis.Compare(before, after, opt).Compare
	if earned.Drag.Trust.Verdict != drag.Earned || earned.Drag.Decides != "corrected" ||
		earned.Ratio.Value != earned.Drag.Corrected.Value {
		t.Fatalf("with a ladder: %+v, %+v", earned.Drag.Trust, earned.Drag.Trust.Ladder)
	}
	width := func(c *compare.Finding) float64 { return c.Ratio.CI95[1] - c.Ratio.CI95[0] }
	if width(earned) > 0.8*width(open) {
		t.Errorf("the interval is %.3f wide for %.3f", width(earned), width(open))
	}
	if truth := 1 / 0.9; earned.Ratio.CI95[0] > truth || earned.Ratio.CI95[1] < truth ||
		earned.Verdict != compare.Reduced {
		t.Errorf("%s, %+v", earned.Verdict, earned.Ratio)
	}
	if !earned.Drag.Sentence.Has(finding.LadderDecides) || !open.Drag.Sentence.Has(finding.UncorrectedWider) {
		t.Errorf("%s\n%s", earned.Drag.Sentence, open.Drag.Sentence)
	}
	if c := earned.Drag.Trust.Ladder.Elasticity; math.Abs(c.Value-1.2) > 0.3 {
		t.Errorf("elasticity %+v", c)
	}
}

// Where nothing was held, the result does not know of holding.
func TestWithoutHoldsNothingIsSaid(t *testing.T) {
	before, after, _ := heldJob()
	for _, s := range []analysis.Set{before, after} {
		for _, l := range s.Logs {
			l.Channels = l.Channels[:1] // engine speed alone
			for i, v := range l.Channels[0].V {
				if math.Abs(v-2500) < 300 || math.Abs(v-3500) < 300 {
					l.Channels[0].T[i] = math.NaN()
				}
			}
		}
	}
	data, err := json.Marshal(analysis.Compare(before, after, analysis.CompareOptions{}).Compare)
	if err != nil || strings.Contains(string(data), `"drag"`) {
		t.Errorf("%v: the result speaks of what held the engine", err)
	}
}
