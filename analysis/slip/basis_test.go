package slip_test

import (
	"math"
	"math/rand/v2"
	"slices"
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
		{"no load channel", true, true, pulls(4), bare, slip.Options{}, []string{"no channel tells how hard " +
			"the engine worked", "± 2 % of slope"}, []string{"told from"}},
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
			most := heldTruly(truth, &p)
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

// heldTruly is the highest torque in N m that the clutch truly carried for half a second of a pull.
func heldTruly(truth *sim.Truth, p *slip.Pull) float64 {
	most := 0.0
	for k := truth.At(p.Start); k+50 <= truth.At(p.End); k++ {
		sum := 0.0
		for _, x := range truth.ClutchTorqueNm[k : k+50] {
			sum += x
		}
		most = max(most, sum/50)
	}
	return most
}

// A log without a load channel tells nothing of the slope of a hilly road, and a satellite receiver's height does:
// the torques of its pulls are known better by a fifth, and still true. A receiver that hangs, one that shows feet,
// one that loses its place and one that is lost in noise leave the torques as they are without it: as wide, and as
// true, with a load channel and without.
func TestHeightsTellTheSlope(t *testing.T) {
	numbers.Only(t)
	rng := rand.New(rand.NewPCG(41, 7))
	car := weak(1.5)
	plan := []sim.Action{sim.Traffic(rng, 8, sim.GentleTraffic())}
	for range 6 {
		plan = append(plan, sim.Pull(3, 2000, 5200), sim.Cruise(70, 20), sim.Pull(4, 2000, 4800), sim.Cruise(60, 20))
	}
	truth := sim.Drive(car, sim.HillyRoad(rng, 0.02, 300), plan, rng)
	logger := sim.NewLogger(sim.CANMulti)
	logger.Slow, logger.SlowEvery = []string{drive.Altitude}, 20
	logger.HeightWander, logger.HeightTau, logger.HeightNoise, logger.HeightLag = 6, 150, 0.5, 1
	for _, load := range []bool{false, true} {
		logger.Fast = []string{drive.EngineSpeed, drive.VehicleSpeed}
		if load {
			logger.Fast = append(logger.Fast, drive.EngineLoad)
		}
		l := logger.Record(truth, rng)
		heights := l.Channel(drive.Altitude)
		told := slices.Clone(heights.V)
		shown := func(wrong func(i int, h float64) float64) (width, within float64) {
			for i, h := range told {
				heights.V[i] = wrong(i, h)
			}
			_, f, _ := judgedLog(l, car.Vehicle, slip.Options{})
			return heldWell(t, truth, f)
		}
		without, _ := shown(func(int, float64) float64 { return math.NaN() })
		with, within := shown(func(_ int, h float64) float64 { return h })
		if !load && with > 0.8*without || with > 1.02*without || within < 0.9 {
			t.Errorf("load %v: torques to %.1f %%, %.1f %% without, %.0f %% of them true", load, 100*with, 100*without, 100*within)
		}
		away := 0.0
		for _, c := range []struct {
			name  string
			wrong func(i int, h float64) float64
		}{
			{"hangs", func(i int, _ float64) float64 { return told[i-i%60] }},
			{"feet", func(_ int, h float64) float64 { return h / 0.3048 }},
			{"loses its place", func(i int, h float64) float64 {
				if i%40 == 0 {
					away = 25 * rng.NormFloat64()
				}
				return h + away
			}},
			{"noise", func(_ int, h float64) float64 { return h + 12*rng.NormFloat64() }},
		} {
			if with, within := shown(c.wrong); with < 0.8*without || load && with > 1.05*without || within < 0.9 {
				t.Errorf("load %v, %s: torques to %.1f %%, %.1f %% without, %.0f %% of them true", load, c.name, 100*with,
					100*without, 100*within)
			}
		}
	}
}

// heldWell is how wide the torques held in the strong pulls are, as a share, and which share of them is true.
func heldWell(t *testing.T, truth *sim.Truth, f *slip.Finding) (width, within float64) {
	n := 0.0
	for _, p := range f.Pulls {
		if p.HeldTorque == nil || p.PeakTorque.Value < 150 {
			continue
		}
		most := heldTruly(truth, &p)
		width += p.HeldTorque.SD / most
		if p.HeldTorque.CI95[0] <= most && most <= p.HeldTorque.CI95[1] {
			within++
		}
		n++
	}
	if n < 10 {
		t.Fatalf("%.0f pulls", n)
	}
	return width / n, within / n
}
