package calibrate

import (
	"math"
	"testing"

	"flywitness/analysis/gearstate"
	"flywitness/drive"
)

// bump adds seconds of driving about a ratio to a histogram, as a normal of sd in ln.
func bump(h []float64, k, seconds, sd float64) {
	at := make([]float64, len(h))
	at[int((math.Log(k)-lnLow)/lnBin)] = seconds
	blur(h, at, sd/lnBin)
}

// ks are the ratios of a ladder.
func ks(rungs []rung) []float64 {
	var out []float64
	for _, r := range rungs {
		out = append(out, math.Round(10*r.k)/10)
	}
	return out
}

// Which peaks are gears: those of an ordinary gearbox, and as near as in the closest racing sets (8 %) where hardly
// any driving lies between them. Where it does, it is one gear that is smeared, and so it is where the second peak
// is nearer than any gearbox has it.
func TestNeighbouringPeaks(t *testing.T) {
	for _, c := range []struct {
		name    string
		k       []float64
		between float64 // share of the driving that lies between the first two, evenly
		want    int
	}{
		{"an ordinary ladder", []float64{120, 70, 50, 38, 30}, 0, 5},
		{"close fourth and fifth", []float64{70, 50, 36, 33.2}, 0, 4},
		{"smeared over", []float64{36, 33.2}, 4, 1},
		{"3 % apart", []float64{36, 34.9}, 0, 1},
	} {
		h := make([]float64, lnBins)
		for _, k := range c.k {
			bump(h, k, 100, 0.008)
		}
		a, b := int((math.Log(c.k[1])-lnLow)/lnBin), int((math.Log(c.k[0])-lnLow)/lnBin)
		for i := a; i < b; i++ {
			h[i] += c.between * 100 / float64(b-a)
		}
		if got := peaks(h); len(got) != c.want {
			t.Errorf("%s: gears at %v, want %d", c.name, ks(got), c.want)
		}
	}
}

// A gear in which little was driven stands out of what lies about it, however much was driven in its neighbours; a swell
// of driving in no gear is none.
func TestLittleDrivingBetweenMuch(t *testing.T) {
	for _, c := range []struct {
		name      string
		spread    float64 // s of driving that lie evenly between 24 and 37
		k, s, sds []float64
		want      []float64
	}{
		{"ten seconds between minutes", 0, []float64{36.9, 33.2, 29.7, 26.7, 24.2}, []float64{210, 90, 8, 12, 70}, nil,
			[]float64{36.9, 33.2, 29.7, 26.7, 24.2}},
		{"the same among two minutes in no gear", 120, []float64{36.9, 33.2, 29.7, 26.7, 24.2},
			[]float64{210, 90, 8, 12, 70}, nil, []float64{36.9, 33.2, 26.7, 24.2}},
		{"a swell beside a gear", 60, []float64{33.2, 29.7}, []float64{90, 30}, []float64{0.008, 0.06}, []float64{33.2}},
	} {
		h := make([]float64, lnBins)
		for i, k := range c.k {
			sd := 0.008
			if c.sds != nil {
				sd = c.sds[i]
			}
			bump(h, k, c.s[i], sd)
		}
		a, b := int((math.Log(24)-lnLow)/lnBin), int((math.Log(37)-lnLow)/lnBin)
		for i := a; i < b; i++ {
			h[i] += c.spread / float64(b-a)
		}
		got := ks(peaks(h))
		near := len(got) == len(c.want)
		for i := range min(len(got), len(c.want)) {
			near = near && math.Abs(got[i]/c.want[i]-1) < 0.005
		}
		if !near {
			t.Errorf("%s: gears at %v, want %v", c.name, got, c.want)
		}
	}
}

// steadyPool is a minute of driving at engine speeds (rpm) that swing by a tenth about a mean, in one ratio, at
// full load or not.
func steadyPool(k, rpm, load float64) *pool {
	s := &series{gap: 1}
	for i := range 600 {
		at := 0.1 * float64(i)
		n := rpm * (1 + 0.1*math.Sin(2*math.Pi*at/20))
		s.RPMT, s.RPM = append(s.RPMT, at), append(s.RPM, n)
		s.SpeedT, s.Speed = append(s.SpeedT, at), append(s.Speed, n/k)
		s.a, s.dt = append(s.a, rpm/k*0.1*2*math.Pi/20*math.Cos(2*math.Pi*at/20)), append(s.dt, 0.1)
		s.LoadT, s.Load = append(s.LoadT, at), append(s.Load, load)
	}
	s.place = s.places()
	return &pool{logs: []*series{s}, idle: 850, period: 0.1,
		load: gearstate.LoadScale{Channel: drive.EngineLoad, Closed: 0, Full: 1}}
}

// A ratio that is held at light load is a gear, told to a fifth of a per cent. At full load a slipping clutch can
// hold one as well, and no car's gearing has an engine turn at 3000 rpm and more at walking pace: those are none.
func TestSteadyRatiosAreGears(t *testing.T) {
	for _, c := range []struct {
		name         string
		k, rpm, load float64
		gears        int
	}{
		{"fourth", 37.7, 2500, 0.3, 1}, {"fifth", 29.13, 2500, 0.3, 1}, {"fifth again", 29.33, 2500, 0.3, 1},
		{"first", 121.3, 3000, 0.3, 1},
		{"at full load", 37.7, 2500, 0.9, 0},
		{"wheels that spin at 12 km/h", 400, 4800, 0.3, 0},
	} {
		p := steadyPool(c.k, c.rpm, c.load)
		got := peaks(p.histogram(0, 0))
		if len(got) != c.gears {
			t.Errorf("%s: gears at %v", c.name, ks(got))
		} else if c.gears == 1 && math.Abs(got[0].k/c.k-1) > 0.002 {
			t.Errorf("%s: %.3f rpm per km/h, truly %.3f", c.name, got[0].k, c.k)
		}
	}
}

// A slow link brings load every two seconds, and until then the last one stands. One of five seconds ago tells
// nothing: the driver has lifted twice since.
func TestOldLoadsTellNothing(t *testing.T) {
	s := &series{Signals: gearstate.Signals{SpeedT: []float64{-1, 0.5, 2, 5}, LoadT: []float64{0}, Load: []float64{1}}}
	load := s.loads(gearstate.LoadScale{Channel: drive.EngineLoad, Closed: 0, Full: 1}, 0, 0)
	for i, want := range []float64{0, 1, 1, 0} {
		if got := load(i); got != want {
			t.Errorf("at %g s: load %g, want %g", s.SpeedT[i], got, want)
		}
	}
}

// Nobody drove in third: the step from second to the next rung is that of two gears.
func TestNumberingLeavesOutAGearThatNobodyDroveIn(t *testing.T) {
	rungs := ladderOf(0, 118, 67, 34.2, 27.5)
	number(rungs)
	for i, want := range []int{1, 2, 4, 5} {
		if rungs[i].number != want {
			t.Errorf("%.1f rpm per km/h is gear %d, want %d", rungs[i].k, rungs[i].number, want)
		}
	}
}

// What stands where first gear stands is first, although the next is closer than a second usually is.
func TestNumberingByPlaceAndNotByStepAlone(t *testing.T) {
	rungs := ladderOf(0, 110, 74)
	number(rungs)
	if rungs[0].number != 1 || rungs[1].number != 2 {
		t.Errorf("gears %d and %d, want 1 and 2", rungs[0].number, rungs[1].number)
	}
}

// A log that does not bear out a file, here by a dial that adds to the speed, still shows its gears: third to fifth of a
// gearbox with close ratios, which pass for second to fourth of an ordinary one.
func TestNumberingByTheFile(t *testing.T) {
	p := &pool{}
	for _, k := range []float64{143, 91, 62, 44, 33} {
		p.filed = append(p.filed, math.Log(k))
	}
	rungs := ladderOf(0, 55.9, 41.6, 32.3)
	p.number(rungs)
	for i, want := range []int{3, 4, 5} {
		if rungs[i].number != want {
			t.Errorf("%.1f rpm per km/h is gear %d, want %d", rungs[i].k, rungs[i].number, want)
		}
	}
}

// An engine at 1300 rpm drives its car in a tall gear.
func TestGearOfALowEngineSpeed(t *testing.T) {
	if got := peaks(steadyPool(37.7, 1300, 0.3).histogram(0, 0)); len(got) != 1 {
		t.Errorf("gears at %v", ks(got))
	}
}

// Engine and car change together in a gear, but for what the steps of road speed add in town, and slowly enough that the
// delay of one of them does not drown the ratio.
func TestWhatShowsARatio(t *testing.T) {
	for _, c := range []struct {
		what         string
		v            float64 // km/h
		engine, road float64 // relative, 1/s
		shows        bool
	}{
		{"a cruise", 100, 0, 0, true}, {"a steady pull", 50, 0.08, 0.08, true},
		{"a hard one in a low gear", 50, 0.2, 0.2, false},
		{"an engine that flares at speed", 100, 0.06, 0, false}, {"one that is hardly off", 100, 0.02, 0, true},
		{"steps of a slow road speed", 20, 0.04, 0, true}, {"a clutch that is let in in town", 20, 0.08, 0, false},
	} {
		s := &series{gap: 1}
		for i := range 40 {
			u := 0.1 * float64(i-20)
			s.RPMT, s.RPM = append(s.RPMT, 0.1*float64(i)), append(s.RPM, 40*c.v*math.Exp(c.engine*u))
			s.SpeedT, s.Speed = append(s.SpeedT, 0.1*float64(i)), append(s.Speed, c.v*math.Exp(c.road*u))
			s.a, s.dt = append(s.a, c.road*c.v*math.Exp(c.road*u)), append(s.dt, 0.1)
		}
		s.place = s.places()
		p := &pool{logs: []*series{s}, period: 0.1, top: 1}
		cells := make([]cell, len(s.Speed))
		p.fillCells(cells, p.readers()[0], 0, len(cells), 0, 0)
		if got := cells[20] != noCell; got != c.shows {
			t.Errorf("%s: shows the ratio of a gear %v", c.what, got)
		}
	}
}

// First is driven in for a hundredth of a long drive, and is a gear all the same; a thousandth is what a flare leaves.
func TestGearThatIsSeldomDriven(t *testing.T) {
	for share, want := range map[float64]int{0.008: 5, 0.001: 4} {
		h := make([]float64, lnBins)
		for _, k := range []float64{70, 50, 38, 30} {
			bump(h, k, 2000, 0.008)
		}
		bump(h, 120, share*8000, 0.008)
		if got := peaks(h); len(got) != want {
			t.Errorf("%.1f %% of the driving: gears at %v", 100*share, ks(got))
		}
	}
}
