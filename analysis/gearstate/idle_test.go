package gearstate

import (
	"testing"

	"flywitness/vehicle"
)

// An engine idles at what it turns while the car stands, free revs and a stalled engine aside; where no road speed is
// recorded, at the median of all that can be idle. The vehicle file knows better, and without twenty values the usual
// speed is taken.
func TestIdleSpeed(t *testing.T) {
	var rpm, kmh, at []float64
	for i := range 90 {
		n, v := 780.0, 0.0
		switch {
		case i >= 60:
			n, v = 1500, 40
		case i >= 40:
			n = 3000
		case i < 5:
			n = 0
		}
		at, rpm, kmh = append(at, float64(i)/10), append(rpm, n), append(kmh, v)
	}
	for _, c := range []struct {
		name   string
		n      int
		speed  []float64
		filed  float64
		wanted float64
	}{
		{"standing", 90, kmh, 0, 780},
		{"told", 90, kmh, 900, 900},
		{"too short", 20, kmh, 0, vehicle.UsualIdleRPM},
		{"no road speed", 60, nil, 0, 780},
	} {
		var d Idle
		t0 := at[:c.n]
		if c.speed == nil {
			t0 = nil
		}
		d.Add(at[:c.n], rpm[:c.n], t0, c.speed[:min(c.n, len(c.speed))], 0)
		if got := d.RPM(&vehicle.Vehicle{Engine: vehicle.Engine{IdleRPM: c.filed}}); got != c.wanted {
			t.Errorf("%s: %.0f rpm, wanted %.0f", c.name, got, c.wanted)
		}
	}
	for i := range kmh {
		kmh[i] += 2 // a receiver at rest shows a walking pace
	}
	for standing, wanted := range map[float64]float64{0: vehicle.UsualIdleRPM, 2.5: 780} {
		var d Idle
		if d.Add(at, rpm, at, kmh, standing); d.RPM(nil) != wanted {
			t.Errorf("standing is %.1f km/h: %.0f rpm, wanted %.0f", standing, d.RPM(nil), wanted)
		}
	}
}

// An engine that stands and is revved idles at what it turns in between.
func TestRevsAreNoIdle(t *testing.T) {
	var d Idle
	for range 30 {
		d.take(900)
	}
	for range 200 {
		d.take(2500)
	}
	if got := d.RPM(nil); got != 900 {
		t.Errorf("%.0f rpm", got)
	}
}
