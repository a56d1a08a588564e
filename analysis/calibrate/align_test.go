package calibrate

import (
	"math"
	"testing"
)

// Where the gears of one log lie on those of another, told by the time that was driven in each.
func TestScaleBetweenLogs(t *testing.T) {
	ladder := func(scale float64, seconds ...float64) []float64 {
		h := make([]float64, lnBins)
		for g, s := range seconds {
			bump(h, scale*[]float64{120, 70, 47, 34, 27, 22}[g], s, 0.007)
		}
		return h
	}
	for _, c := range []struct {
		what    string
		to, of  []float64
		percent float64 // by which the ratios must rise
	}{
		{"the same tyres", ladder(1, 20, 60, 60, 90, 200, 200), ladder(1.002, 10, 30, 90, 90, 60, 0), 0},
		{"other tyres", ladder(1, 20, 60, 60, 90, 200, 200), ladder(0.97, 10, 30, 90, 90, 60, 0), 3},
		{"the other way", ladder(1, 20, 60, 60, 90, 200, 200), ladder(1.03, 10, 30, 90, 90, 60, 0), -3},
		{"in few of the gears", ladder(1, 20, 60, 60, 90, 0, 0), ladder(0.97, 0, 0, 0, 60, 200, 900), 3},
		{"in none of the same gears", ladder(1, 20, 60, 60, 0, 0, 0), ladder(0.97, 0, 0, 0, 60, 90, 200), 0},
		{"for a moment", ladder(1, 20, 60, 60, 90, 0, 0), ladder(0.97, 0, 0, 0, 8, 0, 0), 0},
		{"other tyres than any car has", ladder(1, 20, 60, 60, 90, 200, 200), ladder(0.9, 10, 30, 90, 90, 60, 0), 0},
	} {
		by := 100 * math.Expm1(lnBin*float64(scaleTo(c.to, c.of)))
		if math.Abs(by-c.percent) > 0.4 {
			t.Errorf("%s: ratios rise by %.1f %%, truly %.1f", c.what, by, c.percent)
		}
	}
}

// A log of little driving is brought to the scale of one with more: its engine speeds are, and those that it was read
// with stay as they are.
func TestLogsAreBroughtToOneScale(t *testing.T) {
	p := &pool{idle: 850, period: 0.1}
	read := make([][]float64, 3)
	for l, k := range []float64{34 / 0.97, 34, 34} {
		q := steadyPool(k, 2500, 0.3)
		p.load, read[l] = q.load, q.logs[0].RPM
		p.logs = append(p.logs, q.logs[0])
	}
	for i := range p.logs[0].dt {
		p.logs[0].dt[i] /= 2
	}
	p.align(0)
	for l, want := range []float64{34, 34, 34} {
		s := p.logs[l]
		if got := s.RPM[100] / s.Speed[100]; math.Abs(got/want-1) > 0.003 {
			t.Errorf("log %d: %.2f rpm per km/h, truly %.2f", l, got, want)
		}
	}
	if k := read[0][100] / p.logs[0].Speed[100]; math.Abs(k-34/0.97) > 0.01 {
		t.Errorf("what was read became %.2f rpm per km/h", k)
	}
}
