package slip_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/slip"
	"flywitness/drive"
	"flywitness/sim"
)

// BenchmarkHour is what a person waits for: calibrated, decoded and judged, for logs of 20 Hz. A day is the
// hour over and over.
func BenchmarkHour(b *testing.B) {
	rng := rand.New(rand.NewPCG(3, 4))
	car := sim.BenchMule()
	truth := sim.Drive(car, sim.HillyRoad(rng, 0.015, 300), []sim.Action{sim.Traffic(rng, 60, sim.MixedTraffic())}, rng)
	hour := sim.RandomLogger(sim.CANMulti, rng).Record(truth, rng)
	for _, h := range []int{1, 4, 24} {
		logs := []*drive.Log{again(hour, h, truth.Duration())}
		b.Run(fmt.Sprintf("%dh", h), func(b *testing.B) {
			for range b.N {
				cal, _ := calibrate.Learn(logs, car.Vehicle)
				tracks := []*gearstate.Track{cal.Decode(logs[0])}
				slip.Judge(logs, tracks, car.Vehicle, cal, slip.Options{})
			}
		})
	}
}

// again is a log that comes n times, each of a duration in s.
func again(l *drive.Log, n int, duration float64) *drive.Log {
	out := *l
	out.Channels = nil
	for _, c := range l.Channels {
		long := *c
		long.T, long.V = nil, nil
		for i := range n {
			for q, t := range c.T {
				long.T, long.V = append(long.T, t+float64(i)*(duration+1)), append(long.V, c.V[q])
			}
		}
		out.Channels = append(out.Channels, &long)
	}
	return &out
}
