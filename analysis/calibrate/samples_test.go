package calibrate

import (
	"math"
	"slices"
	"testing"

	"flywitness/drive"
)

// The acceleration of a car is as exact hours into a log as in its first minute.
func TestSlopesHoursIntoALog(t *testing.T) {
	var at, v []float64
	for i := range 1000 {
		x := 36000 + 0.1*float64(i)
		at, v = append(at, x), append(v, 60+0.05*(x-36050)*(x-36050))
	}
	for i, got := range slopes(at, v, 0.65) {
		if want := 0.1 * (at[i] - 36050); i > 7 && i < 992 && math.Abs(got-want) > 1e-7 {
			t.Fatalf("%.9f at %.1f s, truly %.9f", got, at[i], want)
		}
	}
}

// A short pull of two seconds at 7 km/h/s shows its acceleration nearly whole: a gear is not held longer in town.
func TestAShortPullShowsItsAcceleration(t *testing.T) {
	const pull = 7.0 // km/h/s
	rpm, speed := &drive.Channel{Name: drive.EngineSpeed}, &drive.Channel{Name: drive.VehicleSpeed}
	for i := range 600 {
		at := 0.1 * float64(i)
		v := 20 + pull*math.Max(0, math.Min(2, at-30))
		rpm.T, rpm.V = append(rpm.T, at), append(rpm.V, 60*v)
		speed.T, speed.V = append(speed.T, at+0.02), append(speed.V, math.Round(v))
	}
	p := gather([]*drive.Log{{Channels: []*drive.Channel{rpm, speed}}}, nil)
	if got := slices.Max(p.logs[0].a); got < 0.85*pull || got > 1.25*pull {
		t.Errorf("%.2f km/h/s, truly %.0f", got, pull)
	}
}
