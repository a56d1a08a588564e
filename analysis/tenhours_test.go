package analysis_test

import (
	"runtime"
	"sync"
	"testing"

	"flywitness/analysis"
	"flywitness/analysis/slip"
	"flywitness/internal/numbers"
	"flywitness/sim/field"
	"flywitness/vehicle"
)

// Ten hours of ordinary driving with sound clutches, thirty cars, roads and drivers, by turns with a vehicle file,
// with mass and tyre alone and without, on every link: none is said to slip, and those that can be told are said
// to hold.
func TestTenHealthyHours(t *testing.T) {
	numbers.Only(t)
	t.Parallel()
	cases := field.TenHours(1)
	verdicts := make([]slip.Verdict, len(cases))
	withFile := make([]bool, len(cases))
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	var all sync.WaitGroup
	for i, drive := range cases {
		slots <- struct{}{}
		all.Go(func() {
			defer func() { <-slots }()
			c := drive()
			withFile[i] = c.Vehicle != nil && len(c.Vehicle.Gearbox.Ratios) > 0
			f := analysis.Slip(analysis.Set{Logs: c.Logs, Vehicle: c.Vehicle},
				slip.Options{Gearbox: vehicle.GearboxType(c.Gearbox)}).Slip
			verdicts[i] = f.Verdict
			if f.Verdict != slip.Holds {
				t.Logf("log %d: %s: %s", i, f.Verdict, f.Reason)
			}
		})
	}
	all.Wait()
	var held, n [2]float64
	for i, v := range verdicts {
		if v == slip.Slips {
			t.Errorf("log %d: a sound clutch slips", i)
		}
		side := 0
		if withFile[i] {
			side = 1
		}
		n[side]++
		if v == slip.Holds {
			held[side]++
		}
	}
	for side, least := range []float64{0.75, 0.88} { // without a file, with one
		if held[side] < least*n[side] {
			t.Errorf("%.0f of %.0f sound clutches hold (with a file: %v), want %.0f %%", held[side], n[side], side == 1,
				100*least)
		}
	}
}
