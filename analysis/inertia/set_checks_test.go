package inertia

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"flywitness/analysis/inertia/testcar"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/vehicle"
)

// stand records free revs of a car with a channel added by hand.
func stand(car *testcar.Car, phases []testcar.Phase, link testcar.Link, more ...*drive.Channel) *drive.Log {
	rng := rand.New(rand.NewPCG(5, 5))
	l := link.Record(car.Drive(0, phases), rng)
	l.Channels = append(l.Channels, more...)
	return l
}

func sixRevs(top float64) []testcar.Phase {
	return testcar.FreeRevs(6, top, 0.01, rand.New(rand.NewPCG(6, 6)))
}

// every second, one value: of from where t lies before at, else of to.
func stepChannel(name string, at, from, to, end float64) *drive.Channel {
	c := &drive.Channel{Name: name}
	for t := 0.0; t < end; t += 0.25 {
		v := from
		if t >= at {
			v = to
		}
		c.T, c.V = append(c.T, t), append(c.V, v)
	}
	return c
}

func reasons(f *Finding) (used int, why map[finding.Code]int) {
	why = map[finding.Code]int{}
	for _, r := range f.Runs {
		if r.Kind == RevDown {
			if r.Used {
				used++
			} else {
				why[r.Why]++
			}
		}
	}
	return used, why
}

func TestFootOnTheClutchInSomeRuns(t *testing.T) {
	l := stand(testcar.Small(), sixRevs(4800), testcar.CANOne, stepChannel(drive.ClutchSwitch, 15, 1, 0, 60))
	f, _ := Measure([]*drive.Log{l}, nil, nil, Options{})
	used, why := reasons(f)
	if used != 4 || why[finding.FootMixed] != 2 {
		t.Errorf("%d used, refused %v, want 4 and two for the foot", used, why)
	}
	if f.FootOnClutch == nil || *f.FootOnClutch {
		t.Error("the foot was off in what is used")
	}
}

func TestFuelKeptOnInSomeRuns(t *testing.T) {
	l := stand(testcar.Small(), sixRevs(4800), testcar.CANOne, stepChannel(drive.FuelSystemStatus, 9.5, 2, 4, 60))
	f, _ := Measure([]*drive.Log{l}, nil, nil, Options{})
	if used, why := reasons(f); used != 5 || why[finding.KeptFuelling] != 1 {
		t.Errorf("%d used, refused %v, want 5 and one for the fuel", used, why)
	}
}

// The car keeps the throttle open for 1.5 s after the lift: the fall before that is trimmed by what the car
// did, and what is left below is clean.
func TestRevHangIsTrimmedByTheThrottleNotTheFoot(t *testing.T) {
	car := testcar.Small()
	car.HangTime, car.HangOpen = 0.8, 0.05
	link := testcar.CANMulti
	link.Poll, link.ClosedPct = []string{drive.EngineSpeed, drive.Throttle, drive.Pedal}, 15
	hung := func(top float64) *Finding {
		f, _ := Measure([]*drive.Log{stand(car, sixRevs(top), link)}, nil, nil, Options{})
		return f
	}
	f := hung(5500)
	used, why := reasons(f)
	if used < 4 {
		t.Fatalf("%d used, refused %v", used, why)
	}
	plain := testcar.Small()
	p, _ := Measure([]*drive.Log{stand(plain, sixRevs(5500), link)}, nil, nil, Options{})
	a, err := ShapeOf(f.FreeRevs(RevDown))
	b, err2 := ShapeOf(p.FreeRevs(RevDown))
	if err != nil || err2 != nil {
		t.Fatal(err, err2)
	}
	x, _ := meanLnB(a)
	y, _ := meanLnB(b)
	at := 2000.0
	if d := a.Rate(at, math.Exp(x))/b.Rate(at, math.Exp(y)) - 1; math.Abs(d) > 0.03 {
		t.Errorf("rate at %v rpm is %.1f %% off that without a hang", at, 100*d)
	}
	// From 3200 rpm nothing is left below the hang, and the reason says whose doing it was.
	_, why = reasons(hung(3200))
	if why[finding.ThrottleHeldByCar]+why[finding.TooFewSamples]+why[finding.SpanTooSmall] == 0 {
		t.Errorf("a hang over the whole fall was used: %v", why)
	}
}

// Revs that all end at one speed far below the engine's limit met a soft limit. Nobody sets one above 5000 rpm: there a
// driver may have lifted each time.
func TestSoftLimitIsSaid(t *testing.T) {
	veh := &vehicle.Vehicle{Engine: vehicle.Engine{IdleRPM: 850, LimitRPM: 6500}}
	for limit, soft := range map[float64]bool{3950: true, 5200: false} {
		car, phases := testcar.Small(), sixRevs(limit)
		car.Limit = limit * testcar.RPM
		for i := range phases {
			if phases[i].Open > 0 {
				phases[i].Until, phases[i].Time = 0, 2.5
			}
		}
		f, w := Measure([]*drive.Log{stand(car, phases, testcar.CANMulti)}, veh, nil, Options{})
		if used, why := reasons(f); used < 4 {
			t.Errorf("%.0f rpm: %d used, refused %v: a soft limit is no reason", limit, used, why)
		}
		if said := slices.ContainsFunc(w, func(x finding.Finding) bool { return x.Code == finding.SoftLimitMet }); said != soft {
			t.Errorf("%.0f rpm: warnings %v", limit, w)
		}
	}
}

// Whole-second stamps cannot carry a fall of a second and a half when they are few.
func TestRunsThatCannotCarryAnAnswer(t *testing.T) {
	for _, c := range []struct {
		name  string
		link  testcar.Link
		top   float64
		cut   float64
		wants finding.Code
	}{
		{"peak too low", testcar.CANMulti, 2500, 0, finding.PeakTooLow},
		{"one value a second", testcar.Link{Rate: 1, Jitter: 0.02, Interval: 0.1}, 4500, 0, finding.TooFewSamples},
	} {
		l := stand(testcar.Small(), sixRevs(c.top), c.link)
		f, _ := Measure([]*drive.Log{l}, nil, nil, Options{})
		if used, why := reasons(f); used > 0 || why[c.wants] < 3 {
			t.Errorf("%s: %d used, refused %v, want %s", c.name, used, why, c.wants)
		}
		for _, r := range f.Runs {
			if !r.Used && (r.WhyNot.String() == "" || strings.Contains(r.WhyNot.String(), "%!")) {
				t.Errorf("%s: the reason reads %q", c.name, r.WhyNot)
			}
		}
	}
}

// Rises are listed as pictures, never used; one to 3200 rpm as well.
func TestRisesArePicturesOnly(t *testing.T) {
	for _, top := range []float64{3200, 4800} {
		f, _ := Measure([]*drive.Log{stand(testcar.Small(), sixRevs(top), testcar.CANMulti)}, nil, nil, Options{})
		n := 0
		for _, r := range f.Runs {
			if r.Kind == RevUp {
				n++
				if r.Used || r.MeanRate <= 0 {
					t.Errorf("rise at %.1f s: used %v, %.0f rpm/s", r.Start, r.Used, r.MeanRate)
				}
			}
		}
		if n < 4 {
			t.Errorf("%d rises to %.0f rpm listed of 6", n, top)
		}
	}
}

// Whoever made five free revs is not sent for more; after four of them he is.
func TestFiveFreeRevsAreEnough(t *testing.T) {
	for n, more := range map[int]bool{4: true, 5: false} {
		phases := testcar.FreeRevs(n, 4800, 0.01, rand.New(rand.NewPCG(6, 6)))
		f, _ := Measure([]*drive.Log{stand(testcar.Small(), phases, testcar.CANMulti)}, nil, nil, Options{})
		if asked := slices.ContainsFunc(f.WhatToDrive, func(x finding.Text) bool { return x.Has(finding.SixFreeRevs) }); asked != more {
			t.Errorf("%d free revs: %v", n, f.WhatToDrive)
		}
	}
}
