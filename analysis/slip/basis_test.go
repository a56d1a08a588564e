package slip_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"flywitness/analysis/slip"
	"flywitness/drive"
	"flywitness/internal/numbers"
	"flywitness/sim"
)

// The finding says in words whose road load was used and how the slope of the road was bounded, or why there is
// no torque.
func TestTorqueBasisIsSaid(t *testing.T) {
	numbers.Only(t)
	bare := sim.NewLogger(sim.CANMulti)
	bare.Fast, bare.Slow = []string{drive.EngineSpeed, drive.VehicleSpeed}, []string{drive.CoolantTemp}
	mixed := []sim.Action{sim.Traffic(rand.New(rand.NewPCG(1, 1)), 20, sim.MixedTraffic())}
	for _, c := range []struct {
		name         string
		load, ratios bool // in the vehicle file
		plan         []sim.Action
		logger       sim.Logger
		opt          slip.Options
		says, not    []string
	}{
		{"file and load channel", true, true, pulls(4), sim.NewLogger(sim.CANMulti), slip.Options{},
			[]string{"from the vehicle file", "told from how the car pulls at equal engine speed and load"},
			[]string{"common car"}},
		{"coast-downs", false, true, mixed, sim.NewLogger(sim.CANMulti), slip.Options{}, []string{"common car", "of " +
			"rolling in neutral in the log"}, []string{"vehicle file"}},
		{"no load channel", true, true, pulls(4), bare, slip.Options{}, []string{"without a load or throttle " +
			"channel", "± 2 % of slope"}, []string{"told from"}},
		{"no ratios", true, false, pulls(2), sim.NewLogger(sim.CANMulti), slip.Options{}, []string{"gives the gearing"},
			[]string{"slope"}},
		{"rollers", true, true, pulls(2), sim.NewLogger(sim.CANMulti), slip.Options{Rollers: true},
			[]string{"On a rolling road"}, []string{"slope"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			car := weak(1.5)
			v := *car.Vehicle
			rng := rand.New(rand.NewPCG(1, 7))
			truth := sim.Drive(car, sim.HillyRoad(rng, 0.015, 300), c.plan, rng)
			if !c.load {
				v.RoadLoad = nil
			}
			if !c.ratios {
				v.Gearbox.Ratios, v.Gearbox.FinalDrive = nil, 0
			}
			l := c.logger.Record(truth, rng)
			_, f, _ := judgedLog(l, &v, c.opt)
			for _, s := range c.says {
				if !strings.Contains(f.TorqueBasis.String(), s) {
					t.Errorf("%q does not say %q", f.TorqueBasis, s)
				}
			}
			for _, s := range c.not {
				if strings.Contains(f.TorqueBasis.String(), s) {
					t.Errorf("%q says %q", f.TorqueBasis, s)
				}
			}
		})
	}
}

// On a hilly road a log with a load channel knows the torque of its pulls better than one without, and the
// truth lies in both intervals.
func TestSlopeFromTheLogNarrowsTheTorque(t *testing.T) {
	numbers.Only(t)
	car := weak(1.5)
	var half [2]float64
	for i, channels := range [][]string{{drive.EngineSpeed, drive.VehicleSpeed, drive.EngineLoad},
		{drive.EngineSpeed, drive.VehicleSpeed}} {
		rng := rand.New(rand.NewPCG(31, 7))
		truth := sim.Drive(car, sim.HillyRoad(rng, 0.015, 300), pulls(5), rng)
		logger := sim.NewLogger(sim.CANMulti)
		logger.Fast, logger.Slow = channels, []string{drive.CoolantTemp}
		l := logger.Record(truth, rng)
		_, f, _ := judgedLog(l, car.Vehicle, slip.Options{})
		n := 0.0
		for _, p := range f.Pulls {
			if p.HeldTorque == nil || p.PeakTorque.Value < 150 {
				continue
			}
			most := 0.0
			for k := truth.At(p.Start); k+50 <= truth.At(p.End); k++ {
				sum := 0.0
				for _, x := range truth.ClutchTorqueNm[k : k+50] {
					sum += x
				}
				most = max(most, sum/50)
			}
			if p.HeldTorque.CI95[0] > most || p.HeldTorque.CI95[1] < most {
				t.Errorf("channels %v, pull at %.0f s: held %v N m, truly %.0f", channels, p.Start, p.HeldTorque.CI95, most)
			}
			half[i] += p.HeldTorque.SD
			n++
		}
		if n < 3 {
			t.Fatalf("channels %v: %.0f pulls", channels, n)
		}
		half[i] /= n
	}
	if half[0] > 0.8*half[1] {
		t.Errorf("torque is known to ± %.0f N m with a load channel and ± %.0f without", half[0], half[1])
	}
}
