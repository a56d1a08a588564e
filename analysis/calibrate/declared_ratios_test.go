package calibrate

import (
	"math"
	"testing"

	"flywitness/analysis/gearstate"
	"flywitness/finding"
	"flywitness/vehicle"
)

// ladderOf makes rungs, first gear first, in each of which the car was driven for so many seconds.
func ladderOf(seconds float64, ks ...float64) []rung {
	var out []rung
	for i, k := range ks {
		out = append(out, rung{number: i + 1, k: k, seconds: seconds})
	}
	return out
}

// A vehicle file with the gears 120, 70, 50, 38 and 30 rpm per km/h against what a log shows.
func TestFileAgainstThePeaksOfTheLog(t *testing.T) {
	for _, c := range []struct {
		name  string
		peaks []rung
		want  bool
		wrong int // the gear that is then marked
	}{
		{"all as in the file", ladderOf(100, 120, 70, 50, 38, 30), true, 0},
		{"first never driven for long", ladderOf(100, 70, 50, 38, 30), true, 0},
		{"no peak at all", nil, false, 0},
		{"third mistyped by 12 %", ladderOf(100, 120, 70, 44, 38, 30), true, 3},
		{"third mistyped and then hardly off fourth", ladderOf(100, 120, 70, 40, 38, 30), false, 0},
		{"second mistyped by 17 %", ladderOf(100, 120, 59, 50, 38, 30), true, 2},
		{"second mistyped and hardly driven", append(ladderOf(100, 120, 50, 38, 30), rung{k: 59, seconds: 8}), true, 2},
		{"second mistyped, fifth not driven: whose ratio is right cannot be told", ladderOf(100, 120, 59, 50, 38), false, 0},
		{"second and fourth mistyped", ladderOf(100, 120, 59, 50, 34, 30), false, 0},
		{"a peak too far from the one gear that has none", ladderOf(100, 103, 120, 50, 38, 30), false, 0},
		{"a peak beyond the neighbour of the gear that has none", ladderOf(100, 120, 70, 66, 38, 30), false, 0},
		{"a gear that the file lacks, a tenth from one that it has",
			append(ladderOf(100, 120, 70, 50, 38, 30), rung{k: 34.2, seconds: 50}), false, 0},
		{"a peak that the file does not explain, 0.8 % of the driving",
			append(ladderOf(100, 120, 70, 50, 38, 30), rung{k: 90, seconds: 4}), false, 0},
		{"rolling in neutral, 2 % of the driving above fifth", append(ladderOf(100, 120, 70, 50, 38, 30), rung{k: 17, seconds: 10}),
			true, 0},
		{"a clutch let in below first for as long", append(ladderOf(100, 120, 70, 50, 38, 30), rung{k: 190, seconds: 10}), true, 0},
		{"a sixth gear that the file lacks, a sixth of the driving", append(ladderOf(100, 120, 70, 50, 38, 30),
			rung{k: 24, seconds: 100}), false, 0},
		{"fifth a quarter taller, which the file's was never driven in", append(ladderOf(100, 120, 70, 50, 38),
			rung{k: 24, seconds: 10}), true, 5},
		{"a trace that it does not explain", append(ladderOf(100, 120, 70, 50, 38, 30), rung{k: 90, seconds: 0.5}), true, 0},
	} {
		rungs := ladderOf(0, 120, 70, 50, 38, 30)
		if got := meet(rungs, c.peaks); got != c.want {
			t.Errorf("%s: borne out %v", c.name, got)
			continue
		}
		for _, r := range rungs {
			if c.want && r.wrong != (r.number == c.wrong) {
				t.Errorf("%s: gear %d marked %v", c.name, r.number, r.wrong)
			}
		}
	}
}

// missingTrack is a drive of so many stretches of 3 s without a gear, a second of a locked one between them, whose
// ratio goes from k by a share over each stretch while the speed rises by a fifth. load is that of the stretches.
func missingTrack(stretches int, k, by float64, load func(u float64) float64) *gearstate.Track {
	tr := &gearstate.Track{}
	add := func(v, a, k, load float64, gear int, c gearstate.Clutch) {
		s := gearstate.State{Gear: gear, Clutch: c}
		s.T, s.V, s.A, s.N, s.Load = 0.1*float64(tr.Len()), v, a, k*v, load
		tr.Append(s)
	}
	for range stretches {
		for i := range 30 {
			x := float64(i) / 30
			add(80*(1+0.2*x), 80*0.2/3, k*(1+by*x), load(3*x), 0, gearstate.Open)
		}
		for range 10 {
			add(80, 0, 38, load(0), 4, gearstate.Locked)
		}
	}
	return tr
}

// at is one load all the time.
func at(load float64) func(float64) float64 { return func(float64) float64 { return load } }

// until is full load for so many seconds, and none afterwards.
func until(seconds float64) func(float64) float64 {
	return func(u float64) float64 {
		if u <= seconds {
			return 1
		}
		return 0
	}
}

// A gear that the histogram did not show is seen where engine and road speed rise together without load; under load a
// clutch may slip at a constant ratio, but none does as far from its gear as by a quarter of the engine's power. An
// engine that revs up by itself makes no gear, nor does a ratio that is hardly another one.
func TestGearsThatTheHistogramMissed(t *testing.T) {
	for _, c := range []struct {
		name      string
		stretches int
		k, by     float64
		load      func(u float64) float64
		top       float64 // the most torque, as torque measures it
		want      int
	}{
		{"sixth, a sixth below fifth", 2, 25, 0, at(0.3), 0, 6},
		{"load not known, a tenth of what there was", 2, 25, 0, at(math.NaN()), 0.08, 6},
		{"load not known, as much as there was", 2, 25, 0, at(math.NaN()), 0.008, 5},
		{"once", 1, 25, 0, at(0.3), 0, 5},
		{"the engine runs away", 3, 22, 0.3, at(0.3), 0, 5},
		{"taller than fifth, at full load alone", 3, 25, 0, at(0.9), 0, 5},
		{"a twelfth off fifth", 3, 27.7, 0, at(0.3), 0, 5},
		{"as if second slipped by a fifth", 3, 86, 0, at(0.9), 0, 5},
		{"and still when the foot was off", 3, 86, 0, until(1.5), 0, 6},
		{"for a moment", 3, 86, 0, until(2.1), 0, 5},
		{"as if second slipped by a quarter", 2, 94, 0, at(0.9), 0, 6},
		{"once", 1, 94, 0, at(0.9), 0, 5},
		{"and ran away", 2, 94, 0.3, at(0.9), 0, 5},
	} {
		p := &pool{top: c.top}
		got := p.missing([]*gearstate.Track{missingTrack(c.stretches, c.k, c.by, c.load)}, ladderOf(100, 120, 70, 50, 38, 30))
		if len(got) != c.want {
			t.Errorf("%s, %.1f rpm per km/h: %d gears, want %d", c.name, c.k, len(got), c.want)
		}
	}
}

// Between gears whose steps show that one is lacking, a ratio under load that came back twice is it, a fifth above the
// next taller gear as well; one that is another each time is slip, and so is one beside gears that lack none. Where the
// neighbours were missed too, they are found first.
func TestRatioThatComesBack(t *testing.T) {
	for _, c := range []struct {
		name   string
		ratios []float64 // of the stretches
		light  []float64 // of those without load
		rungs  []float64
		want   int
	}{
		{"three times", []float64{35.5, 35.7, 36}, nil, []float64{70, 47.5, 28.6}, 4},
		{"twice", []float64{35.5, 35.7}, nil, []float64{70, 47.5, 28.6}, 3},
		{"another each time", []float64{34.8, 35.7, 36.1}, nil, []float64{70, 47.5, 28.6}, 3},
		{"where none is lacking", []float64{35.5, 35.7, 36}, nil, []float64{100, 54, 30}, 3},
		{"its neighbours missed too", []float64{35.5, 35.7, 36}, []float64{47.5, 47.5, 70, 70}, []float64{28.6}, 4},
	} {
		var tracks []*gearstate.Track
		for _, k := range c.ratios {
			tracks = append(tracks, missingTrack(1, k, 0, at(0.9)))
		}
		for _, k := range c.light {
			tracks = append(tracks, missingTrack(1, k, 0, at(0.3)))
		}
		if got := (&pool{}).missing(tracks, ladderOf(100, c.rungs...)); len(got) != c.want {
			t.Errorf("%s: %d gears, want %d", c.name, len(got), c.want)
		}
	}
}

// Two stretches of 3 s whose ratios lie a twelfth apart are no gear that was driven twice.
func TestStretchesOfTwoRatiosAreNoGear(t *testing.T) {
	tracks := []*gearstate.Track{missingTrack(1, 25, 0, at(0.3)), missingTrack(1, 23, 0, at(0.3))}
	if got := (&pool{}).missing(tracks, ladderOf(100, 120, 70, 50, 38, 30)); len(got) != 5 {
		t.Errorf("%d gears, want 5", len(got))
	}
}

// Slip in a gear that the histogram missed lies far from the next taller gear that it showed, and not from the one in
// which the clutch slips.
func TestSlipInAGearThatTheHistogramMissed(t *testing.T) {
	tracks := []*gearstate.Track{missingTrack(3, 66, 0, at(0.9)), missingTrack(3, 66/0.82, 0, at(0.9))}
	got := (&pool{}).missing(tracks, ladderOf(100, 120, 48, 38, 30))
	if len(got) != 5 || math.Abs(got[1].k/66-1) > 1e-9 {
		t.Errorf("%+v", got)
	}
}

// A file with a gear that was not driven in, and a log with one that the file does not have, be it a twentieth off that
// one: the file is another car's. Without such a gear in the log it may stand, and so it may where all of its gears were driven in.
func TestAFileThatLacksAGear(t *testing.T) {
	l := &learner{pool: &pool{}}
	rungs := ladderOf(100, 120, 70, 50, 38, 30)
	driven := &solution{seconds: []float64{100, 100, 100, 100, 100}}
	fifthNot := &solution{seconds: []float64{100, 100, 100, 100, 0}}
	fourthNot := &solution{seconds: []float64{100, 100, 100, 0, 100}}
	near := []*gearstate.Track{missingTrack(3, 40, 0, at(0.9))}
	below := []*gearstate.Track{missingTrack(2, 190, 0, at(0.3))}
	other, none := []*gearstate.Track{missingTrack(2, 25, 0, at(0.3))}, []*gearstate.Track{missingTrack(2, 22, 0.3, at(0.3))}
	for _, c := range []struct {
		name   string
		s      *solution
		tracks []*gearstate.Track
		want   bool
	}{{"another gear driven", fifthNot, other, true}, {"a clutch let in below first", fifthNot, below, false},
		{"nothing else driven", fifthNot, none, false},
		{"fourth off by a twentieth", fourthNot, near, true},
		{"all driven", driven, other, false}} {
		if got := l.lacks(rungs, c.s, c.tracks); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

// Five seconds in a gear are driving; a second is a flare that looked like one, whatever lies within it.
func TestMomentsAreNoGears(t *testing.T) {
	tr := &gearstate.Track{}
	for i := range 260 {
		gear := 2
		if i >= 200 {
			gear = 3 // 5 s
		}
		if i >= 250 {
			gear = 4 // 1 s
		}
		at := 0.1 * float64(i)
		if i >= 255 {
			at += 240
		}
		tr.T, tr.Gear, tr.Clutch = append(tr.T, at), append(tr.Gear, int8(gear)), append(tr.Clutch, gearstate.Locked)
	}
	got := (&pool{period: 0.1}).driven(ladderOf(0, 120, 70, 50, 38)[1:], []*gearstate.Track{tr})
	if len(got) != 2 || got[0].k != 70 || got[1].k != 50 {
		t.Errorf("%+v", got)
	}
}

// A last decimal is known to half of itself, evenly: 0.29 of it. 0.003 of 1.30, and 0.0003 of 1.304, beside 0.2 % of
// what stands in papers.
func TestDecimalsOfRatios(t *testing.T) {
	for _, c := range []struct {
		ratios   []float64
		decimals int
		sd       float64 // of the last
	}{
		{[]float64{3.42, 1.95, 1.30}, 2, 0.00431},
		{[]float64{5.020, 2.693, 1.304}, 3, 0.00223},
		{[]float64{4, 2, 1}, 2, 0.005},
		{[]float64{3.41667, 1.3}, 3, 0.00223},
	} {
		n := decimals(c.ratios)
		if sd := ratioSD(c.ratios[len(c.ratios)-1], n); n != c.decimals || math.Abs(sd-c.sd) > 5e-6 {
			t.Errorf("%v: %d decimals, %.5f", c.ratios, n, sd)
		}
	}
}

// Nine seconds in three gears, three in each, are too few for one of them to stand out. Together they bear out a ladder
// that has them at one scale, which the same driving at any ratio does not, and four seconds do not either.
func TestShortDriveBearsOutALadder(t *testing.T) {
	veh := &vehicle.Vehicle{RollingCircumference: 1.95}
	veh.Gearbox = vehicle.Gearbox{Ratios: []float64{3.42, 1.95, 1.36, 1.03, 0.83}, FinalDrive: 4.06}
	bin := func(ratio float64) int {
		return int((math.Log(1.03*ratio*4.06/(1.95*0.06)) - lnLow) / lnBin) // a dial that reads 3 % low
	}
	in := func(seconds float64, ratios ...float64) []float64 {
		h := make([]float64, lnBins)
		for _, r := range ratios {
			for b := -3; b <= 3; b++ {
				h[bin(r)+b] += seconds / 7
			}
		}
		return h
	}
	smeared := make([]float64, lnBins)
	for b := bin(0.83); b < bin(3.42); b++ {
		smeared[b] = 9 / float64(bin(3.42)-bin(0.83))
	}
	for _, c := range []struct {
		what string
		h    []float64
		want bool
	}{
		{"three seconds in each", in(3, 1.95, 1.36, 1.03), true},
		{"four in all", in(1.3, 1.95, 1.36, 1.03), false},
		{"at any ratio", smeared, false},
		{"in other gears", in(3, 2.6, 1.63, 1.18, 0.92), false},
	} {
		if _, ok := known(c.h, veh); ok != c.want {
			t.Errorf("%s: borne out %v", c.what, ok)
		}
	}
}

// A gear of the file that was driven in for eight seconds and is off by a twentieth is off; three seconds do not tell.
func TestHowLongAGearContradictsAFile(t *testing.T) {
	for seconds, want := range map[float64]int{8: 1, 3: 0} {
		rungs := ladderOf(100, 120, 70, 50, 38)
		rungs[2].k, rungs[2].seconds = 52.5, seconds
		l := &learner{told: true, cal: &Calibration{}, warn: func(finding.Code, ...finding.Value) {},
			veh: &vehicle.Vehicle{Gearbox: vehicle.Gearbox{Ratios: []float64{3.6, 2.1, 1.5, 1.14}}}}
		l.tie(rungs, &solution{inverse: make([]float64, 4), way: make([]float64, 4), seconds: []float64{100, 100, seconds, 100}})
		if len(l.cal.OffFile) != want || want == 1 && l.cal.OffFile[0] != 3 {
			t.Errorf("%.0f s in third: gears off the file %v", seconds, l.cal.OffFile)
		}
	}
}

// One stretch of six seconds at a ratio of its own, two of them without load, is a gear that was driven in once. One of 3.7
// s may be anything; two of two seconds bear each other out.
func TestGearThatWasDrivenInOnce(t *testing.T) {
	for _, c := range []struct {
		seconds []float64
		want    bool
	}{{[]float64{6}, true}, {[]float64{3.7}, false}, {[]float64{2, 2}, true}, {[]float64{1.5, 1.5}, false}} {
		var same []stretch
		for _, s := range c.seconds {
			same = append(same, stretch{seconds: s, light: 2})
		}
		if got := isGear(same, nil); got != c.want {
			t.Errorf("%v s: a gear %v", c.seconds, got)
		}
	}
}
