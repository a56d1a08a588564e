package gearstate

import (
	"math"
	"testing"
)

// inGear is a drive in fourth of so many seconds at 10 Hz; each sample can be changed.
func inGear(seconds float64, change func(t *Track, i int, at float64)) *Track {
	t := &Track{Model: Model{Period: 0.1}}
	for i := range int(10 * seconds) {
		at := 0.1 * float64(i)
		t.T, t.SpeedKmh, t.RPM = append(t.T, at), append(t.SpeedKmh, 60), append(t.RPM, 2280)
		t.Accel, t.Load = append(t.Accel, 0), append(t.Load, 0.2)
		t.Gear, t.Clutch = append(t.Gear, 4), append(t.Clutch, Locked)
		if change != nil {
			change(t, i, at)
		}
	}
	return t
}

// What counts as a log's own control: driving in one gear at light load that no clutch can slip at, from when it
// has surely locked until it may be let out. A clutch that slipped under load takes a second or two to hold again.
func TestControl(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(t *Track, i int, at float64)
		yes    []float64 // s
		no     []float64
	}{
		{"cruise", nil, []float64{2, 5, 10, 15, 18}, []float64{0, 0.5, 19.6}},
		{"in town", func(t *Track, i int, _ float64) { t.SpeedKmh[i] = 35 }, []float64{5, 15}, nil},
		{"walking pace", func(t *Track, i int, _ float64) { t.SpeedKmh[i] = 12 }, nil, []float64{5, 15}},
		{"half throttle", func(t *Track, i int, _ float64) { t.Load[i] = 0.5 }, nil, []float64{5, 15}},
		{"no load, level", func(t *Track, i int, _ float64) { t.Load[i] = math.NaN() }, []float64{5, 15}, nil},
		{"no load, 0.6 m/s^2", func(t *Track, i int, _ float64) { t.Load[i], t.Accel[i] = math.NaN(), 2.2 }, nil,
			[]float64{5, 15}},
		{"a push at 8 s", func(t *Track, i int, at float64) {
			if at > 8 && at < 9 {
				t.Load[i] = 0.9
			}
		}, []float64{5, 7, 12.5, 15}, []float64{7.4, 7.9, 8.5, 9.5, 10.3}},
		{"a gear change at 10 s", func(t *Track, i int, at float64) {
			if at >= 10 {
				t.Gear[i] = 5
			}
		}, []float64{5, 8, 12.5, 15}, []float64{9.7, 10.5}},
		{"a gap of engine speed", func(t *Track, i int, _ float64) { t.RPM[i] = math.NaN() }, nil, []float64{5, 15}},
		{"a gap in the log", func(t *Track, i int, at float64) {
			if at >= 10 {
				t.T[i] += 3
			}
		}, []float64{5, 8}, []float64{9.7, 10.5}},
		{"neutral", func(t *Track, i int, _ float64) { t.Gear[i], t.Clutch[i] = 0, Open }, nil, []float64{5, 15}},
		{"called slipping at light load", func(t *Track, i int, _ float64) { t.Clutch[i] = Slipping }, []float64{5, 15},
			nil},
	} {
		control := inGear(20, c.change).Control()
		for _, at := range c.yes {
			if !control[int(math.Round(10*at))] {
				t.Errorf("%s: no control at %g s", c.name, at)
			}
		}
		for _, at := range c.no {
			if control[int(math.Round(10*at))] {
				t.Errorf("%s: control at %g s", c.name, at)
			}
		}
	}
}
