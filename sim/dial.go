package sim

import (
	"math"
	"math/rand/v2"
)

// Dial is what stands between a wheel that turns and the speed that a channel shows. The zero value shows the truth.
type Dial struct {
	Offset      float64 // km/h added once the car rolls: a dial may show up to 10 % and 4 km/h too much (UN ECE R39, from memory)
	Growth      float64 // relative, at 100 km/h, in proportion to speed
	Cold        float64 // relative at the start, decaying with the road: cold tyres are small
	DrivenShare float64 // 0-1: share of the driven wheels in a mean of all; 0 leaves the vehicle's own source
	HalfTrack   float64 // m: the sensor is on the wheel that far left of the middle (negative: right); bends change its path
	BrakeCreep  float64 // relative, at 10 m/s^2 of braking
	NoiseKmh    float64 // km/h, standard deviation at 100 km/h of a rough road's noise, in proportion to speed
	NoiseTau    float64 // s, its correlation time
	Average     float64 // s over which it is averaged
}

// shown passes wheel speed in km/h through the dial. Nothing is copied when there is nothing to do.
func (d Dial) shown(tr *Truth, src []float64, rng *rand.Rand) []float64 {
	if d == (Dial{}) {
		return src
	}
	out := make([]float64, len(src))
	weight := tr.car.Vehicle.Mass * 10
	noise := 0.0
	keep := math.Exp(-tr.Step / max(d.NoiseTau, tr.Step))
	way := 0.0
	for i, v := range src {
		if d.DrivenShare > 0 {
			v = d.DrivenShare*tr.WheelKmh[i] + (1-d.DrivenShare)*tr.GroundKmh[i]
		}
		way += v / 3.6 * tr.Step
		gain := 1 + d.Growth*v/100 - d.Cold*math.Exp(-way/coldRoad)
		if d.HalfTrack != 0 && tr.Bend != nil {
			gain -= d.HalfTrack * tr.Bend[i]
		}
		gain -= d.BrakeCreep * tr.BrakeN[i] / weight
		if d.NoiseKmh > 0 && rng != nil {
			noise = keep*noise + math.Sqrt(1-keep*keep)*rng.NormFloat64()
			gain += d.NoiseKmh / 100 * noise
		}
		out[i] = max(0, v*gain)
		if v > 2 {
			out[i] += d.Offset * min(1, (v-2)/5)
		}
	}
	return average(out, d.Average, tr.Step)
}

// average is the mean of the last dur s.
func average(x []float64, dur, step float64) []float64 {
	n := int(dur/step + 0.5)
	if n < 2 {
		return x
	}
	out := make([]float64, len(x))
	sum := 0.0
	for i, v := range x {
		sum += v
		if i >= n {
			sum -= x[i-n]
		}
		out[i] = sum / float64(min(i+1, n))
	}
	return out
}

// wander is a delay that changes slowly: a first-order random process of sd s.
func wander(tr *Truth, sd, tau float64, rng *rand.Rand) []float64 {
	if tau <= 0 {
		tau = 60
	}
	keep := math.Exp(-tr.Step / tau)
	out := make([]float64, tr.Len())
	x := sd * rng.NormFloat64()
	for i := range out {
		x = keep*x + sd*math.Sqrt(1-keep*keep)*rng.NormFloat64()
		out[i] = x
	}
	return out
}

// lag is the delay in s of the speed that is shown at t s.
func (s *gauge) lag(t float64) float64 {
	if s.lags == nil {
		return s.lg.SpeedLag
	}
	return max(0, s.lg.SpeedLag+s.between(s.lags, t))
}

// load is the load channel in %.
func (s *gauge) load(t float64) float64 {
	switch {
	case s.lg.LoadStuck > 0:
		return s.lg.LoadStuck
	case s.lg.LoadScale > 0:
		return min(100, s.lg.LoadScale*s.between(s.tr.LoadPct, t))
	}
	return s.between(s.tr.LoadPct, t)
}

// jitter is the error in s of the next stamp.
func (s *gauge) jitter(t float64, rng *rand.Rand) float64 {
	if s.lg.JitterTau <= 0 {
		return s.lg.Jitter * rng.NormFloat64()
	}
	keep := math.Exp(-(t - s.lastAsk) / s.lg.JitterTau)
	s.lastAsk = t
	s.lastError = keep*s.lastError + s.lg.Jitter*math.Sqrt(1-keep*keep)*rng.NormFloat64()
	return s.lastError
}

// burst hands replies on together, some of the time: a buffer that is emptied late.
func (lg Logger) burst(rs []Reply, rng *rand.Rand) {
	if lg.BurstShare <= 0 || lg.BurstS <= 0 {
		return
	}
	for i := 0; i < len(rs); {
		j := i + 1
		for j < len(rs) && rs[j].T < rs[i].T+lg.BurstS {
			j++
		}
		if rng.Float64() < lg.BurstShare {
			for k := i; k < j; k++ {
				rs[k].T = rs[j-1].T + 0.004*float64(k-i)
			}
		}
		i = j
	}
}
