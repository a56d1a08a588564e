package drag

import (
	"math"

	"flywitness/analysis/stats"
)

// flow is what the engine's pay is read from.
type flow string

// The ways, the best first. Trims beside the air tell of the fuel too.
const (
	AirAndFuel flow = "air_and_fuel"
	Air        flow = "air"
	Load       flow = "load"      // air by what the control unit makes of it
	Pressure   flow = "pressure"  // of the manifold
	FuelRate   flow = "fuel_rate" // a diesel's
	IdleFlow   flow = "idle_flow" // without a foot on the accelerator, with the oil's temperature
)

// Speed with which flow goes in a population of engines, d ln flow / d ln N of an engine in neutral, and the
// range in which a car's own is believed.
const (
	usualExponent               = 1.2
	leastExponent, mostExponent = 0.9, 1.5
)

// choose takes the best flow that the log has.
func (g *gauges) choose() flow {
	switch {
	case g.diesel:
		if g.fuelRate != nil {
			return FuelRate
		}
		return ""
	case g.air != nil && g.short != nil && g.long != nil:
		return AirAndFuel
	case g.air != nil:
		return Air
	case g.load != nil:
		return Load
	case g.pressure != nil:
		return Pressure
	}
	return ""
}

// drawn returns the samples of ln flow of a stretch and their times.
func (g *gauges) drawn(h *Hold) *series {
	source, of := g.air, func(v, _ float64) float64 { return v }
	switch g.flow {
	case FuelRate:
		source = g.fuelRate
	case Load:
		source, of = g.load, func(v, n float64) float64 { return v * n }
	case Pressure:
		// A tenth of the air's pressure is burnt gas that stays behind (Heywood, Internal Combustion Engine
		// Fundamentals, chapter 6, from memory: at light load).
		air := g.airPressure()
		source, of = g.pressure, func(v, n float64) float64 { return (v - 0.1*air) * n }
	}
	p := source.part(h.Start, h.End)
	w := g.window(h)
	out := &series{}
	for i, t := range p.t {
		n, _, ok := g.rpm.line(t, w)
		if x := of(p.v[i], n); ok && x > 0 {
			out.t, out.v = append(out.t, t), append(out.v, math.Log(x))
		}
	}
	return out
}

func (g *gauges) airPressure() float64 {
	if m, n := g.barometer.part(math.Inf(-1), math.Inf(1)).mean(); n > 0 {
		return m
	}
	return 98
}

const (
	windowTime   = 0.7 // s over which a rate is taken in a hold,
	windowValues = 1.6 // and intervals
)

// window is how far to either side engine speed and its change are taken from in a hold, s.
func (g *gauges) window(h *Hold) float64 {
	step := stats.MedianStep(g.rpm.part(h.Start, h.End).t)
	if math.IsNaN(step) {
		step = g.interval
	}
	return math.Max(windowTime, windowValues*step)
}

const (
	fewestSamples = 5     // of a flow in a hold
	leastSD       = 0.003 // of a level: what a hold differs by from the next one for no reason that is seen, a value too
	heldBack      = 2e-3  // what ln flow answers a rate of 1 rpm/s by is less than this: a prior that few samples need
)

// measure takes the level of the flow of a hold: y = h + k g, with y the logarithm of the flow at the hold's
// own speed and g the rate of engine speed, for speeding up costs too; h by bisquare weights. It tells whether
// it could.
func (g *gauges) measure(h *Hold) bool {
	drawn, w := g.drawn(h), g.window(h)
	var y, rate, at []float64
	for i, t := range drawn.t {
		n, slope, ok := g.rpm.line(t, w)
		if !ok {
			continue
		}
		y, rate, at = append(y, drawn.v[i]-usualExponent*math.Log(n/h.RPM)), append(rate, slope), append(at, t)
	}
	if len(y) < fewestSamples {
		return false
	}
	value, residual := fitLevel(y, rate)
	h.air = &level{value, math.Max(leastSD, meanSD(at, residual))}
	shown := math.Exp(value)
	h.Flow = &shown
	if g.flow == AirAndFuel {
		g.addFuel(h)
	}
	return true
}

// addFuel takes the fuel from air and trims: ln fuel = ln air + ln(1 + trims) - ln(commanded lambda).
func (g *gauges) addFuel(h *Hold) {
	short, n := g.short.part(h.Start-1, h.End+1).mean()
	long, m := g.long.part(h.Start-1, h.End+1).mean()
	if n < 2 || m < 1 || short+long < -60 {
		return
	}
	lambda := 1.0
	if v, k := g.lambda.part(h.Start-3, h.End+3).mean(); k > 0 && v > 0.5 {
		lambda = v
	}
	sum := short + long
	h.TrimPct = &sum
	var around []float64
	for _, v := range g.short.part(h.Start-1, h.End+1).v {
		around = append(around, v/100)
	}
	own := stats.Summarise(around).SD / math.Sqrt(float64(n))
	h.fuel = &level{h.air.value + math.Log1p(sum/100) - math.Log(lambda), math.Hypot(h.air.sd, own)}
}

// fitLevel is y = h + k g by iterated bisquare weights.
func fitLevel(y, g []float64) (h float64, residual []float64) {
	w := make([]float64, len(y))
	for i := range w {
		w[i] = 1
	}
	residual = make([]float64, len(y))
	scatter := 0.01
	for range 12 {
		var sw, sy, sg float64
		for i := range y {
			sw, sy, sg = sw+w[i], sy+w[i]*y[i], sg+w[i]*g[i]
		}
		my, mg := sy/sw, sg/sw
		sgg, sgy := scatter*scatter/(heldBack*heldBack), 0.0
		for i := range y {
			sgg, sgy = sgg+w[i]*(g[i]-mg)*(g[i]-mg), sgy+w[i]*(g[i]-mg)*(y[i]-my)
		}
		k := sgy / sgg
		h = my - k*mg
		for i := range y {
			residual[i] = y[i] - h - k*g[i]
		}
		scatter = math.Max(leastSD, stats.MADScale*stats.MAD(residual, 0))
		for i, r := range residual {
			u := r / (4.685 * scatter)
			w[i] = 0.001
			if math.Abs(u) < 1 {
				w[i] = math.Max(w[i], (1-u*u)*(1-u*u))
			}
		}
	}
	return h, residual
}

// meanSD is the standard deviation of the mean of residuals: from blocks of a second, with what neighbouring
// blocks have in common.
func meanSD(t, residual []float64) float64 {
	var blocks []float64
	sum, n, from := 0.0, 0.0, t[0]
	for i := range t {
		if t[i]-from >= 1 && n > 0 {
			blocks = append(blocks, sum/n)
			sum, n, from = 0, 0, t[i]
		}
		sum, n = sum+residual[i], n+1
	}
	blocks = append(blocks, sum/n)
	s := stats.Summarise(blocks)
	if s.N < fewestKept || s.SD == 0 {
		return leastSD
	}
	alike := func(lag int) float64 {
		sum := 0.0
		for i := lag; i < s.N; i++ {
			sum += (blocks[i] - s.Mean) * (blocks[i-lag] - s.Mean)
		}
		return sum / (float64(s.N-1) * s.SD * s.SD)
	}
	// Bartlett's weights over two neighbours (Newey, West 1987, from memory).
	longer := 1 + 4.0/3*alike(1) + 2.0/3*alike(2)
	return s.SD / math.Sqrt(float64(max(1, s.N-2))) * math.Sqrt(math.Max(1, longer))
}
