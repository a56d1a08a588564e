package calibrate

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/numbers"
	"flywitness/sim"
	"flywitness/vehicle"
)

// shownDrive is a pool of one log, a value of each signal every fifth of a second: an engine of 100 rpm per km/h and
// then of 50, and the speed that shows for a true one at a time.
func shownDrive(seconds [2]float64, true func(t float64) float64, shown func(t, v float64) float64) (*pool, *choice) {
	s := &series{gap: 1}
	c := &choice{gear: make([][]int8, 1)}
	for i := range int(5 * (seconds[0] + seconds[1])) {
		t := float64(i) / 5
		gear, k := int8(0), 100.0
		if t >= seconds[0] {
			gear, k = 1, 50
		}
		v := true(t)
		s.RPMT, s.RPM = append(s.RPMT, t), append(s.RPM, k*v)
		s.SpeedT, s.Speed = append(s.SpeedT, t), append(s.Speed, shown(t, v))
		s.dt, c.gear[0] = append(s.dt, 0.2), append(c.gear[0], gear)
	}
	s.place = s.places()
	return &pool{logs: []*series{s}, period: 0.2}, c
}

// knownAt is the relative standard deviation of the gears of a drive: in all, and at the speeds that they were driven at.
func knownAt(p *pool, c *choice, known prior) (sd, near [2]float64, s *solution) {
	rungs := []rung{{number: 1, k: 100}, {number: 2, k: 50}}
	s = p.fitOffset(rungs, 0, known, c, p.fitRows(c))
	for i := range rungs {
		own := make([]float64, 2)
		own[i] = 1
		sd[i], near[i] = s.logSD(own, 0), s.logSD(own, s.speed(i, false))
	}
	return sd, near, s
}

// The speed of each ten seconds is off by 0.4 km/h one way or the other. What a gear shows that was driven in for six of
// them is off as well, though nothing of it is left over once its ratio is fitted.
func TestTenSecondsTellNoMoreThanTenSeconds(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	off := make([]float64, 40)
	for i := range off {
		off[i] = 0.4 * rng.NormFloat64()
	}
	p, c := shownDrive([2]float64{300, 6}, func(t float64) float64 { return 40 + 10*math.Sin(t/7) },
		func(t, v float64) float64 { return v + off[int(t/10)] })
	sd, _, _ := knownAt(p, c, prior{})
	if often, once := 40*sd[0], 40*sd[1]; often > 0.15 || once < 0.25 || once > 0.6 {
		t.Errorf("gears known to %.2f km/h after five minutes, to %.2f after six seconds", often, once)
	}
}

// Minutes at 10.9 km/h, which shows as 10, do not tell a gear: it may be a twelfth lower, and nothing averages out.
func TestOneSpeedIsRoundedOneWay(t *testing.T) {
	for _, x := range []struct {
		swing, low, high float64 // km/h
	}{{0.02, 0.25, 0.45}, {6, 0.02, 0.12}} {
		p, c := shownDrive([2]float64{120, 0}, func(t float64) float64 { return 10.9 + x.swing*(1+math.Sin(t/5)) },
			func(t, v float64) float64 { return math.Floor(v) })
		p.step = 1
		_, near, s := knownAt(p, c, prior{at: 0.25, sd: 0.25})
		if got := s.speed(0, false) * near[0]; got < x.low || got > x.high {
			t.Errorf("%.1f km/h up and down: known to %.2f km/h", x.swing, got)
		}
	}
}

// An engine speed in steps of 50 rpm is rounded, or 25 rpm low: at 2500 rpm that is a hundredth, however long it lasts.
func TestStepsOfEngineSpeedLeaveTheGearOpen(t *testing.T) {
	p, c := shownDrive([2]float64{300, 300}, func(t float64) float64 { return 25 + 5*math.Sin(t/7) },
		func(t, v float64) float64 { return v })
	for step, want := range map[float64]float64{0: 0.0001, 50: 0.005} {
		p.rpmStep = step
		if sd, _, _ := knownAt(p, c, prior{}); math.Abs(sd[0]-want) > 0.2*want+0.0002 {
			t.Errorf("steps of %.0f rpm: known to %.4f", step, sd[0])
		}
	}
}

// A dial that adds 1 km/h, and one of which nothing is known but that it may add 4: gears are known at the speed that
// they were driven at. Driven at one speed alone they are open elsewhere, by the offset; driven at many they show it.
func TestOffsetIsOpenWhereOneSpeedWasDriven(t *testing.T) {
	for _, x := range []struct{ swing, low, high float64 }{{0.01, 0.05, 0.15}, {15, 0, 0.002}} {
		p, c := shownDrive([2]float64{300, 300}, func(t float64) float64 { return 40 + x.swing*math.Sin(t/7) },
			func(t, v float64) float64 { return v + 1 })
		sd, near, s := knownAt(p, c, prior{sd: dialSD})
		if sd[1] < x.low || sd[1] > x.high || near[1] > 0.005 {
			t.Errorf("%.2f km/h up and down: known to %.3f, %.3f about 40 km/h", x.swing, sd[1], near[1])
		}
		if x.swing > 1 && math.Abs(s.offset+1) > 0.1 {
			t.Errorf("offset %.2f km/h", s.offset)
		}
	}
}

// Of a value a second, lines from one to the next cut corners: an offset is known to a tenth at best.
func TestASlowLinkLeavesTheOffsetOpen(t *testing.T) {
	p, c := shownDrive([2]float64{300, 300}, func(t float64) float64 { return 40 + 15*math.Sin(t/7) },
		func(t, v float64) float64 { return v })
	for coarse, want := range map[bool]float64{false: 0, true: offsetLeft} {
		p.coarse = coarse
		_, near, s := knownAt(p, c, prior{sd: dialSD})
		if got := s.sd(4); math.Abs(got-want) > 0.01 || near[0] > 0.0005 {
			t.Errorf("coarse %v: offset known to %.3f km/h, a gear to %.5f where it was driven", coarse, got, near[0])
		}
	}
}

// A gear of the ladder that no settled driving shows is where its peak lies, and no better known.
func TestGearThatNeverSettled(t *testing.T) {
	p, c := shownDrive([2]float64{300, 0}, func(t float64) float64 { return 40 + 15*math.Sin(t/7) },
		func(t, v float64) float64 { return v })
	rungs := []rung{{number: 1, k: 100}, {number: 2, k: 50}}
	l := &learner{pool: p, cal: &Calibration{}}
	l.tie(rungs, p.fit(rungs, 0, 0, c, p.fitRows(c)))
	if rungs[0].sd > 0.1 || rungs[1].sd < 1 {
		t.Errorf("known to ± %.2f and ± %.2f rpm per km/h", rungs[0].sd, rungs[1].sd)
	}
}

// A dial that adds 4 km/h is seen without any file, and values drawn on a curve through speeds that were cut off lie half
// a km/h low though they have no steps. The gears are those of the car, within what is told of them.
func TestGearsBehindAnOffset(t *testing.T) {
	numbers.Only(t)
	for _, x := range []struct {
		name  string
		adds  float64
		drawn bool
		off   [2]float64 // km/h that the offset lies between
	}{{"dial", 4, false, [2]float64{-4.2, -3.2}}, {"drawn", 0, true, [2]float64{0.3, 0.65}}} {
		car, lg := sim.BenchMule(), sim.NewLogger(sim.CANSequential)
		lg.Dial.Offset, lg.Rounding = x.adds, sim.Floor
		l := drivenLog(t, 25, car, lg)
		if x.drawn {
			l = sim.Resampled(l, 4, sim.Spline)
		}
		cal, _ := Learn([]*drive.Log{l}, nil)
		if o := cal.model.Offset; o < x.off[0] || o > x.off[1] {
			t.Errorf("%s: offset %.2f km/h", x.name, o)
		}
		if x.adds > 0 && cal.SpeedRounding != "unknown" { // any way of rounding may be a part of what it adds
			t.Errorf("%s: rounding %s", x.name, cal.SpeedRounding)
		}
		if len(cal.Gears) < 4 {
			t.Fatalf("%s: %d gears", x.name, len(cal.Gears))
		}
		for _, g := range cal.Gears {
			e, true := g.RPMPerKmh, car.Vehicle.RPMPerKmh(g.Gear)
			if math.Abs(e.Value-true) > 3*e.SD || g.Gear > 1 && e.SD > 0.01*true {
				t.Errorf("%s: gear %d: %.2f ± %.2f, true %.2f", x.name, g.Gear, e.Value, e.SD, true)
			}
		}
	}
}

// A dial that grows by 4 % at 100 km/h bends the speeds as an offset does that takes a km/h from each. None does: the
// offset stays what rounding makes, and how speed is rounded stays open.
func TestADialThatGrowsIsNoOffset(t *testing.T) {
	numbers.Only(t)
	car, lg := sim.BenchMule(), sim.NewLogger(sim.CANSequential)
	lg.Dial.Growth, lg.Rounding = 0.04, sim.Floor
	cal, _ := Learn([]*drive.Log{drivenLog(t, 25, car, lg)}, nil)
	if cal.model.Offset > 0.51 || cal.SpeedRounding != "unknown" {
		t.Errorf("offset %.2f km/h, rounding %s", cal.model.Offset, cal.SpeedRounding)
	}
	for _, g := range cal.Gears {
		switch off := g.RPMPerKmh.Value/car.Vehicle.RPMPerKmh(g.Gear) - 1; {
		case g.Gear > 1 && (off < -0.045 || off > 0): // a dial reads high
			t.Errorf("gear %d is off by %.1f %%", g.Gear, 100*off)
		case g.Gear == 2 && g.RPMPerKmh.SD < 0.004*g.RPMPerKmh.Value: // a quarter of a km/h at 40
			t.Errorf("gear 2 is known to %.2f %%", 100*g.RPMPerKmh.SD/g.RPMPerKmh.Value)
		}
	}
}

// What is known of an offset before the log is asked.
func TestOffsetsOfSpeeds(t *testing.T) {
	for _, x := range []struct {
		name string
		pool pool
		want prior
	}{
		{"whole km/h", pool{channel: drive.VehicleSpeed, step: 1}, prior{0.25, 0.25}},
		{"means of four of them", pool{channel: drive.VehicleSpeed, step: 0.25}, prior{0.25, 0.25}},
		{"a curve through them", pool{channel: drive.VehicleSpeed}, prior{0.25, 0.25}},
		{"a receiver", pool{channel: drive.GPSSpeed}, prior{0, offsetLeft}},
		{"a dial that was seen to add 3 km/h", pool{channel: drive.VehicleSpeed, step: 1, adds: 3}, prior{-3, dialSD}},
	} {
		if got := x.pool.offsetKnown(); got != x.want {
			t.Errorf("%s: %+v", x.name, got)
		}
	}
}

// A gear that was not driven in is known no better than papers tell a ratio, however well the others are.
func TestPapersTellAGearThatWasNotDriven(t *testing.T) {
	rungs := ladderOf(100, 120, 70, 50, 38)
	rungs[3].seconds = 0
	s := &solution{way: make([]float64, 4), seconds: []float64{100, 100, 100, 0}, cov: mat.NewDense(7, 7, nil)}
	for _, r := range rungs {
		s.inverse = append(s.inverse, 1/r.k)
	}
	l := &learner{told: true, cal: &Calibration{}, warn: func(finding.Code, ...finding.Value) {},
		veh: &vehicle.Vehicle{Gearbox: vehicle.Gearbox{Ratios: []float64{3.6, 2.1, 1.5, 1.14}}}}
	l.tie(rungs, s)
	least := ratioSD(1.14, 2)
	if sd := rungs[3].sd / rungs[3].k; sd < least || sd > 2*least || rungs[2].sd/rungs[2].k > least/2 {
		t.Errorf("known to %.4f, the gear below to %.4f", sd, rungs[2].sd/rungs[2].k)
	}
}

// Whoever creeps along in first for a minute and a half, at 10.9 km/h that show as 10, shows the scale of his ladder to
// some per cent: no gear of his file is better known than that.
func TestWalkingPaceTellsNoLadder(t *testing.T) {
	numbers.Only(t)
	p, c := shownDrive([2]float64{90, 0}, func(t float64) float64 { return 10.9 + 0.1*math.Sin(t/5) },
		func(t, v float64) float64 { return math.Floor(v) })
	p.step = 1
	rungs := []rung{{number: 1, k: 100}, {number: 2, k: 50}}
	s, _ := p.pickRounding(rungs, 0, c)
	rungs = s.rungs(rungs)
	l := &learner{pool: p, cal: &Calibration{}, told: true, warn: func(finding.Code, ...finding.Value) {},
		veh: &vehicle.Vehicle{Gearbox: vehicle.Gearbox{Ratios: []float64{4, 2}}}}
	l.tie(rungs, s)
	for i, r := range rungs {
		if off := r.k/[]float64{100, 50}[i] - 1; math.Abs(off) > 2.5*r.sd/r.k || r.sd < 0.02*r.k {
			t.Errorf("gear %d: off by %.1f %%, known to %.1f %%", r.number, 100*off, 100*r.sd/r.k)
		}
	}
}

// A peak that a dial moved away from its gear, which fits the file once that is taken off, contradicts nothing.
func TestAPeakThatADialMovedContradictsNoFile(t *testing.T) {
	for off, want := range map[float64]int{1.001: 0, 1.06: 1} {
		rungs := ladderOf(100, 120, 70, 50, 38)
		rungs[2].k *= off
		rungs[2].wrong = true
		s := &solution{inverse: make([]float64, 4), way: make([]float64, 4), seconds: []float64{100, 100, 100, 100}}
		l := &learner{told: true, cal: &Calibration{}, warn: func(finding.Code, ...finding.Value) {},
			veh: &vehicle.Vehicle{Gearbox: vehicle.Gearbox{Ratios: []float64{3.6, 2.1, 1.5, 1.14}}}}
		l.tie(rungs, s)
		if len(l.cal.OffFile) != want {
			t.Errorf("off by %.3f: gears off the file %v", off, l.cal.OffFile)
		}
	}
}

// A gear that is known to a hundredth, and two hundredths and a half off its place in the file, contradicts nothing; one
// that is known to a thousandth does.
func TestAGearThatIsHardlyKnownContradictsNoFile(t *testing.T) {
	for sd, want := range map[float64]int{0.001: 1, 0.01: 0} {
		rungs := ladderOf(100, 120, 70, 50, 38)
		rungs[2].k *= 1.025
		s := &solution{way: make([]float64, 4), seconds: []float64{100, 100, 100, 100}, cov: mat.NewDense(7, 7, nil)}
		for i, r := range rungs {
			s.inverse = append(s.inverse, 1/r.k)
			s.cov.Set(i, i, stats.Square(0.001/r.k))
		}
		s.cov.Set(2, 2, stats.Square(sd/rungs[2].k))
		l := &learner{told: true, cal: &Calibration{}, warn: func(finding.Code, ...finding.Value) {},
			veh: &vehicle.Vehicle{Gearbox: vehicle.Gearbox{Ratios: []float64{3.6, 2.1, 1.5, 1.14}}}}
		l.tie(rungs, s)
		if len(l.cal.OffFile) != want {
			t.Errorf("third gear known to %.3f: gears off the file %v", sd, l.cal.OffFile)
		}
	}
}

// First, which is driven through the tightest bends and while cars set off, may be off its place by what no taller gear
// is; a ratio that is mistyped is further off.
func TestFirstContradictsAFileByMore(t *testing.T) {
	for _, c := range []struct{ gear, want int }{{0, 0}, {1, 1}} {
		rungs := ladderOf(100, 120, 70, 50, 38)
		rungs[c.gear].k *= 1.04
		s := &solution{inverse: make([]float64, 4), way: make([]float64, 4), seconds: []float64{100, 100, 100, 100}}
		l := &learner{told: true, cal: &Calibration{}, warn: func(finding.Code, ...finding.Value) {},
			veh: &vehicle.Vehicle{Gearbox: vehicle.Gearbox{Ratios: []float64{3.6, 2.1, 1.5, 1.14}}}}
		l.tie(rungs, s)
		if len(l.cal.OffFile) != c.want {
			t.Errorf("gear %d: gears off the file %v", c.gear+1, l.cal.OffFile)
		}
	}
}

// A gear that was learnt at 12 km/h alone may lie some per cent off at 100 if the dial is half a kilometre per hour off, whatever
// is known of tyres.
func TestOffsetMovesAGearThatWasLearntSlowly(t *testing.T) {
	cal := &Calibration{logs: 1}
	tr := lightDrive(0, 30, 110, asExpected)
	tr.Clutch = make([]gearstate.Clutch, len(tr.Clutch)) // nothing but what is known beforehand
	for i := range tr.Model.Gears {
		tr.Model.Gears[i].V0 = 12
	}
	if got := math.Sqrt(cal.scaleOf(tr, make([]float64, 8)).cov.Variance(5, 3, 100, 0)); got < 2 || got > 6 {
		t.Errorf("%.1f km/h of 100", got)
	}
}
