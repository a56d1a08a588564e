package drag

import (
	"flywitness/analysis/stats"
	"flywitness/sim/engine"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

func TestLookHolds(t *testing.T) {
	for _, l := range []engine.Link{engine.KLine, engine.CAN, engine.CANMulti} {
		var dev, sds, fdev, fsds []float64
		for rep := range 40 {
			rng := rand.New(rand.NewPCG(uint64(rep), 3))
			e := engine.Random(rng)
			d := engine.Checklist().Draw(rng)
			d.FanShare = 0
			var ph []engine.Phase
			ph = append(ph, engine.Phase{Kind: engine.Idle, Seconds: 4})
			for range 8 {
				ph = append(ph, engine.Phase{Kind: engine.Hold, RPM: 2500, Seconds: 15}, engine.Phase{Kind: engine.Idle, Seconds: 2})
			}
			log := l.Record(engine.Sit(e, d, ph, rng), engine.Everything(), rng)
			g := newGauges(log, false)
			var v, f []float64
			for _, h := range g.holds(0, 0, e.IdleRPM) {
				if h.Used {
					if rep < 2 {
						fmt.Printf("%.0f+-%.0f %.1fs  ", h.RPM, h.Spread, h.End-h.Start)
					}
					v = append(v, h.air.value-1.25*math.Log(h.RPM/2500))
					sds = append(sds, h.air.sd)
					if h.fuel != nil {
						f = append(f, h.fuel.value-1.25*math.Log(h.RPM/2500))
						fsds = append(fsds, h.fuel.sd)
					}
				} else {
					fmt.Println(h.WhyNot)
				}
			}
			s := stats.Summarise(v)
			for _, x := range v {
				dev = append(dev, (x-s.Mean)*math.Sqrt(8.0/7))
			}
			s = stats.Summarise(f)
			for _, x := range f {
				fdev = append(fdev, (x-s.Mean)*math.Sqrt(8.0/7))
			}
		}
		fmt.Printf("%s n %d true sd %.3f%% stated rms %.3f%% | fuel %.3f %.3f\n", l.Name, len(dev), 100*stats.Summarise(dev).SD, 100*rms(sds), 100*stats.Summarise(fdev).SD, 100*rms(fsds))
	}
}
func rms(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		s += x * x
	}
	return math.Sqrt(s / float64(len(v)))
}
