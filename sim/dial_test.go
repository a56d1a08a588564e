package sim

import (
	"math"
	"testing"

	"flywitness/drive"
)

// bendy is a cruise at about 60 km/h through bends.
func bendy() *Truth {
	road := LevelRoad()
	road.Bends = make([]float64, 40)
	for i := range road.Bends {
		road.Bends[i] = 0.02 * math.Sin(float64(i))
	}
	return Drive(quiet(), road, []Action{Cruise(60, 40)}, source(1))
}

// The dial is what it is said to be: offset, growth and the path of one wheel, which runs on a circle of its own.
func TestDial(t *testing.T) {
	tr := bendy()
	src := tr.WheelKmh
	if got := (Dial{}).shown(tr, src, nil); &got[0] != &src[0] {
		t.Error("a true dial copies")
	}
	got := Dial{Offset: 3, Growth: 0.04, HalfTrack: 0.75}.shown(tr, src, nil)
	turned := false
	for i, v := range src {
		if v < 10 {
			continue
		}
		near(t, "speed shown", got[i], v*(1+0.04*v/100-0.75*tr.Bend[i])+3, 1e-9)
		turned = turned || math.Abs(tr.Bend[i]) > 0.01
		if side := tr.Bend[i] * v * v / 3.6 / 3.6; math.Abs(side) > 4.5 {
			t.Fatalf("%.1f m/s^2 to the side", side)
		}
	}
	if !turned {
		t.Error("no bend")
	}
	mean := Dial{DrivenShare: 0.5}.shown(tr, src, nil)
	for i := range src {
		if math.Abs(mean[i]-(tr.WheelKmh[i]+tr.GroundKmh[i])/2) > 1e-9 {
			t.Fatal("not the mean of the axles")
		}
	}
}

// A moving average of a ramp is the ramp half the span late.
func TestAverage(t *testing.T) {
	x := make([]float64, 500)
	for i := range x {
		x[i] = float64(i) * 0.1
	}
	near(t, "average", average(x, 1, 0.01)[400], x[400]-0.1*99/2, 1e-9)
}

// A spline and lines go through the values; a fitted parabola gives a parabola back, a spline a cubic's middle.
func TestResampled(t *testing.T) {
	l := &drive.Log{}
	c := &drive.Channel{Name: drive.VehicleSpeed}
	for i := range 60 {
		x := float64(i) * 0.5
		c.T, c.V = append(c.T, x), append(c.V, 20+3*x+0.05*x*x)
	}
	l.Channels = []*drive.Channel{c}
	for _, how := range []Join{Straight, Spline, Fitted} {
		r := Resampled(l, 10, how).Channels[0]
		for i, x := range r.T {
			if x < 5 || x > 25 {
				continue
			}
			tol := 1e-6
			if how == Straight {
				tol = 0.05 * 0.25 * 0.25 // a line's error on a parabola: f'' h^2 / 8 with f'' = 0.1 and h = 0.5
			}
			if want := 20 + 3*x + 0.05*x*x; math.Abs(r.V[i]-want) > tol+1e-4 {
				t.Errorf("join %d at %.2f s: %.5f, want %.5f", how, x, r.V[i], want)
			}
		}
	}
}

// Without and Cut take away samples and nothing else.
func TestWithoutAndCut(t *testing.T) {
	tr := bendy()
	l := NewLogger(CANMulti).Record(tr, source(3))
	gone := Without(l, [][2]float64{{5, 7}})
	for _, c := range gone.Channels {
		for _, x := range c.T {
			if x >= 5 && x < 7 {
				t.Fatalf("%s has a value at %.2f s", c.Name, x)
			}
		}
	}
	piece := Cut(l, 10, 30)
	first, last := piece.Span()
	if first < 0 || first > 1 || last > 20 || last < 18 {
		t.Errorf("the piece runs from %.2f to %.2f s", first, last)
	}
	if full, left := l.Channels[0].Len(), gone.Channels[0].Len(); left >= full || l.Channels[0].Len() != full {
		t.Error("the log was changed, or nothing was taken")
	}
}

// A delay that wanders has the spread that is asked for; bursts give all replies of a span about one stamp; stamp
// errors that last keep theirs.
func TestLateness(t *testing.T) {
	tr := bendy()
	rng := source(4)
	sum, n := 0.0, 0
	for range 40 {
		for _, x := range wander(tr, 0.2, 5, rng) {
			sum += x * x
			n++
		}
	}
	near(t, "wander in s", math.Sqrt(sum/float64(n)), 0.2, 0.1)
	lg := NewLogger(CANMulti)
	lg.BurstShare, lg.BurstS = 1, 1
	rs := lg.Poll(tr, rng)
	closer := 0
	for i := 1; i < len(rs); i++ {
		if rs[i].T-rs[i-1].T < 0.01 {
			closer++
		}
	}
	if share := float64(closer) / float64(len(rs)); share < 0.85 {
		t.Errorf("%.2f of the stamps stand in bursts", share)
	}
}
