package motion

import (
	"math"
	"testing"

	"flywitness/drive"
)

// climbing is a log of a drive at 20 m/s up a slope of 3 %, a height every second, the receiver's error added.
func climbing(seconds int, wrong func(t float64) float64) *Record {
	r := New(0, track(72, leg{s: float64(seconds), gear: 3, load: 0.5, clutch: locked}))
	c := &drive.Channel{Name: drive.Altitude}
	for t := range seconds {
		c.T = append(c.T, float64(t))
		c.V = append(c.V, 140+0.03*20*float64(t)+wrong(float64(t)))
	}
	r.TakeHeights(&drive.Log{Channels: []*drive.Channel{c}})
	return r
}

func right(float64) float64 { return 0 }

// At 20 m/s a stretch of 100 m takes 5 s and a bit: 5.05 s of samples. By hand: the heights err by
// sqrt(2*25*(1-exp(-5.05/200)) + 2*0.16) = 1.252 m from wander and noise, over 101 m 0.0124; the slope in the middle
// of the stretch differs from what they tell by 0.02*sqrt(100/1200 + 2*(1-exp(-40/200))) = 0.0134.
func TestClimbByHand(t *testing.T) {
	climbs := climbing(60, right).climbs()
	if len(climbs) < 10 || len(climbs) > 11 {
		t.Fatalf("%d climbs in 1.2 km", len(climbs))
	}
	p := climbs[3]
	near(t, "slope", -p.pull, 0.03, 1e-4)
	near(t, "error of the heights", p.wander, 0.0124, 2e-4)
	near(t, "error of the place", p.sd, 0.0134, 1e-4)
}

// Heights that are not there, that hang, or that are too far apart tell no slope.
func TestHeightsThatTellNothing(t *testing.T) {
	none := New(0, track(72, leg{s: 60, gear: 3, load: 0.5, clutch: locked}))
	none.TakeHeights(&drive.Log{})
	hangs := climbing(60, func(t float64) float64 { return -0.03 * 20 * t })
	seldom := climbing(60, right)
	for i := range seldom.heightT {
		seldom.heightT[i] *= 6
	}
	for name, r := range map[string]*Record{"none": none, "hangs": hangs, "seldom": seldom} {
		if n := len(r.climbs()); n > 0 {
			t.Errorf("%s: %d climbs", name, n)
		}
	}
}

// Where nothing else tells the slope, heights do: nearly 3 % all the way, to better than an ordinary road's 2 %. A
// kilometre of them is too little, and a road of 15 % up and down is no road.
func TestHeightsAlone(t *testing.T) {
	for _, c := range []struct {
		name    string
		seconds int
		wrong   func(float64) float64
		told    bool
	}{
		{"five kilometres", 250, right, true},
		{"one kilometre", 50, right, false},
		{"another unit", 250, func(t float64) float64 { return 60 * math.Sin(t/25) }, false},
	} {
		f := NewForce(handCar(), false)
		r := climbing(c.seconds, c.wrong)
		for i := range r.Track.Load {
			r.Track.Load[i] = math.NaN()
		}
		EstimateGrade([]*Record{r}, f)
		if told := f.Grade != nil; told != c.told {
			t.Errorf("%s: told %v", c.name, told)
			continue
		}
		if !c.told {
			continue
		}
		slope, sd := r.Slope(r.Track.Len() / 2)
		near(t, c.name, slope, 0.03, 2*sd)
		if sd > 0.015 || slope < 0.015 {
			t.Errorf("%s: slope %.4f ± %.4f", c.name, slope, sd)
		}
		near(t, "road", f.Grade.Climbed(), 20*float64(c.seconds), 250)
	}
}
