//go:build proof

package analysis_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"strconv"
	"sync"
	"testing"

	"flywitness/analysis"
	"flywitness/analysis/compare"
	"flywitness/analysis/stats"
	"flywitness/sim"
	"flywitness/vehicle"
)

// jobs is how many whole jobs a table is made of: 200, or what FLYWITNESS_PROOF_N says.
func jobs() int {
	if n, err := strconv.Atoi(os.Getenv("FLYWITNESS_PROOF_N")); err == nil && n > 0 {
		return n
	}
	return 200
}

// tallies of one quantity.
type tally struct {
	miss   []float64 // relative error
	half   []float64 // half of the interval, relative
	inside int
}

func (s *tally) add(e *stats.Estimate, truth float64) {
	s.miss, s.half = append(s.miss, e.Value/truth-1), append(s.half, (e.CI95[1]-e.CI95[0])/2/math.Abs(truth))
	if e.CI95[0] <= truth && truth <= e.CI95[1] {
		s.inside++
	}
}

func (s *tally) coverage() float64 { return float64(s.inside) / float64(len(s.miss)) }

func (s *tally) median() float64 {
	v := make([]float64, len(s.miss))
	for i, x := range s.miss {
		v[i] = math.Abs(x)
	}
	return stats.Median(v)
}

var quantities = []string{"equivalent mass", "acceleration gained", "acceleration", "power", "seconds"}

type worthTally struct {
	mu      sync.Mutex
	by      map[string]*tally
	none    int
	verdict map[compare.Verdict]int
}

func (s *worthTally) job(j *work) {
	r := analysis.Compare(j.sides[0], j.sides[1], analysis.CompareOptions{Compare: compare.Options{Checklist: true}})
	s.mu.Lock()
	defer s.mu.Unlock()
	f := r.Compare
	s.verdict[f.Verdict]++
	before, after := j.before.Inertia, j.after.Inertia
	t := truth{&j.after}
	if f.Torque == nil {
		s.none++
		return
	}
	for _, g := range f.ByGear {
		force, v := t.force(g.Gear, g.AtRPM)
		mass := j.after.EquivalentMass(before-after, g.Gear)
		s.by["equivalent mass"].add(g.EquivalentMass, mass)
		s.by["acceleration gained"].add(g.AccelerationGain, 100*(t.mass(g.Gear, before)/t.mass(g.Gear, after)-1))
		if g.Acceleration == nil {
			continue
		}
		a := force / t.mass(g.Gear, after)
		s.by["acceleration"].add(g.Acceleration, a)
		s.by["power"].add(g.EquivalentPower, mass*a*v/1000)
	}
	for _, x := range f.SpanTimes {
		s.by["seconds"].add(x.Saved, t.seconds(x.Gear, x.FromKmh, x.ToKmh, before)-t.seconds(x.Gear, x.FromKmh, x.ToKmh,
			after))
	}
}

// each does n jobs on all cores.
func each(n int, do func(i int)) {
	var wg sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range next {
				do(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
}

// TestProofWorth sets what a change is worth, gear by gear, against the truth: on the cars that the code was
// tried on, on cars that were held back until it was done, and with a vehicle file that tells the mass alone.
func TestProofWorth(t *testing.T) {
	all := newWorthTally()
	for _, set := range []struct {
		name      string
		cars      []sim.Car
		massAlone bool
	}{{"cars that the code was tried on", triedCars(), false}, {"cars that were held back", heldBackCars(), false},
		{"the vehicle file tells the mass alone", triedCars(), true}} {
		fmt.Printf("\n### What a change is worth, by gear: %s. %d whole jobs, two sittings a side\n\n| car | quantity | "+
			"values | error: median %% | 90 %% below | mean | interval, half: median %% | "+
			"coverage | jobs without torque |\n|---|---|---|---|---|---|---|---|---|\n", set.name, jobs())
		whole := newWorthTally()
		for c, car := range set.cars {
			sum := newWorthTally()
			each((jobs()+len(set.cars)-1)/len(set.cars), func(i int) {
				j := newWork(car, rand.New(rand.NewPCG(uint64(i), uint64(900+c))))
				if set.massAlone {
					j.massAlone()
				}
				sum.job(j)
			})
			sum.print(car.Vehicle.Name)
			whole.merge(sum)
		}
		whole.print("all")
		whole.hold(t, set.name)
		all.merge(whole)
	}
	fmt.Println()
	all.print("everything")
	all.holdStrictly(t)
}

func newWorthTally() *worthTally {
	s := &worthTally{by: map[string]*tally{}, verdict: map[compare.Verdict]int{}}
	for _, q := range quantities {
		s.by[q] = &tally{}
	}
	return s
}

func (s *worthTally) merge(o *worthTally) {
	for q, x := range o.by {
		y := s.by[q]
		y.miss, y.half, y.inside = append(y.miss, x.miss...), append(y.half, x.half...), y.inside+x.inside
	}
	s.none += o.none
}

func (s *worthTally) print(name string) {
	for _, q := range quantities {
		x := s.by[q]
		v := make([]float64, len(x.miss))
		for i, m := range x.miss {
			v[i] = math.Abs(m)
		}
		slices.Sort(v)
		fmt.Printf("| %s | %s | %d | %.1f | %.1f | %+.1f | %.1f | %.3f | %d |\n", name, q, len(x.miss), 100*x.median(),
			100*stats.Quantile(v, 0.9), 100*stats.Summarise(x.miss).Mean,
			100*stats.Median(x.half), x.coverage(), s.none)
	}
}

// hold asserts the aims of one table. The gears of a job err together, so that a coverage is as uncertain as
// the number of jobs says.
func (s *worthTally) hold(t *testing.T, name string) {
	chance := 3 * math.Sqrt(0.95*0.05/float64(jobs()))
	for _, q := range quantities {
		if c := s.by[q].coverage(); c < 0.93-chance || c > 0.97+chance {
			t.Errorf("%s, %s: %.3f of the truths lie inside the 95 %% interval", name, q, c)
		}
	}
	if m := s.by["power"].median(); m > 0.12 {
		t.Errorf("%s: median error of power %.1f %%, want below 12", name, 100*m)
	}
	if m := s.by["acceleration"].median(); m > 0.06 {
		t.Errorf("%s: median error of acceleration %.1f %%, want below 6", name, 100*m)
	}
}

// holdStrictly asserts the nominal rate over all tables.
func (s *worthTally) holdStrictly(t *testing.T) {
	for _, q := range quantities {
		if c := s.by[q].coverage(); c < 0.93 || c > 0.97 {
			t.Errorf("%s: %.3f of the truths lie inside the 95 %% interval, want 0.93 to 0.97", q, c)
		}
	}
}

func triedCars() []sim.Car {
	cars := sim.Cars()
	return []sim.Car{cars[0], cars[1], cars[3]}
}

// heldBackCars are a heavy diesel and a small town car. Nothing was set by them.
func heldBackCars() []sim.Car {
	town := sim.BenchMule()
	r := 1.76 / (2 * math.Pi)
	town.Vehicle = &vehicle.Vehicle{Name: "Mill pony", Mass: 960, MassSD: 10, RollingCircumference: 1.76,
		WheelInertia: 0.03 * 960 * r * r / 4, DrivenWheels: 2,
		SpeedSource: vehicle.SourceDriven, Engine: vehicle.Engine{IdleRPM: 870, LimitRPM: 6200, Fuel: "petrol",
			Throttle: "wire"},
		Gearbox: vehicle.Gearbox{Type: vehicle.Manual, Ratios: []float64{3.73, 2.05, 1.39, 1.04, 0.84}, FinalDrive: 4.4,
			Efficiency: 0.95},
		RoadLoad: &vehicle.RoadLoad{F0: 105, F1: 0.8, F2: 0.38}}
	town.Inertia, town.DiscInertia = 0.12, 0.007
	town.Engine.FullLoad = []sim.TorquePoint{{RPM: 800, Nm: 70}, {RPM: 1500, Nm: 118}, {RPM: 2200, Nm: 150},
		{RPM: 3500, Nm: 152}, {RPM: 4500, Nm: 146}, {RPM: 5500, Nm: 124}, {RPM: 6200, Nm: 98}}
	town.Engine.Boosted, town.Engine.BoostLag, town.Engine.D0, town.Engine.D1, town.Engine.D2 = 0.35, 0.35, 13, 0.018,
		4e-5
	town.Engine.ReferenceNm = 0
	town.Clutch.Capacity = 210
	return []sim.Car{sim.Cars()[2], town}
}
