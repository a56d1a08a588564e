//go:build proof

package sim

import (
	"fmt"
	"testing"
	"time"
)

// A hundred hours of healthy driving hold no slip event in the truth itself, whatever driver, car and road; a tired
// clutch makes them by the hundred. An hour takes about half a second.
func TestProofHours(t *testing.T) {
	fmt.Println("| car | clutch | hours | slip events | of these > 3 % and > 1.5 s | largest wheel slip % | s per hour |")
	fmt.Println("|---|---|---|---|---|---|---|")
	for i, car := range Cars() {
		for _, share := range []float64{0, 1.0, 0.9} {
			hours := 25
			if share > 0 {
				hours = 5
			}
			began := time.Now()
			events, large, spin := 0, 0, 0.0
			for h := range hours {
				rng := source(uint64(1000*i + h))
				c := car
				if share > 0 {
					c = car.Tired(share, rng)
				}
				road := HillyRoad(rng, 0.015, 300)
				if h%3 == 0 {
					road = road.Wet()
				}
				o := MixedTraffic()
				o.FullThrottleShifts = 0.2
				tr := Drive(c, road, []Action{Traffic(rng, 60, o)}, rng)
				events += len(tr.Events)
				for _, e := range tr.Events {
					if e.PeakPct > 3 && e.EndS-e.StartS > 1.5 {
						large++
					}
				}
				for k := range tr.T {
					if tr.GroundKmh[k] > 10 {
						spin = max(spin, 100*(tr.WheelKmh[k]/tr.GroundKmh[k]-1))
					}
				}
			}
			took := time.Since(began).Seconds() / float64(hours)
			clutch := "healthy"
			if share > 0 {
				clutch = fmt.Sprintf("%.2f of peak torque", share)
			}
			fmt.Printf("| %s | %s | %d | %d | %d | %.0f | %.2f |\n", car.Vehicle.Name, clutch, hours, events, large, spin, took)
			if share == 0 && events > 0 {
				t.Errorf("%s: %d slip events with a healthy clutch", car.Vehicle.Name, events)
			}
			// A driver who lifts ends the event before it grows, so that it is events that count here.
			if share == 0.9 && events < 20 {
				t.Errorf("%s: only %d slip events with a tired clutch", car.Vehicle.Name, events)
			}
		}
	}
}
