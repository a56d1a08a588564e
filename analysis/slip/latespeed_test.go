package slip_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/slip"
	"flywitness/drive"
	"flywitness/internal/numbers"
	"flywitness/sim"
	"flywitness/vehicle"
)

// A satellite receiver tells road speed up to one and a half seconds late. That is found; what is later than
// any receiver is not judged.
func TestLateRoadSpeedIsNoSlip(t *testing.T) {
	numbers.Only(t)
	rng := rand.New(rand.NewPCG(4, 2))
	car := weak(1.5)
	v := *car.Vehicle
	v.SpeedSource = vehicle.SourceGPS
	car.Vehicle = &v
	truth := sim.Drive(car, sim.HillyRoad(rng, 0.01, 300), append(pulls(2), sim.Traffic(rng, 10, sim.MixedTraffic())),
		rng)
	for _, late := range []float64{0.2, 1.3, 1.7, 3.5} {
		for _, link := range []sim.Link{sim.KLine, sim.CANMulti} {
			l := sim.NewLogger(link).Record(truth, rng)
			l.Channels = append(l.Channels, satellite(truth, 5, late, rng))
			cal, f, _ := judgedLog(l, car.Vehicle, slip.Options{})
			if f.Verdict == slip.Slips {
				t.Errorf("%v, road speed late by %.1f s: %s, %s", link, late, f.Verdict, f.Reason)
			}
			switch lag := cal.SpeedLag; {
			case late > 2 && (lag != nil || f.Verdict != slip.Inconclusive):
				t.Errorf("%v, road speed late by %.1f s: lag %v, %s, %s", link, late, lag, f.Verdict, f.Reason)
			case late < 2 && (lag == nil || math.Abs(lag.Value-late) > 0.06):
				t.Errorf("%v, road speed late by %.1f s: found %v", link, late, lag)
			}
		}
	}
}

// satellite is road speed from a receiver at a rate (Hz), late by some seconds, in steps of 0.01 km/h with
// noise of 0.15 km/h.
func satellite(truth *sim.Truth, rate, late float64, rng *rand.Rand) *drive.Channel {
	c := &drive.Channel{Name: drive.GPSSpeed, Unit: "km/h"}
	for t := late; t < truth.Duration(); t += 1 / rate {
		v := truth.GroundKmh[truth.At(t-late)] + 0.15*rng.NormFloat64()
		c.T, c.V = append(c.T, t), append(c.V, math.Max(0, math.Round(100*v)/100))
	}
	return c
}
