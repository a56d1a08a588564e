package calibrate

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"flywitness/analysis/gearstate"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/sim"
)

// Two logs of one car on other tyres and with another delay: each is decoded with its own.
func TestEachLogHasItsOwnScaleAndDelay(t *testing.T) {
	car := sim.BenchMule()
	rng := rand.New(rand.NewPCG(5, 5))
	var logs []*drive.Log
	for _, c := range []struct{ scale, lag float64 }{{1, 0.2}, {1.03, 0.5}} {
		lg := sim.NewLogger(sim.CANSequential)
		lg.SpeedScale, lg.SpeedLag = c.scale, c.lag
		truth := sim.Drive(car, sim.LevelRoad(), []sim.Action{sim.Traffic(rng, 15, sim.MixedTraffic())}, rng)
		logs = append(logs, lg.Record(truth, rng))
	}
	cal, _ := Learn(logs, nil)
	a, b := cal.Decode(logs[0]).Model, cal.Decode(logs[1]).Model
	if d := b.Lag - a.Lag; math.Abs(d-0.3) > 0.06 {
		t.Errorf("delays differ by %.3f s, truly 0.3", d)
	}
	for i := range a.Gears {
		if a.Gears[i].Number < 2 {
			continue
		}
		v := 70.0
		ra := a.Gears[i].K * (v + a.Offset + a.Growth*v*v/100)
		rb := b.Gears[i].K * (v + b.Offset + b.Growth*v*v/100)
		if r := ra / rb; math.Abs(r-1.03) > 0.006 {
			t.Errorf("gear %d: engine speed at a displayed 70 km/h differs by %.4f, truly 1.03", a.Gears[i].Number, r)
		}
	}
}

// lightDrive is a drive in fourth (place 3 of the ladder) at light load: speeds run between two (km/h) in a
// wave of a minute, sampled every 0.2 s, and engine speed exceeds the expected one by what is given.
func lightDrive(seconds, from, to float64, excess func(v, a float64) float64) *gearstate.Track {
	tr := &gearstate.Track{Model: gearstate.Model{Step: 1, Period: 0.2}}
	for i, k := range []float64{120, 70, 50, 38, 30} {
		tr.Model.Gears = append(tr.Model.Gears, gearstate.Gearing{Number: i + 1, K: k, SD: 0.0005 * k})
	}
	for i := range int(5 * seconds) {
		at := 0.2 * float64(i)
		w := 2 * math.Pi / 60
		v, a := (from+to)/2+(to-from)/2*math.Sin(w*at), (to-from)/2*w*math.Cos(w*at)
		e := excess(v, a)
		tr.T, tr.SpeedKmh, tr.Accel = append(tr.T, at), append(tr.SpeedKmh, v), append(tr.Accel, a)
		tr.RPM, tr.RPMRate = append(tr.RPM, 38*(v+e)), append(tr.RPMRate, 38*a)
		tr.Load, tr.Excess = append(tr.Load, 0.2), append(tr.Excess, e)
		tr.Gear, tr.Clutch = append(tr.Gear, 4), append(tr.Clutch, gearstate.Locked)
	}
	return tr
}

// explained is what a fit makes of a speed and an acceleration in fourth.
func (f *logScale) explained(v, a float64) float64 {
	return f.x[3]*v + f.x[5] + f.x[6]*v*v/100 + f.x[7]*a
}

// A dial may lawfully read 4 km/h and more high (UN Regulation 39, from memory), another tyre by some per cent,
// a filter be late: at light load it is seen for what it is.
func TestOwnScaleIsReadAtLightLoad(t *testing.T) {
	for _, c := range []struct {
		name                      string
		scale, offset, grow, late float64
	}{
		{"as all logs", 0, 0, 0, 0}, {"another tyre", 0.03, 0, 0, 0}, {"a dial that reads high", 0, -4, 0, 0},
		{"a dial that grows", 0, 0, 0.03, 0},
		{"late", 0, 0, 0, 0.3}, {"a little of each", 0.01, 1.2, 0, -0.1},
	} {
		cal := &Calibration{logs: 2}
		truth := func(v, a float64) float64 { return c.scale*v + c.offset + c.grow*v*v/100 + c.late*a }
		fit := cal.scaleOf(lightDrive(600, 30, 110, truth), make([]float64, 8))
		for _, at := range [][2]float64{{40, 0}, {70, 4}, {70, -4}, {105, 0}} {
			if d := fit.explained(at[0], at[1]) - truth(at[0], at[1]); math.Abs(d) > 0.15 {
				t.Errorf("%s: at %.0f km/h and %.0f km/h/s off by %.2f km/h", c.name, at[0], at[1], d)
			}
		}
	}
}

// Another tyre is on all gears: a log that shows it in fourth alone tells it of second, but for a third of a per cent.
func TestAnotherTyreIsOnAllGears(t *testing.T) {
	cal := &Calibration{logs: 2}
	fit := cal.scaleOf(lightDrive(600, 30, 110, func(v, a float64) float64 { return 0.03 * v }), make([]float64, 8))
	if d := fit.x[1] - fit.x[3]; math.Abs(d) > 0.002 || math.Abs(fit.x[1]-0.03) > 0.004 {
		t.Errorf("second is off by %.4f, fourth by %.4f, truly 0.03", fit.x[1], fit.x[3])
	}
	if sd := math.Sqrt(fit.cov.Variance(5, 1, 60, 0)); sd > 0.5 {
		t.Errorf("second is known to %.2f km/h at 60 km/h", sd)
	}
}

// What is known beforehand counts once, however often a log is fitted again with what was found: it then finds nothing
// more.
func TestFitOfWhatWasFittedFindsNothing(t *testing.T) {
	truth := func(v, a float64) float64 { return -0.4 - 0.004*v*v/100 }
	for _, logs := range []int{1, 2} {
		cal := &Calibration{logs: logs}
		drive := func(e func(v, a float64) float64) *gearstate.Track {
			tr := lightDrive(20, 60, 90, e)
			for i := range tr.Model.Gears {
				tr.Model.Gears[i].V0 = 70
			}
			return tr
		}
		first := cal.scaleOf(drive(truth), make([]float64, 8))
		left := func(v, a float64) float64 { return truth(v, a) - first.explained(v, a) }
		second := cal.scaleOf(drive(left), first.x)
		for i, x := range second.x {
			if math.Abs(x) > 0.02*math.Abs(first.x[i])+1e-5 {
				t.Errorf("%d logs: unknown %d was %.5f, and is found to be %.5f more", logs, i, first.x[i], x)
			}
		}
	}
}

// An offset of 2 km/h that a minute and a half of driving shows by six standard deviations is learnt, not
// halved because dials seldom have one.
func TestAShownOffsetIsLearntWhole(t *testing.T) {
	cal := &Calibration{logs: 1}
	fit := cal.scaleOf(lightDrive(32, 35, 75, func(v, a float64) float64 { return -2 }), make([]float64, 8))
	if math.Abs(fit.x[5]+2) > 0.25 {
		t.Errorf("offset %.2f km/h, truly -2", fit.x[5])
	}
}

// What a log does not show stays as open as cars are (common practice, no source): within a drive the gearing
// to half a per cent and a dial to half a kilometre per hour, between drives a tyre to two per cent, a tyre at
// 180 km/h to less than one per cent of growth, a delay to a tenth or two.
func TestDoubtOfALogThatShowsNothing(t *testing.T) {
	silent := func(logs int, v, a float64) float64 {
		cal := &Calibration{logs: logs}
		fit := cal.scaleOf(lightDrive(0, 30, 110, asExpected), make([]float64, 8))
		return math.Sqrt(fit.cov.Variance(5, 3, v, a))
	}
	for _, c := range []struct {
		name      string
		got       float64
		low, high float64
	}{
		{"nearly standing: the dial's offset", silent(1, 1, 0), 0.3, 0.9},
		{"100 km/h, the one log: a third of a per cent of gearing beside it", silent(1, 100, 0), 0.6, 0.85},
		{"100 km/h, two logs: another tyre", silent(2, 100, 0), 1.5, 3},
		{"180 km/h: growth", silent(1, 180, 0), 1.2, 2},
		{"accelerating by 10 km/h/s, two logs: the delay", silent(2, 1, 10), 1, 2.5},
		{"accelerating by 10 km/h/s, the one log: the delay was found in it", silent(1, 1, 10), 0.6, 1},
	} {
		if c.got < c.low || c.got > c.high {
			t.Errorf("%s: %.2f km/h, want %.2f to %.2f", c.name, c.got, c.low, c.high)
		}
	}
}

// A gear that was learnt in this log is right at the speed that it was learnt at, a third of a per cent, and
// its dial is open elsewhere: half a kilometre per hour at 60 are one at 120. In one of several logs it may
// have another tyre.
func TestGearingIsRightWhereItWasLearnt(t *testing.T) {
	doubt := func(logs int, v float64) float64 {
		cal := &Calibration{logs: logs}
		tr := lightDrive(0, 30, 110, asExpected)
		for i := range tr.Model.Gears {
			tr.Model.Gears[i].V0 = 60
		}
		return math.Sqrt(cal.scaleOf(tr, make([]float64, 8)).cov.Variance(5, 3, v, 0))
	}
	for _, c := range []struct {
		logs         int
		v, low, high float64
	}{{1, 60, 0.17, 0.22}, {1, 90, 0.3, 0.5}, {1, 120, 0.6, 0.9}, {2, 60, 1, 2}} {
		if got := doubt(c.logs, c.v); got < c.low || got > c.high {
			t.Errorf("%d logs, %.0f km/h: %.2f km/h, want %.2f to %.2f", c.logs, c.v, got, c.low, c.high)
		}
	}
}

// asExpected is an engine that turns as expected.
func asExpected(v, a float64) float64 { return 0 }

// A fit within what the decoder allows anyway needs no second look at the drive; one beyond it does.
func TestFitThatTheDecoderCannotSee(t *testing.T) {
	for _, c := range []struct {
		name string
		at   int // of the unknowns: five gears, offset, growth, delay
		by   float64
		want bool
	}{
		{"nothing", 0, 0, true}, {"0.2 % of gearing", 2, 0.002, true}, {"a tenth of a kilometre per hour", 5, 0.1, true},
		{"2 % of gearing", 2, -0.02, false}, {"0.8 %: most of a step at 100 km/h", 2, 0.008, false},
		{"0.08 s: as much at 8 km/h/s", 7, 0.08, false}, {"a kilometre per hour", 5, 1, false}, {"a dial that grows by 2 km/h at " +
			"100", 6, 0.02, false}, {"0.2 s", 7, -0.2, false},
	} {
		f := &logScale{gears: 5, x: make([]float64, 8)}
		f.x[c.at] = c.by
		if got := f.small(); got != c.want {
			t.Errorf("%s: small %v", c.name, got)
		}
	}
}

// Logs of one car that differ by a tyre or a link are told by name, once each; a pressure or a jitter is
// nothing to speak of.
func TestDisagreementOfLogs(t *testing.T) {
	tyre, link := []finding.Code{finding.ScalesDiffer}, []finding.Code{finding.DelaysDiffer}
	for _, c := range []struct {
		name                string
		scale, offset, late float64
		known, knownLate    float64 // standard deviations of each log's own, relative in each gear but the third, and s
		want                []finding.Code
	}{
		{"the same", 0, 0, 0, 0, 0, nil}, {"a pressure", 0.005, 0, 0.08, 0, 0, nil}, {"another tyre", 0.02, 0, 0, 0, 0, tyre},
		{"another link", 0, 0, -0.3, 0, 0, link}, {"both", -0.02, 0, 0.3, 0, 0, append(tyre, link...)},
		{"another dial", 0, 2, 0, 0, 0, tyre}, {"a dial that makes up for a tyre", 0.02, -1.2, 0, 0, 0, nil},
		{"another tyre, known in third alone", 0.02, 0, 0, 0.02, 0, tyre},
		{"the same, as far as is known", 0.02, 0, 0.3, 0.5, 0.1, nil},
	} {
		var logs []*drive.Log
		var tracks []*gearstate.Track
		for i, path := range []string{"empty.csv", "first.csv", "second.csv", "third.csv"} {
			tr := lightDrive(0, 30, 110, asExpected)
			tr.Model.Doubt = make(gearstate.Doubt, 64)
			for g := range 5 {
				tr.Model.Doubt[9*g] = c.known * c.known
			}
			if c.known < 0.1 {
				tr.Model.Doubt[9*2] = 0
			}
			tr.Model.Doubt[63] = c.knownLate * c.knownLate
			switch {
			case i == 0: // nothing was learnt from it
				tr.Model.Gears = nil
			case i > 1:
				for g := range tr.Model.Gears {
					tr.Model.Gears[g].K *= 1 + c.scale
				}
				tr.Model.Offset += c.offset
				tr.Model.Lag += c.late
			}
			logs, tracks = append(logs, &drive.Log{Path: path}), append(tracks, tr)
		}
		var codes []finding.Code
		for _, w := range Disagreement(logs, tracks) {
			codes = append(codes, w.Code)
			if !strings.Contains(w.String(), "first.csv") || !strings.Contains(w.String(), "second.csv") {
				t.Errorf("%s: %s", c.name, w.String())
			}
		}
		if !slices.Equal(codes, c.want) {
			t.Errorf("%s: %v, want %v", c.name, codes, c.want)
		}
	}
	if len(Disagreement(nil, nil)) > 0 {
		t.Error("no logs disagree")
	}
}

// Four of ten samples that carry another gear's label do not bend the scale, in a crawl where gears lie a few km/h apart
// as little as at 100 km/h, where the highest are a tenth of that apart at least.
func TestLabelsOfAnotherGearDoNotBendTheScale(t *testing.T) {
	for _, c := range []struct{ kmh, apart float64 }{{20, 5}, {100, 12}} {
		var rows []controlRow
		for i := range 500 {
			r := controlRow{v: c.kmh, e: 0.2, a: float64(i%5) - 2, w: 1}
			if i%5 < 2 {
				r.e += c.apart
			}
			rows = append(rows, r)
		}
		f := fitScale(rows, scalePrior{sd: []float64{0.02, 0.5, growthSD, 0.2}, been: make([]float64, 4)})
		if off := f.left(&controlRow{v: c.kmh, e: 0.2}); math.Abs(off) > 0.3 {
			t.Errorf("at %.0f km/h off by %.2f km/h: %+v", c.kmh, off, f.x)
		}
	}
}

// What is left of a fit by far more than fine steps of road speed leave is the error of something else: a minute of it tells
// little, and neither bends the dial nor makes it known.
func TestErrorsBeyondTheStepsTellLittle(t *testing.T) {
	cal := &Calibration{logs: 2}
	of := func(size float64) *logScale {
		tr := lightDrive(60, 60, 120, func(v, a float64) float64 { return 0.2 + size*math.Sin(v/9) })
		tr.Model.Step = 0.01
		return cal.scaleOf(tr, make([]float64, 8))
	}
	quiet, loud := of(0), of(1)
	if bent := math.Abs(loud.x[6] - quiet.x[6]); bent > growthSD {
		t.Errorf("the dial grows by %.4f km/h per (km/h)^2/100 more", bent)
	}
	sd := func(f *logScale) float64 { return math.Sqrt(f.cov.Variance(5, 3, 90, 4)) }
	if sd(quiet) > 0.05 || sd(loud) < 3*sd(quiet) {
		t.Errorf("known to %.3f km/h, and to %.3f of errors that are ten times the steps'", sd(quiet), sd(loud))
	}
}
