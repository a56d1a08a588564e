package calibrate

import (
	"math"
	"slices"
	"testing"

	"flywitness/analysis/gearstate"
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
	for _, every := range []float64{0.1, 0.5} {
		rpm, speed := &drive.Channel{Name: drive.EngineSpeed}, &drive.Channel{Name: drive.VehicleSpeed}
		for i := range int(60 / every) {
			at := every * float64(i)
			v := 20 + pull*math.Max(0, math.Min(2, at-30))
			rpm.T, rpm.V = append(rpm.T, at), append(rpm.V, 60*v)
			speed.T, speed.V = append(speed.T, at+0.02), append(speed.V, math.Round(v))
		}
		p := gather([]*drive.Log{{Channels: []*drive.Channel{rpm, speed}}}, nil)
		if got := slices.Max(p.logs[0].a); got < 0.85*pull || got > 1.25*pull {
			t.Errorf("a value every %.1f s: %.2f km/h/s, truly %.0f", every, got, pull)
		}
	}
}

// The step of a display is the smallest common one: a tenth counts, eight km/h is no display's, and what a tenth of the
// changes show is common. Engine speed may move in steps of a hundred, not of three hundred.
func TestStepsOfADisplay(t *testing.T) {
	for _, c := range []struct {
		what       string
		changes    []float64
		most, fine float64
		want       float64
	}{
		{"whole km/h", []float64{1, -1, 1, 2, -1}, mostStep, fineStep, 1},
		{"tenths", []float64{0.1, -0.1, 0.2, 0.1}, mostStep, fineStep, 0.1},
		{"hundredths", []float64{0.01, -0.01, 0.02, 0.01}, mostStep, fineStep, 0},
		{"eight", []float64{8, -8, 8, -8}, mostStep, fineStep, 0},
		{"one in ten", []float64{1, 2, -2, 2, -2, 2, -2, 2, -2, 2}, mostStep, fineStep, 1},
		{"a hundred rpm", []float64{100, -100, 100}, mostRPMStep, fineRPMStep, 100},
		{"three hundred rpm", []float64{300, -300, 300}, mostRPMStep, fineRPMStep, 0},
	} {
		v := []float64{1000}
		for range 20 {
			for _, d := range c.changes {
				v = append(v, v[len(v)-1]+d)
			}
		}
		p := &pool{logs: []*series{{Signals: gearstate.Signals{Speed: v}}}}
		if got := p.commonStep(func(s *series) []float64 { return s.Speed }, c.most, c.fine); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s: %.3f, want %.3f", c.what, got, c.want)
		}
	}
}

// Four values about a moment tell an acceleration. A receiver's ten speeds are speeds where the car told two.
func TestFewValuesOfASpeed(t *testing.T) {
	if got := slopes([]float64{0, 1, 2, 3}, []float64{50, 52, 54, 56}, 1.6)[1]; math.Abs(got-2) > 1e-9 {
		t.Errorf("%.3f km/h/s", got)
	}
	few := func(name string, n int) *drive.Channel {
		c := &drive.Channel{Name: name}
		for i := range n {
			c.T, c.V = append(c.T, float64(i)), append(c.V, 50)
		}
		return c
	}
	l := &drive.Log{Channels: []*drive.Channel{few(drive.VehicleSpeed, 2), few(drive.GPSSpeed, 10)}}
	if got := speedChannel([]*drive.Log{l}, nil); got != drive.GPSSpeed {
		t.Errorf("speed is told by %s", got)
	}
}
