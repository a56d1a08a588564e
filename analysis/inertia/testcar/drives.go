package testcar

import "math/rand/v2"

// Small is the car of most tests: the drag rises with speed.
func Small() *Car {
	return &Car{
		Inertia: 0.22, Drag: func(w float64) float64 { return 22 + 0.02*w + 6e-5*w*w }, Idle: 850 * RPM, Limit: 6500 * RPM,
		Mass: 1250, Radius: 0.30, WheelMass: 40, Ratio: []float64{14.35, 8.0, 5.45, 4.1}, Efficiency: 0.97,
		F0: 140, F1: 1.2, F2: 0.42,
	}
}

// FreeRevs is n free revs at rest from about top rpm, each with its own drag (sd relative).
func FreeRevs(n int, top, sd float64, rng *rand.Rand) []Phase {
	p := []Phase{{Time: 5}}
	for range n {
		peak := (top + 150*rng.NormFloat64()) * RPM
		p = append(p,
			Phase{Time: 6, Until: peak, Open: 0.45 + 0.1*rng.Float64(), Drag: Jitter(rng, sd)},
			Phase{Time: 5 + rng.Float64()})
	}
	return p
}
