package calibrate

import (
	"math"
	"testing"

	"flywitness/drive"
)

// Three hours are learnt from as a whole, and a day from one minute in fourteen; a slow link's day is no more than that.
func TestWhatIsLookedAtOfALongDrive(t *testing.T) {
	for _, c := range []struct {
		what         string
		rate, driven float64
		most         int
		every        int
	}{
		{"ten minutes", 20, 600, 6667, 1},
		{"an hour", 20, 3600, 12000, 1},
		{"three hours", 20, 10800, 36000, 1},
		{"a day", 20, 86400, 22500, 14},
		{"a day of a slow link", 0.5, 86400, 43200, 1},
	} {
		var at []float64
		for i := range int(c.rate * c.driven) {
			at = append(at, float64(i)/c.rate)
		}
		f := fewOf(len(at), c.driven)
		some, _ := f.of(at, at, 0)
		if f.every != c.every || len(some) > c.most || len(some) < c.most*8/10 {
			t.Errorf("%s: %d of %d speeds, one minute in %d; want %d, one in %d", c.what, len(some), len(at), f.every, c.most, c.every)
		}
		if gap := c.driven - some[len(some)-1]; gap > 14*minute {
			t.Errorf("%s: nothing of the last %.0f s", c.what, gap)
		}
	}
}

// Ten hours in two gears, whose road speed is late, tell the ratios and the delay of one, and ten times the time in each gear; all of them are decoded.
func TestTenHoursAreLearntFromSomeMinutes(t *testing.T) {
	driven := func(hours int) *drive.Log {
		rpm, speed := &drive.Channel{Name: drive.EngineSpeed}, &drive.Channel{Name: drive.VehicleSpeed}
		for i := range hours * 36000 {
			at := 0.1 * float64(i)
			v := func(at float64) float64 { return 65 + 35*math.Sin(2*math.Pi*at/50) }
			n := 40 * v(at)
			switch {
			case math.Abs(v(at)-65) < 2: // the gear is changed
				n = 900 + 20*math.Sin(7*at)
			case v(at) < 65:
				n = 60 * v(at)
			}
			rpm.T, rpm.V = append(rpm.T, at), append(rpm.V, n)
			speed.T, speed.V = append(speed.T, at), append(speed.V, math.Round(v(at-0.3)))
		}
		return &drive.Log{Channels: []*drive.Channel{rpm, speed}}
	}
	hour, _ := Learn([]*drive.Log{driven(1)}, nil)
	long := driven(10)
	all, _ := Learn([]*drive.Log{long}, nil)
	if len(all.Gears) != 2 || len(hour.Gears) != 2 || math.Abs(all.SpeedLag.Value-hour.SpeedLag.Value) > 0.01 {
		t.Fatalf("%d gears, delay %v; of an hour %d, %v", len(all.Gears), all.SpeedLag, len(hour.Gears), hour.SpeedLag)
	}
	for i, g := range all.Gears {
		one := hour.Gears[i]
		if k := one.RPMPerKmh.Value; math.Abs(g.RPMPerKmh.Value/k-1) > 0.001 || math.Abs(g.Seconds/one.Seconds-10) > 0.6 {
			t.Errorf("gear %d: %.3f rpm per km/h over %.0f s, in an hour %.3f over %.0f s", i+1, g.RPMPerKmh.Value, g.Seconds, k, one.Seconds)
		}
	}
	if tr := all.Decode(long); tr.Len() != 360_000 {
		t.Errorf("%d samples", tr.Len())
	}
}
