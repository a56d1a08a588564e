package compare

import (
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/inertia"
	"flywitness/analysis/inertia/testcar"
	"flywitness/drive"
)

// revs records n free revs of a car of inertia i on a link.
func revs(i float64, n int, top float64, link testcar.Link, rng *rand.Rand) Side {
	car := testcar.Small()
	car.Inertia = i
	log := link.Record(car.Drive(0, testcar.FreeRevs(n, top, 0.015, rng)), rng)
	f, _ := inertia.Measure([]*drive.Log{log}, nil, nil, nil, inertia.Options{})
	return Side{Logs: []*drive.Log{log}, Inertia: f}
}

func TestExplore(t *testing.T) {
	for name, link := range map[string]testcar.Link{"K": testcar.KLine, "seq": testcar.CANOne, "multi": testcar.CANMulti} {
		var z, z2, cover, nn, used float64
		var ses float64
		for rep := range 200 {
			rng := rand.New(rand.NewPCG(uint64(rep), 1))
			b, a := revs(0.22, 8, 5300, link, rng), revs(0.17, 8, 5300, link, rng)
			r := explore(b.Inertia, a.Inertia)
			if r == nil {
				t.Log(name, "no ratio", len(b.Inertia.Runs))
				for _, run := range b.Inertia.Runs {
					t.Log(run.Used, run.WhyNot)
				}
				continue
			}
			used += float64(len(r.runs))
			e := r.ln - math.Log(0.22/0.17)
			z += e
			z2 += e * e
			nn++
			ses += r.se()
			if math.Abs(e) < 2.145*r.se() {
				cover++
			}
		}
		t.Logf("%s bias %.2f%% rms %.2f%% se %.2f%% cover %.3f used %.1f of 16 (%v)", name, 100*z/nn, 100*math.Sqrt(z2/nn), 100*ses/nn, cover/nn, used/nn, nn)
	}
}

func TestDebug(t *testing.T) {
	link := testcar.KLine
	for rep := range 200 {
		rng := rand.New(rand.NewPCG(uint64(rep), 1))
		b, a := revs(0.22, 8, 5300, link, rng), revs(0.17, 8, 5300, link, rng)
		r := explore(b.Inertia, a.Inertia)
		if r == nil {
			for k, s := range []Side{b, a} {
				for _, run := range s.Inertia.Runs {
					t.Log(k, run.Used, run.WhyNot)
				}
			}
			for _, run := range append(b.Inertia.FreeRevs(inertia.RevDown), a.Inertia.FreeRevs(inertia.RevDown)...) {
				t.Log(run.T, run.RPM)
			}
			return
		}
	}
}

func explore(b, a *inertia.Finding) *ratio {
	return bestRatio(b, a)
}
