package gearstate

import (
	"flywitness/internal/order"
	"flywitness/vehicle"
)

const (
	leastIdle, mostIdle = 400.0, 1600.0 // rpm between which an engine idles, a cold one too. Common practice, no source
	idleValues          = 20            // that tell at what
)

// Idle learns at what an engine idles. The zero value has learnt nothing.
type Idle struct{ still []float64 }

// Add takes the engine speeds of a log while the car stands, at most standing km/h; of a log without road speed all
// that can be idle. Times rise.
func (d *Idle) Add(rpmT, rpm, speedT, speed []float64, standing float64) {
	if len(speed) == 0 {
		for _, n := range rpm {
			d.take(n)
		}
		return
	}
	j := 0
	for i, t := range speedT {
		if speed[i] > standing {
			continue
		}
		for j < len(rpmT) && rpmT[j] < t {
			j++
		}
		if j < len(rpmT) {
			d.take(rpm[j])
		}
	}
}

func (d *Idle) take(n float64) {
	if n > leastIdle && n < mostIdle {
		d.still = append(d.still, n)
	}
}

// RPM is what the vehicle file says, else the median of what the logs show, else what is usual.
func (d *Idle) RPM(veh *vehicle.Vehicle) float64 {
	if veh != nil && veh.Engine.IdleRPM > 0 {
		return veh.Engine.IdleRPM
	}
	if len(d.still) < idleValues {
		return vehicle.UsualIdleRPM
	}
	return order.Kth(d.still, len(d.still)/2)
}
