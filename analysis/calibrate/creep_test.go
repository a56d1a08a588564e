package calibrate

import (
	"testing"

	"flywitness/drive"
)

// A load that a gentle drive moves by a seventh is alive; one that wanders by what its own steps are is not, and the
// next one tells the load.
func TestADeadLoadIsPassedOver(t *testing.T) {
	channel := func(name string, from, to float64) *drive.Channel {
		c := &drive.Channel{Name: name}
		for i := range 400 {
			c.T = append(c.T, float64(i)/5)
			c.V = append(c.V, from+(to-from)*float64(i%20)/19)
		}
		return c
	}
	for _, c := range []struct {
		name   string
		torque [2]float64
		want   string
	}{
		{"a gentle drive", [2]float64{10, 24}, drive.EngineTorque},
		{"stuck", [2]float64{20, 24}, drive.EngineLoad},
	} {
		l := &drive.Log{Channels: []*drive.Channel{channel(drive.EngineTorque, c.torque[0], c.torque[1]), channel(drive.EngineLoad, 15, 95)}}
		got := loadScale(&pool{period: 0.2, loads: []*drive.Log{l}, logs: []*series{{}}}, nil)
		if got.Channel != c.want {
			t.Errorf("%s: load is told by %q, want %q", c.name, got.Channel, c.want)
		}
	}
}
