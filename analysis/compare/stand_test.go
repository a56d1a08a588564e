package compare

import (
	"math/rand/v2"

	"flywitness/analysis/inertia"
	"flywitness/analysis/inertia/testcar"
	"flywitness/drive"
)

// revs records n free revs of a car, from about top rpm, on a link; tau is the run-to-run spread of its drag,
// session a factor on the drag of the whole sitting.
func revs(car *testcar.Car, n int, top, tau, session float64, link testcar.Link, rng *rand.Rand) Side {
	phases := testcar.FreeRevs(n, top, tau, rng)
	for i := range phases {
		phases[i].Drag *= session
	}
	log := link.Record(car.Drive(0, phases), rng)
	f, _ := inertia.Measure([]*drive.Log{log}, nil, nil, inertia.Options{})
	return Side{Logs: []*drive.Log{log}, Inertia: f}
}

// stand is the small test car with another inertia.
func stand(inertia float64) *testcar.Car {
	c := testcar.Small()
	c.Inertia = inertia
	return c
}

func seeded(a, b uint64) *rand.Rand { return rand.New(rand.NewPCG(a, b)) }
