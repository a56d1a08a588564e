package inertia_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/inertia"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/sim"
)

func pulled(gears []int, each int, number uint64, also ...string) (*inertia.Finding, []finding.Finding, sim.Car) {
	rng := rand.New(rand.NewPCG(number, 21))
	car := sim.BenchMule()
	// Modest and without boost: first gear is neither limited by the tyres nor by the control unit.
	car.Engine.BoostLag, car.Engine.Boosted, car.Engine.GearLimitNm = 0, 0, nil
	full := make([]sim.TorquePoint, len(car.Engine.FullLoad))
	for i, p := range car.Engine.FullLoad {
		full[i] = sim.TorquePoint{RPM: p.RPM, Nm: 0.42 * p.Nm}
	}
	car.Engine.FullLoad = full
	plan := []sim.Action{sim.Idle(5)}
	for range each {
		for _, g := range gears {
			plan = append(plan, sim.Pull(g, 2000, 5800))
		}
	}
	plan = append(plan, sim.Traffic(rng, 8, sim.MixedTraffic()))
	truth := sim.Drive(car, sim.LevelRoad(), plan, rng)
	logger := sim.NewLogger(sim.CANMulti)
	logger.Fast = append([]string{drive.EngineSpeed, drive.VehicleSpeed, drive.Throttle, drive.EngineLoad}, also...)
	logs := []*drive.Log{logger.Record(truth, rng)}
	cal, _ := calibrate.Learn(logs, car.Vehicle)
	f, w := inertia.Measure(logs, car.Vehicle, cal, inertia.Options{})
	return f, w, car
}

func method(f *inertia.Finding, name string) *inertia.Method {
	for i := range f.Methods {
		if f.Methods[i].Name == name {
			return &f.Methods[i]
		}
	}
	return nil
}

// Pulls with first gear among them tell the inertia within their own interval; without it the driver is told why not.
func TestPullsAreACrossCheckThatNeedsFirstGear(t *testing.T) {
	for number := range uint64(2) {
		f, _, car := pulled([]int{1, 2, 3}, 2, number)
		m := method(f, "gear_pulls")
		if m == nil {
			t.Errorf("no value from pulls in first to third gear")
			continue
		}
		t.Logf("%.3f ± %.3f, true %.3f", m.Inertia.Value, m.Inertia.SD, car.Inertia)
		if off := math.Abs(math.Log(m.Inertia.Value / car.Inertia)); off > 3*m.Inertia.SD/m.Inertia.Value {
			t.Errorf("%.3f ± %.3f kg m² from pulls, true %.3f", m.Inertia.Value, m.Inertia.SD, car.Inertia)
		}
	}
	f, w, car := pulled([]int{2, 3}, 2, 9)
	said := false
	for _, x := range w {
		said = said || x.Code == "pulls_cross_check" && strings.Contains(x.String(), "first gear")
	}
	if !said {
		t.Errorf("the need of first gear is not said: %v", w)
	}
	if m := method(f, "gear_pulls"); m != nil &&
		math.Abs(math.Log(m.Inertia.Value/car.Inertia)) > 3*m.Inertia.SD/m.Inertia.Value {
		t.Errorf("%.3f ± %.3f kg m² from second and third gear, true %.3f", m.Inertia.Value, m.Inertia.SD, car.Inertia)
	}
}

// Where no channel shows that the torque was the same in every gear, the value from pulls is less sure of itself.
func TestPullsWithoutATorqueChannelAreLessSure(t *testing.T) {
	for number := range uint64(1) {
		blind, _, _ := pulled([]int{1, 2, 3}, 2, number)
		seeing, _, car := pulled([]int{1, 2, 3}, 2, number, drive.IntakePressure)
		b, s := method(blind, "gear_pulls"), method(seeing, "gear_pulls")
		if b == nil || s == nil {
			t.Fatalf("no value from pulls: %v without manifold pressure, %v with it", b, s)
		}
		if wide, narrow := b.Inertia.SD/b.Inertia.Value, s.Inertia.SD/s.Inertia.Value; wide < 1.15*narrow {
			t.Errorf("sd %.1f %% without manifold pressure, %.1f %% with it", 100*wide, 100*narrow)
		}
		if off := math.Abs(math.Log(s.Inertia.Value / car.Inertia)); off > 3*s.Inertia.SD/s.Inertia.Value {
			t.Errorf("%.3f ± %.3f kg m² from pulls with manifold pressure, true %.3f", s.Inertia.Value, s.Inertia.SD,
				car.Inertia)
		}
	}
}
