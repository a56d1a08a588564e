package inertia

import (
	"testing"

	"flywitness/drive"
	"flywitness/vehicle"
)

// A petrol engine's throttle tells full load, a diesel's does not: it stands open whatever the engine gives. The
// accelerator tells of both, and so does the load.
func TestThrottleOfADieselIsNoLoad(t *testing.T) {
	ramp := func(name string) *drive.Channel {
		c := &drive.Channel{Name: name}
		for i := range 100 {
			c.T, c.V = append(c.T, float64(i)), append(c.V, float64(i))
		}
		return c
	}
	for _, c := range []struct {
		fuel, channel string
		told          bool
	}{
		{"petrol", drive.Throttle, true}, {"diesel", drive.Throttle, false},
		{"diesel", drive.Pedal, true}, {"diesel", drive.EngineLoad, true}, {"", drive.Throttle, true},
	} {
		v := &vehicle.Vehicle{Engine: vehicle.Engine{Fuel: c.fuel}}
		l := &drive.Log{Channels: []*drive.Channel{ramp(drive.EngineSpeed), ramp(c.channel)}}
		if told := observe(0, 0, l, v).loadSignal() != nil; told != c.told {
			t.Errorf("%s of an engine that burns %q: told %v", c.channel, c.fuel, told)
		}
	}
}
