package sim

// TracePoint is a corner of a prescribed drive: at time T (s from its start) the speed is Kmh, and from there on Gear
// is in (0 is neutral with the foot off the clutch), linear in between.
type TracePoint struct {
	T, Kmh float64
	Gear   int
}

// Trace follows a prescribed drive, as a test bench driver does. It starts from rest.
func Trace(points []TracePoint) Action {
	return Action{Kind: "trace", do: func(d *run) {
		if len(points) < 2 {
			return
		}
		d.stop()
		start := d.now()
		sum := 0.1
		for i := 0; ; {
			t := d.now() - start
			for i+1 < len(points) && points[i+1].T <= t {
				i++
			}
			if i+1 >= len(points) {
				break
			}
			a, b := points[i], points[i+1]
			rate := (b.Kmh - a.Kmh) / (b.T - a.T)
			d.obey(a.Kmh+rate*(t-a.T), rate, a.Gear, &sum)
		}
		d.stop()
	}}
}

// obey spends a tick, or a launch or a shift, on being at a speed (km/h) that changes at rate (km/h/s) in a gear.
func (d *run) obey(kmh, rate float64, gear int, sum *float64) {
	idle := d.motor.idle
	switch {
	case gear > 0 && d.v < 0.5 && rate > 0:
		d.launch(NormalLaunch)
		return
	case gear > 0 && d.gear != gear && d.v > 1:
		d.shift(gear, NormalShift)
		*sum = min(*sum, 0.2)
		return
	case gear == 0 && d.gear != 0 || d.gear > 0 && d.we < 0.95*idle && rate < 0 && d.engagement > 0:
		d.neutral()
	}
	miss := kmh - d.kmh()
	d.brake = 0
	if rate < 0 && miss < 0 || gear == 0 {
		d.brake = d.mass * max(0, min(3, -0.6*miss-0.15*rate))
		d.foot = 0
	} else {
		*sum = max(0, min(0.9, *sum+0.06*miss*tick))
		d.foot = max(0, min(0.9, *sum+0.12*miss+0.02*rate))
	}
	if d.gear == 0 {
		d.foot = 0
		if kmh < 0.5 {
			d.brake = d.mass * 2
		}
	}
	d.step()
}
