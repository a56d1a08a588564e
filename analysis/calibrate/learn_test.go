package calibrate

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/numbers"
	"flywitness/sim"
	"flywitness/vehicle"
)

// drivenLog is twenty minutes of mixed driving of a car, as a link shows it.
func drivenLog(t *testing.T, number uint64, car sim.Car, lg sim.Logger) *drive.Log {
	t.Helper()
	rng := rand.New(rand.NewPCG(number, 1))
	truth := sim.Drive(car, sim.HillyRoad(rng, 0.015, 300),
		[]sim.Action{sim.Idle(5), sim.Traffic(rng, 20, sim.MixedTraffic())}, rng)
	return lg.Record(truth, rng)
}

func has(ws []finding.Finding, code finding.Code) bool {
	for _, w := range ws {
		if w.Code == code {
			return true
		}
	}
	return false
}

// trueLag is the delay of road speed against engine speed, which has a filter of its own.
func trueLag(lg sim.Logger, car sim.Car) float64 { return lg.SpeedLag + lg.SpeedFilter - car.RPMFilter }

func TestLearnBlind(t *testing.T) {
	numbers.Only(t)
	for _, link := range []sim.Link{sim.KLine, sim.CANSequential, sim.CANMulti} {
		for _, rounding := range []sim.Rounding{sim.Round, sim.Floor} {
			car := sim.BenchMule()
			lg := sim.NewLogger(link)
			lg.SpeedLag, lg.Rounding = 0.31, rounding
			cal, _ := Learn([]*drive.Log{drivenLog(t, 11, car, lg)}, nil)
			if len(cal.Gears) != 5 {
				t.Fatalf("%v: %d gears", link, len(cal.Gears))
			}
			for i, g := range cal.Gears {
				if g.Gear != i+1 {
					t.Errorf("%v: rung %d is called gear %d", link, i, g.Gear)
				}
				limit := 0.004
				if g.Gear == 1 {
					limit = 0.015 // never in it for long
				}
				want := car.Vehicle.RPMPerKmh(g.Gear)
				if e := g.RPMPerKmh.Value/want - 1; math.Abs(e) > limit {
					t.Errorf("%v %v gear %d: %.2f rpm per km/h, true %.2f", link, rounding, g.Gear, g.RPMPerKmh.Value, want)
				}
				if sd := g.RPMPerKmh.SD / want; g.Gear > 2 && sd > 0.001 { // a tyre is as round
					t.Errorf("%v %v gear %d: known to %.4f of it", link, rounding, g.Gear, sd)
				}
			}
			if e := cal.SpeedLag.Value - trueLag(lg, car); math.Abs(e) > 0.03 || cal.SpeedLag.SD > 0.01 {
				t.Errorf("%v %v: lag %.3f s, true %.3f", link, rounding, cal.SpeedLag.Value, trueLag(lg, car))
			}
			want := [...]string{"round", "floor"}[rounding]
			if cal.SpeedRounding != want && cal.SpeedRounding != "unknown" {
				t.Errorf("%v: rounding %s, true %s", link, cal.SpeedRounding, want)
			}
			if cal.SpeedStep != 1 {
				t.Errorf("%v: speed step %v", link, cal.SpeedStep)
			}
		}
	}
}

// Where rounding cannot be told, a gear is known to what it leaves open: the true ratio lies within the interval, with
// a speed that is rounded as with one that is cut off, also that of a gear seldom driven.
func TestGearsOfUnknownRounding(t *testing.T) {
	numbers.Only(t)
	for _, rounding := range []sim.Rounding{sim.Round, sim.Floor} {
		for number := range uint64(4) {
			car, lg := sim.BenchMule(), sim.NewLogger(sim.KLine)
			lg.RateHz, lg.Rounding = 0.7, rounding
			cal, _ := Learn([]*drive.Log{drivenLog(t, 40+number, car, lg)}, nil)
			if len(cal.Gears) < 3 || cal.SpeedRounding != "unknown" {
				t.Fatalf("%d gears, rounding %s", len(cal.Gears), cal.SpeedRounding)
			}
			// Whoever takes two neighbouring values for one moment is wrong by half an interval at most: hundreds of them
			// tell a delay to a tenth.
			if e, want, half := cal.SpeedLag, trueLag(lg, car), 0.1/lg.RateHz; e.CI95[0] > want || e.CI95[1] < want || e.CI95[1]-e.CI95[0] > 2*half {
				t.Errorf("drive %d, %v: lag %+v, true %.2f s", number, rounding, e, want)
			}
			for _, g := range cal.Gears {
				e, want := g.RPMPerKmh, car.Vehicle.RPMPerKmh(g.Gear)
				if g.Gear >= 2 && (e.CI95[0] > want || e.CI95[1] < want || e.CI95[1]-e.CI95[0] > 0.08*want) {
					t.Errorf("drive %d, %v, gear %d: %.2f (%.2f-%.2f), true %.2f", number, rounding, g.Gear, e.Value,
						e.CI95[0], e.CI95[1], want)
				}
			}
		}
	}
}

func TestKnownRatiosFillRareGears(t *testing.T) {
	car := sim.BenchMule()
	rng := rand.New(rand.NewPCG(2, 2))
	truth := sim.Drive(car, sim.LevelRoad(), []sim.Action{sim.Accelerate(60), sim.Cruise(60, 120), sim.Cruise(75, 120)},
		rng)
	cal, _ := Learn([]*drive.Log{sim.NewLogger(sim.CANSequential).Record(truth, rng)}, car.Vehicle)
	if len(cal.Gears) != 5 {
		t.Fatalf("%d gears of a vehicle file with five", len(cal.Gears))
	}
	for _, g := range cal.Gears {
		if e := g.RPMPerKmh.Value/car.Vehicle.RPMPerKmh(g.Gear) - 1; math.Abs(e) > 0.012 {
			t.Errorf("gear %d: off by %.2f %%", g.Gear, 100*e)
		}
	}
}

func TestWrongRatiosAreRefused(t *testing.T) {
	numbers.Only(t)
	car := sim.BenchMule()
	wrong := *car.Vehicle
	wrong.Gearbox.Ratios = []float64{4.2, 2.6, 1.7, 1.21, 0.9}
	cal, warnings := Learn([]*drive.Log{drivenLog(t, 5, car, sim.NewLogger(sim.CANSequential))}, &wrong)
	if !has(warnings, finding.RatiosRefused) {
		t.Errorf("ratios of another gearbox were taken; warnings %v", warnings)
	}
	if len(cal.Gears) < 4 {
		t.Errorf("%d gears found blind", len(cal.Gears))
	}
}

// A mistyped ratio, a gear left out, one too many, a wrong final drive or tyre: the gearing is that of the car
// all the same, and it is said.
func TestMistypedRatiosDoNotBendTheLadder(t *testing.T) {
	numbers.Only(t)
	scaled := func(gear int, by float64) func(v *vehicle.Vehicle) {
		return func(v *vehicle.Vehicle) { v.Gearbox.Ratios[gear-1] *= by }
	}
	for _, c := range []struct {
		name string
		make func(v *vehicle.Vehicle)
		said bool
	}{
		{"as it is", func(*vehicle.Vehicle) {}, false},
		{"second 15 % up", scaled(2, 1.15), true},
		{"third 12 % down", scaled(3, 0.88), true},
		{"fourth 5 % up", scaled(4, 1.05), true},
		{"fifth 5 % up", scaled(5, 1.05), true},
		{"final drive a fifth down", func(v *vehicle.Vehicle) { v.Gearbox.FinalDrive *= 0.8 }, true},
		{"tyre a tenth smaller", func(v *vehicle.Vehicle) { v.RollingCircumference *= 0.9 }, false},
		{"third left out", func(v *vehicle.Vehicle) { v.Gearbox.Ratios = slices.Delete(v.Gearbox.Ratios, 2, 3) }, true},
		{"a sixth that is not there", func(v *vehicle.Vehicle) { v.Gearbox.Ratios = append(v.Gearbox.Ratios, 0.68) }, false},
		{"fifth left out", func(v *vehicle.Vehicle) { v.Gearbox.Ratios = v.Gearbox.Ratios[:4] }, true},
	} {
		car := sim.BenchMule()
		v := *car.Vehicle
		v.Gearbox.Ratios = slices.Clone(v.Gearbox.Ratios)
		c.make(&v)
		cal, warnings := Learn([]*drive.Log{drivenLog(t, 25, car, sim.NewLogger(sim.CANSequential))}, &v)
		if said := has(warnings, finding.RatioOff) || has(warnings, finding.RatiosRefused); said != c.said {
			t.Errorf("%s: said %v (%v)", c.name, said, warnings)
		}
		for g := 2; g <= 5; g++ {
			best := math.Inf(1)
			for _, x := range cal.Gears {
				best = math.Min(best, math.Abs(x.RPMPerKmh.Value/car.Vehicle.RPMPerKmh(g)-1))
			}
			if best > 0.01 {
				t.Errorf("%s: gear %d is off by %.1f %% at least", c.name, g, 100*best)
			}
		}
	}
}

// The gears of a car with a tall final drive pass for taller ones of an ordinary car. A file with two wrong ratios is
// refused, and numbers them all the same.
func TestARefusedFileNumbersTheGears(t *testing.T) {
	numbers.Only(t)
	car := sim.BenchMule()
	v := *car.Vehicle
	v.Gearbox.FinalDrive *= 0.7
	car.Vehicle = &v
	wrong := v
	wrong.Gearbox.Ratios = slices.Clone(v.Gearbox.Ratios)
	wrong.Gearbox.Ratios[1], wrong.Gearbox.Ratios[3] = 2.13, 0.95
	cal, warnings := Learn([]*drive.Log{drivenLog(t, 25, car, sim.NewLogger(sim.CANSequential))}, &wrong)
	if !has(warnings, finding.RatiosRefused) {
		t.Fatalf("not refused: %v", warnings)
	}
	for _, x := range cal.Gears {
		if off := x.RPMPerKmh.Value/v.RPMPerKmh(x.Gear) - 1; math.Abs(off) > 0.03 {
			t.Errorf("gear %d at %.1f rpm per km/h, the car's at %.1f", x.Gear, x.RPMPerKmh.Value, v.RPMPerKmh(x.Gear))
		}
	}
}

// A dial that adds to the speed moves the gears that are driven slowly by some per cent: the file stands, its gears fit
// once that is taken off, and no ratio is blamed. Where one is wrong beside it, that is still said.
func TestADialThatAddsBlamesNoFile(t *testing.T) {
	numbers.Only(t)
	for _, c := range []struct {
		link               sim.Link
		adds, third, final float64
		said               bool
	}{
		{sim.CANSequential, 1.5, 1, 1, false},
		{sim.CANSequential, 3, 1, 1, false},
		{sim.CANSequential, 3, 1.06, 1, true},
		{sim.CANSequential, 0, 1.06, 1, true},
		{sim.CANSequential, 0, 1, 0.8, true},
		{sim.KLine, 3, 1, 1, false},
	} {
		car, lg := sim.BenchMule(), sim.NewLogger(c.link)
		lg.Dial.Offset = c.adds
		v := *car.Vehicle
		v.Gearbox.Ratios = slices.Clone(v.Gearbox.Ratios)
		v.Gearbox.Ratios[2] *= c.third
		v.Gearbox.FinalDrive *= c.final
		cal, warnings := Learn([]*drive.Log{drivenLog(t, 25, car, lg)}, &v)
		if said := has(warnings, finding.RatioOff) || has(warnings, finding.RatiosRefused); said != c.said {
			t.Errorf("%+v: said %v (%v)", c, said, warnings)
		}
		if took := -cal.model.Offset; c.adds == 0 && took > 0.6 {
			t.Errorf("%+v: %.1f km/h taken off", c, took)
		}
		for _, x := range cal.Gears {
			if off := x.RPMPerKmh.Value/car.Vehicle.RPMPerKmh(x.Gear) - 1; !c.said && math.Abs(off) > 0.015 {
				t.Errorf("%+v: gear %d is off by %.1f %%", c, x.Gear, 100*off)
			}
		}
	}
}

// The mean of four speeds that the car cut off to whole km/h lies half a km/h low, and not an eighth, though it comes in
// steps of a quarter.
func TestGearsOfAMeanOfWholeSpeeds(t *testing.T) {
	numbers.Only(t)
	car, lg := sim.BenchMule(), sim.NewLogger(sim.CANMulti)
	lg.Rounding = sim.Floor
	l := drivenLog(t, 25, car, lg)
	speed := l.Channel(drive.VehicleSpeed)
	of := slices.Clone(speed.V)
	for i := range speed.V {
		sum := 0.0
		for k := range 4 {
			sum += of[max(0, i-k)]
		}
		speed.V[i] = sum / 4
	}
	cal, _ := Learn([]*drive.Log{l}, nil)
	for _, x := range cal.Gears {
		true := car.Vehicle.RPMPerKmh(x.Gear)
		if x.Seconds > 30 && math.Abs(x.RPMPerKmh.Value-true) > 3*x.RPMPerKmh.SD {
			t.Errorf("gear %d: %.3f ± %.3f, true %.3f", x.Gear, x.RPMPerKmh.Value, x.RPMPerKmh.SD, true)
		}
	}
}

// Six minutes do not tell how a dial rounds that adds 3 km/h: its gears are those of the car all the same.
func TestADialThatAddsAndMayRoundEitherWay(t *testing.T) {
	numbers.Only(t)
	rng := rand.New(rand.NewPCG(5, 1))
	car, lg := sim.BenchMule(), sim.NewLogger(sim.CANSequential)
	lg.Dial.Offset = 3
	road := sim.HillyRoad(rng, 0.015, 300)
	truth := sim.Drive(car, road, []sim.Action{sim.Idle(5), sim.Traffic(rng, 6, sim.MixedTraffic())}, rng)
	cal, warnings := Learn([]*drive.Log{lg.Record(truth, rng)}, car.Vehicle)
	if !has(warnings, finding.RoundingOpen) || cal.model.Offset > -2 {
		t.Fatalf("offset %.1f km/h, %v", cal.model.Offset, warnings)
	}
	for _, x := range cal.Gears {
		if off := x.RPMPerKmh.Value/car.Vehicle.RPMPerKmh(x.Gear) - 1; math.Abs(off) > 0.01 {
			t.Errorf("gear %d is off by %.1f %%", x.Gear, 100*off)
		}
	}
}

// On snow, on a slow link without a load, a delay that is a tenth of a second too long takes the creep of the driven
// wheels for itself. Another delay fits as well, with the creep in it, so nothing tells that the speed is theirs. Where
// it is, no other fit takes away what the log tells.
func TestADelayMayHideTheCreep(t *testing.T) {
	numbers.Only(t)
	for source, theirs := range map[vehicle.SpeedSource]bool{vehicle.SourceUndriven: false, vehicle.SourceDriven: true} {
		rng := rand.New(rand.NewPCG(24, 77))
		car := sim.BenchMule()
		v := *car.Vehicle
		v.SpeedSource = source
		car.Vehicle, car.Tyre.Creep, car.Tyre.Brush = &v, 0.12, true
		road := sim.HillyRoad(rng, 0.015, 300)
		road.Mu = 0.25
		plan := []sim.Action{sim.Traffic(rng, 8, sim.TrafficOptions{Motorway: 0.6, Road: 0.4, PullsPerHour: 20})}
		truth := sim.Drive(car, road, plan, rng)
		lg := sim.NewLogger(sim.KLine)
		lg.Fast, lg.Slow = []string{drive.EngineSpeed, drive.VehicleSpeed}, []string{drive.CoolantTemp}
		cal, _ := Learn([]*drive.Log{lg.Record(truth, rng)}, nil)
		if nats := cal.model.DrivenNats; nats > 0 != theirs {
			t.Errorf("speed of the %s wheels: %.1f nats for the driven ones", source, nats)
		}
	}
}

func TestCreepOfAnUndrivenSource(t *testing.T) {
	numbers.Only(t)
	for _, source := range []vehicle.SpeedSource{vehicle.SourceDriven, vehicle.SourceUndriven} {
		car := sim.BenchMule()
		v := *car.Vehicle
		v.SpeedSource = source
		car.Vehicle = &v
		car.Tyre.Creep = 0.035
		cal, _ := Learn([]*drive.Log{drivenLog(t, 8, car, sim.NewLogger(sim.CANSequential))}, nil)
		switch {
		case source == vehicle.SourceDriven && cal.Creep != nil:
			t.Errorf("driven wheels creep by %.3f", cal.Creep.Value)
		case source == vehicle.SourceUndriven && cal.Creep == nil:
			t.Error("creep not seen")
		case source == vehicle.SourceUndriven && math.Abs(cal.Creep.Value-0.035) > 0.015:
			t.Errorf("creep %.3f, true 0.035", cal.Creep.Value)
		}
	}
}

// A clutch that slips at the top must not bend what is learnt.
func TestSlipDoesNotBendTheLadder(t *testing.T) {
	numbers.Only(t)
	car := sim.BenchMule()
	peak, _ := car.Engine.PeakNm()
	car.Clutch.Capacity = 0.85 * peak
	cal, _ := Learn([]*drive.Log{drivenLog(t, 21, car, sim.NewLogger(sim.CANSequential))}, nil)
	for _, g := range cal.Gears {
		if want := car.Vehicle.RPMPerKmh(g.Gear); g.Gear >= 2 && math.Abs(g.RPMPerKmh.Value/want-1) > 0.004 {
			t.Errorf("gear %d: %.2f, true %.2f", g.Gear, g.RPMPerKmh.Value, want)
		}
	}
}

func TestNothingToLearn(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	car := sim.BenchMule()
	idle := sim.NewLogger(sim.CANSequential).Record(sim.Drive(car, sim.LevelRoad(),
		[]sim.Action{sim.Idle(60), sim.FreeRev(3500)}, rng), rng)
	noSpeed := &drive.Log{Channels: []*drive.Channel{idle.Channel(drive.EngineSpeed)}}
	for _, c := range []struct {
		what string
		logs []*drive.Log
		code finding.Code
	}{
		{"idle only", []*drive.Log{idle}, finding.NothingDriven},
		{"no speed", []*drive.Log{noSpeed}, finding.NoSignals},
		{"no log", nil, finding.NoSignals},
		{"empty log", []*drive.Log{{}}, finding.NoSignals},
	} {
		cal, warnings := Learn(c.logs, nil)
		if cal == nil || cal.Gears == nil || len(cal.Gears) != 0 || cal.SpeedLag != nil {
			t.Errorf("%s: learnt %+v", c.what, cal)
		}
		if !has(warnings, c.code) {
			t.Errorf("%s: warnings %v, want %s", c.what, warnings, c.code)
		}
	}
}

func TestHostileSamples(t *testing.T) {
	numbers.Only(t)
	l := drivenLog(t, 3, sim.BenchMule(), sim.NewLogger(sim.CANSequential))
	rpm, speed := l.Channel(drive.EngineSpeed), l.Channel(drive.VehicleSpeed)
	rpm.V[10], rpm.T[20], speed.V[30], speed.T[40] = math.NaN(), math.NaN(), math.Inf(1), math.Inf(-1)
	rpm.T[50] = -1e9
	speed.V[60] = -4
	cal, _ := Learn([]*drive.Log{l}, nil)
	if len(cal.Gears) != 5 {
		t.Errorf("%d gears", len(cal.Gears))
	}
}

func TestNumberingKnowsGaps(t *testing.T) {
	for _, c := range []struct {
		k    []float64
		want []int
	}{
		{[]float64{118, 67, 47, 35.7, 28.8}, []int{1, 2, 3, 4, 5}},
		{[]float64{71, 47.3, 35.1, 28.7}, []int{2, 3, 4, 5}},
		{[]float64{113, 61, 39.5, 28.5, 22.8, 18.6}, []int{1, 2, 3, 4, 5, 6}},
	} {
		var rungs []rung
		for _, k := range c.k {
			rungs = append(rungs, rung{k: k})
		}
		number(rungs)
		for i, r := range rungs {
			if r.number != c.want[i] {
				t.Errorf("%v: rung %.1f is gear %d, want %d", c.k, r.k, r.number, c.want[i])
			}
		}
	}
}

// Three seconds are no delay of a car, a receiver or a link: the time stamps are wrong, and that is said
// instead of a lag. Engine speed may be the late one.
func TestDelayBeyondAllCars(t *testing.T) {
	numbers.Only(t)
	for late, want := range map[float64]bool{-0.9: true, 1.2: true, 3: false, -3: false} {
		l := drivenLog(t, 11, sim.BenchMule(), sim.NewLogger(sim.CANSequential))
		speed := l.Channel(drive.VehicleSpeed)
		for i := range speed.T {
			speed.T[i] += late
		}
		cal, warnings := Learn([]*drive.Log{l}, sim.BenchMule().Vehicle)
		if told := cal.SpeedLag != nil; told != want || has(warnings, finding.LagOpen) == want {
			t.Errorf("%g s late: lag %+v, warnings %v", late, cal.SpeedLag, warnings)
		}
	}
}

// Steps of engine speed are those that its changes have in common; a signal without any has none.
func TestStepsOfEngineSpeed(t *testing.T) {
	for step, want := range map[float64]float64{0.25: 0, 10: 10, 50: 50} {
		rng := rand.New(rand.NewPCG(8, 4))
		s := &series{}
		for i := range 4000 {
			n := 2500 + 1500*math.Sin(float64(i)/40) + 5*rng.NormFloat64()
			s.RPM = append(s.RPM, step*math.Round(n/step))
		}
		p := &pool{logs: []*series{s}}
		if got := p.commonStep(func(s *series) []float64 { return s.RPM }, mostRPMStep, fineRPMStep); got != want {
			t.Errorf("steps of %g rpm: %g found", step, got)
		}
	}
}

// A car has no other gears than those of a vehicle file that the log bears out; without a file, or with one that it
// does not bear out, it may have.
func TestGearsThatAreAll(t *testing.T) {
	numbers.Only(t)
	car := sim.BenchMule()
	log := []*drive.Log{drivenLog(t, 11, car, sim.NewLogger(sim.CANSequential))}
	wrong := *car.Vehicle
	wrong.Gearbox.Ratios = nil
	for _, x := range car.Vehicle.Gearbox.Ratios {
		wrong.Gearbox.Ratios = append(wrong.Gearbox.Ratios, 1.13*x*x)
	}
	for _, c := range []struct {
		what string
		veh  *vehicle.Vehicle
		want bool
	}{{"its file", car.Vehicle, true}, {"no file", nil, false}, {"the file of another gearbox", &wrong, false}} {
		cal, _ := Learn(log, c.veh)
		if got := cal.Model().Complete; got != c.want {
			t.Errorf("%s: complete %v", c.what, got)
		}
	}
}

// Forty seconds of driving teach a gear and the delay, ten do not.
func TestWhatAShortDriveTeaches(t *testing.T) {
	for seconds, gears := range map[float64]int{40: 1, 10: 0} {
		rpm, speed := &drive.Channel{Name: drive.EngineSpeed}, &drive.Channel{Name: drive.VehicleSpeed}
		for i := range int(20 * seconds) {
			at := 0.05 * float64(i)
			v := 60 + 6*math.Sin(2*math.Pi*at/10)
			rpm.T, rpm.V = append(rpm.T, at), append(rpm.V, 38*v)
			speed.T, speed.V = append(speed.T, at+0.3), append(speed.V, v)
		}
		cal, _ := Learn([]*drive.Log{{Channels: []*drive.Channel{rpm, speed}}}, nil)
		if len(cal.Gears) != gears || (cal.SpeedLag != nil) != (gears > 0) {
			t.Errorf("%.0f s: %d gears, delay %v", seconds, len(cal.Gears), cal.SpeedLag)
		} else if gears > 0 && (math.Abs(cal.Gears[0].RPMPerKmh.Value-38) > 0.1 || math.Abs(cal.SpeedLag.Value-0.3) > 0.01) {
			t.Errorf("%.2f rpm per km/h, late by %.3f s", cal.Gears[0].RPMPerKmh.Value, cal.SpeedLag.Value)
		}
	}
}
