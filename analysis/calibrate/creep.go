package calibrate

import (
	"math"
	"slices"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/internal/order"
	"flywitness/vehicle"
)

// usualFull is what a channel reaches at full load at least; a log that never saw full load must not take its
// maximum for it.
var usualFull = map[string]float64{drive.EngineTorque: 80, drive.EngineLoad: 95, drive.Pedal: 90,
	drive.IntakePressure: 90,
	drive.DemandedTorque: 80, drive.Throttle: 80}

// An accelerator that is reported as its sensor's share of the supply voltage, and not from 0 to 100 %, rests above
// rawPedal and goes no further than to rawPedalFull, %. Common practice, no source.
const rawPedal, rawPedalFull = 10.0, 75.0

const (
	loadValues = 20     // of a channel that tell its closed and its full value,
	manyLoads  = 10000  // and no more are looked at
	leastRaw   = -200.0 // as far as any of the channels goes
	mostRaw    = 2000.0
	deadLoad   = 10.0 // %; a channel that moves less is dead
	quickLoad  = 1.0  // s between values of a load that keeps up with the foot,
	quickLoads = 2.5  // or intervals of the slower signal

	forceFrom   = 15.0 // km/h; below, steps of road speed drown the acceleration
	shutLoad    = 0.1  // load fraction of a shut throttle
	forceValues = 200  // samples that give the map from load to force,
	forceTells  = 0.35 // and the correlation of the two

	settledFor    = 0.6 // s from any change of gear or clutch,
	settledValues = 1.2 // and intervals

	timingValues = 50   // samples that tell the error of time stamps
	usualTiming  = 0.03 // s, where they do not
	finestTiming = 0.01 // s; no stamp of a car is better
)

// loadScale picks the load channel of a set of logs and learns its closed and full values.
func loadScale(p *pool, veh *vehicle.Vehicle) gearstate.LoadScale {
	var best gearstate.LoadScale
	for _, name := range gearstate.LoadChannels(veh) {
		var values []float64
		have, all, period := 0.0, 0.0, 0.0
		for _, s := range p.logs {
			all += s.lasts
			c := p.loads[s.input].Channel(name)
			some := someOf(c)
			if len(some) < loadValues {
				continue
			}
			have += s.lasts
			period = math.Max(period, stats.MedianStep(c.T))
			values = append(values, some...)
		}
		if len(values) == 0 || 2*have < all { // by time: a log that was broken off at once counts for nothing
			continue
		}
		slices.Sort(values)
		closed := values[len(values)/100]
		top := values[len(values)-1-len(values)/500]
		if top-closed < deadLoad {
			continue
		}
		if name == drive.EngineTorque || name == drive.DemandedTorque {
			closed = math.Max(0, closed)
		}
		full := usualFull[name]
		if name == drive.Pedal && closed >= rawPedal {
			full = rawPedalFull
		}
		scale := gearstate.LoadScale{Channel: name, Closed: closed, Full: math.Max(top, full)}
		if period <= math.Max(quickLoad, quickLoads*p.period) {
			return scale
		}
		if best.Channel == "" {
			best = scale
		}
	}
	return best
}

// someOf returns values from all over a channel, as far as a load can have them.
func someOf(c *drive.Channel) (some []float64) {
	if c == nil {
		return nil
	}
	for i := 0; i < len(c.V); i += 1 + len(c.V)/manyLoads {
		if x := c.V[i]; x >= leastRaw && x <= mostRaw {
			some = append(some, x)
		}
	}
	return some
}

// forceMap fits wheel force over weight = (b0 + b1 load) k on locked samples, where c.gear tells them. Grade is
// noise here. It is refused when load and force hardly go together.
func (p *pool) forceMap(tracks []*gearstate.Track, c *choice, k []float64) gearstate.ForceMap {
	var n, sx, sy, sxx, sxy, syy float64
	for l, t := range tracks {
		for i, g := range c.gear[l] {
			x := t.Load[i]
			if g < 0 || math.IsNaN(x) || p.logs[l].Speed[i] < forceFrom {
				continue
			}
			y := gearstate.PhiFromAcceleration(p.logs[l].a[i], t.SpeedKmh[i]) / k[g]
			if x < shutLoad && y < 0 { // braking tells nothing about the engine
				continue
			}
			n, sx, sy, sxx, sxy, syy = n+1, sx+x, sy+y, sxx+x*x, sxy+x*y, syy+y*y
		}
	}
	if n < forceValues {
		return gearstate.ForceMap{}
	}
	vx, vy, cov := sxx-sx*sx/n, syy-sy*sy/n, sxy-sx*sy/n
	if vx <= 0 || vy <= 0 || cov/math.Sqrt(vx*vy) < forceTells {
		return gearstate.ForceMap{}
	}
	b1 := cov / vx
	return gearstate.ForceMap{Valid: true, B0: (sy - b1*sx) / n, B1: b1}
}

// settled picks the samples for the second fit: decoded locked, 0.6 s and more from any change, and below 75 %
// of the torque that the log reached, so that a clutch which slips at the top cannot bend what is learnt.
func (p *pool) settled(tracks []*gearstate.Track, m *gearstate.Model) *choice {
	c := &choice{gear: make([][]int8, len(tracks)), phi: make([][]float64, len(tracks))}
	var torque []float64
	margin := math.Max(settledFor, settledValues*p.period)
	for l, t := range tracks {
		n := t.Len()
		c.gear[l], c.phi[l] = make([]int8, n), make([]float64, n)
		since := math.Inf(-1) // time of the last sample that was not locked in the present gear
		for i := range n {
			c.gear[l][i] = -1
			if t.Clutch[i] != gearstate.Locked || i > 0 && t.Gear[i] != t.Gear[i-1] {
				since = t.T[i]
				continue
			}
			if t.T[i]-since >= margin {
				c.gear[l][i] = int8(m.Index(int(t.Gear[i])))
			}
		}
		next := math.Inf(1)
		for i := n - 1; i >= 0; i-- {
			if t.Clutch[i] != gearstate.Locked || i+1 < n && t.Gear[i] != t.Gear[i+1] {
				next = t.T[i]
				c.gear[l][i] = -1
			} else if next-t.T[i] < margin {
				c.gear[l][i] = -1
			}
			if g := c.gear[l][i]; g >= 0 {
				torque = append(torque, gearstate.PhiFromAcceleration(p.logs[l].a[i], t.SpeedKmh[i])/m.Gears[g].K)
			}
		}
	}
	if len(torque) == 0 {
		return c
	}
	top := 0.75 * order.Kth(torque, int(0.995*float64(len(torque)-1)))
	k := make([]float64, len(m.Gears))
	for g := range k {
		k[g] = m.Gears[g].K
	}
	force := p.forceMap(tracks, c, k)
	for l, t := range tracks {
		for i, g := range c.gear[l] {
			if g < 0 {
				continue
			}
			phi := gearstate.PhiFromAcceleration(p.logs[l].a[i], t.SpeedKmh[i])
			c.phi[l][i] = force.Phi(t.Load[i], k[g], phi)
			if math.Min(phi, c.phi[l][i])/k[g] > top {
				c.gear[l][i] = -1
			}
		}
	}
	return c
}

// timing regresses e^2 = s0^2 + sigma^2 a^2 over the settled samples: the error of the time stamps, in s.
func (p *pool) timing(s *solution, c *choice) float64 {
	var line stats.Line
	p.normal(s, c, func(r *used) {
		a := p.logs[r.log].a[r.i]
		line.Add(a*a, r.e*r.e)
	})
	if line.N < timingValues || line.Spread() <= 0 {
		return usualTiming
	}
	return math.Sqrt(math.Min(1, math.Max(finestTiming*finestTiming, line.Slope())))
}
