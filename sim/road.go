package sim

import (
	"math"
	"math/rand/v2"
)

// Road is where the car drives: grades by distance, grip and air. The profile repeats when its end is reached.
type Road struct {
	Grades  []float64 // rise per metre of road at knots Spacing apart, linear between; empty is level
	Spacing float64   // m
	Mu      float64   // grip of the tyres: 0.9-1.0 dry, 0.5-0.6 wet
	Ambient float64   // C
	Wind    float64   // m/s, positive from ahead when driving outward
	GustSD  float64   // m/s, standard deviation of the wind's gusts along the road, correlated over 3 s
	Bends   []float64 // 1/m, curvature at knots Spacing apart, positive to the left; empty is straight
}

// LevelRoad is dry and flat at 18 C.
func LevelRoad() Road { return Road{Spacing: 50, Mu: 0.95, Ambient: 18} }

// HillyRoad returns a dry road whose grade wanders with a standard deviation (0.015 is an ordinary road) and a
// correlation length in m (300 is usual).
func HillyRoad(rng *rand.Rand, sd, length float64) Road {
	r := LevelRoad()
	r.Grades = make([]float64, 4000)
	keep := math.Exp(-r.Spacing / length)
	g := sd * rng.NormFloat64()
	for i := range r.Grades {
		r.Grades[i] = g
		g = keep*g + sd*math.Sqrt(1-keep*keep)*rng.NormFloat64()
	}
	return r
}

// Wet returns the road with wet grip.
func (r Road) Wet() Road { r.Mu = 0.55; return r }

// grade returns rise per metre at a distance of x m along the road.
func (r *Road) grade(x float64) float64 { return knot(r.Grades, x/r.Spacing) }

// knot returns a profile at p knots from its start, linear between knots; it repeats.
func knot(profile []float64, p float64) float64 {
	n := len(profile)
	if n == 0 {
		return 0
	}
	f := math.Floor(p)
	i := int(f) % n
	if i < 0 {
		i += n
	}
	j := i + 1
	if j == n {
		j = 0
	}
	return profile[i] + (p-f)*(profile[j]-profile[i])
}
