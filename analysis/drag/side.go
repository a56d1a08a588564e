package drag

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"flywitness/analysis/inertia"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/vehicle"
)

// Side is what the logs of one side show of what held the engine, and of what else is in its falls.
type Side struct {
	Holds []Hold
	idles []Hold
	falls map[int]*fallFacts // by session
	oil   map[int]float64    // C in the falls, by session; missing where it is not known
	flow  flow
}

// fallFacts is what other channels show in the falls of one sitting.
type fallFacts struct {
	volts        [][]float64  // of each fall
	pressure     [][2]float64 // 1000 rpm over engine speed, kPa
	cut, fuelled int          // falls
}

// Measure looks for holds in the logs of one side. session names the sitting of each log, nil: each log is one;
// runs are the side's free revs; diesel tells that its fuel and not its air pays. It returns nil where the engine
// was nowhere held.
func Measure(logs []*drive.Log, session []int, runs *inertia.Finding, diesel, idle bool) *Side {
	s := &Side{falls: map[int]*fallFacts{}, oil: map[int]float64{}}
	for i, l := range logs {
		g := newGauges(l, diesel)
		if g == nil {
			continue
		}
		of := i
		if i < len(session) {
			of = session[i]
		}
		idles := float64(vehicle.UsualIdleRPM)
		if runs != nil && runs.IdleRPM > 0 {
			idles = runs.IdleRPM
		}
		s.Holds = append(s.Holds, g.holds(i, of, idles)...)
		if idle {
			s.idles = append(s.idles, g.idles(i, of, idles)...)
		}
		if g.flow != "" {
			s.flow = g.flow
		}
		if runs != nil {
			s.lookAtFalls(g, i, of, runs)
		}
	}
	if len(s.Holds) == 0 && len(s.idles) == 0 {
		return nil
	}
	return s
}

// Held tells whether the engine was held anywhere, well or not.
func (s *Side) Held() bool { return s != nil && len(s.Holds) > 0 }

const noFuel = 0.1 // l/h; less is none

func (s *Side) lookAtFalls(g *gauges, input, session int, runs *inertia.Finding) {
	f := s.falls[session]
	if f == nil {
		f = &fallFacts{}
		s.falls[session] = f
	}
	var oil []float64
	for _, r := range runs.FreeRevs(inertia.RevDown) {
		if r.Input != input {
			continue
		}
		from, to := r.T[0], r.T[len(r.T)-1]
		f.volts = append(f.volts, g.voltage.part(r.Start, r.End).v)
		p := g.pressure.part(from, to)
		for i, t := range p.t {
			if n, ok := g.rpm.near(t, math.Max(0.5, 2*g.interval)); ok && n > 0 {
				f.pressure = append(f.pressure, [2]float64{1000 / n, p.v[i]})
			}
		}
		switch g.fuelled(from, to) {
		case yes:
			f.fuelled++
		case no:
			f.cut++
		}
		if v, ok := g.oil.near(from, 60); ok {
			oil = append(oil, v)
		}
	}
	if len(oil) > 0 {
		s.oil[session] = stat.Mean(oil, nil)
	}
}

type answer int

const (
	unknown answer = iota
	yes
	no
)

// fuelled tells whether fuel flowed in a fall, as the fuel system's status or the fuel rate say.
func (g *gauges) fuelled(from, to float64) answer {
	if st := g.status.part(from, to).v; len(st) > 0 {
		if st[len(st)/2] == cutOff {
			return no
		}
		return yes
	}
	if v, n := g.fuelRate.part(from+0.3, to).mean(); n > 0 {
		if v < noFuel {
			return no
		}
		return yes
	}
	return unknown
}

// apart is how far engine speeds lie apart that are two speeds and not one, as a logarithm.
const apart = 0.12

// speeds groups the speeds of used holds and returns the middle of each group, in rising order.
func speeds(holds ...[]Hold) []float64 {
	var all []float64
	for _, hs := range holds {
		for _, h := range hs {
			if h.Used {
				all = append(all, math.Log(h.RPM))
			}
		}
	}
	slices.Sort(all)
	var out []float64
	from := 0
	for i := 1; i <= len(all); i++ {
		if i == len(all) || all[i]-all[i-1] > apart {
			out = append(out, math.Exp(stat.Mean(all[from:i], nil)))
			from = i
		}
	}
	return out
}

// Speeds are the engine speeds in rpm at which the engine was held, in rising order; the holds that count make them.
func (s *Side) Speeds() []float64 {
	if s == nil {
		return nil
	}
	return speeds(s.Holds)
}

// sitting is what one sitting's holds tell, at the common speeds.
type sitting struct {
	session   int
	air, fuel []level // by speed; fuel nil without trims
	coolant   float64 // C, NaN where it is not known
	spark     float64 // degrees before top dead centre, likewise
	purge     float64 // % that the canister's valve is open, likewise
}

// disagree is by how much holds of one speed in one sitting may differ, and beyondNoise how many of their own
// standard deviations where those are larger.
const disagree, beyondNoise = 0.025, 2.5

// sit brings the holds of one sitting at the common speeds together; ok is false where one is missing. Each speed
// weighs alike, and within it each hold.
func (s *Side) sit(session int, at []float64, exponent float64, after bool) (st sitting, why *finding.Finding,
	ok bool) {
	st = sitting{session: session}
	var coolant, spark, purge []float64
	for _, rpm := range at {
		var here []*Hold
		for i := range s.Holds {
			if h := &s.Holds[i]; h.Used && h.Session == session && math.Abs(math.Log(h.RPM/rpm)) < apart {
				here = append(here, h)
			}
		}
		if len(here) == 0 {
			return st, nil, false
		}
		here, off := agreeing(here, rpm, exponent)
		if off > math.Max(disagree, beyondNoise*math.Hypot(here[0].air.sd, here[len(here)-1].air.sd)) {
			r := finding.New(finding.HoldsDisagree, finding.Flag("after", after), finding.EngineSpeed("at", rpm),
				finding.Pct("off", 100*off))
			return st, &r, false
		}
		air, fuel := level{}, level{}
		fuelled := true
		for _, h := range here {
			shift := exponent * math.Log(h.RPM/rpm)
			add(&air, h.air, shift, len(here))
			if fuelled = fuelled && h.fuel != nil; fuelled {
				add(&fuel, h.fuel, shift, len(here))
			}
		}
		coolant = append(coolant, known(here, func(h *Hold) float64 { return h.coolant }))
		spark = append(spark, known(here, func(h *Hold) float64 { return h.spark }))
		purge = append(purge, known(here, func(h *Hold) float64 { return h.purge }))
		air.sd = math.Sqrt(air.sd)
		st.air = append(st.air, air)
		if fuelled {
			fuel.sd = math.Sqrt(fuel.sd)
			st.fuel = append(st.fuel, fuel)
		}
	}
	if len(st.fuel) < len(st.air) {
		st.fuel = nil
	}
	st.coolant, st.spark, st.purge = stat.Mean(coolant, nil), stat.Mean(spark, nil), stat.Mean(purge, nil)
	return st, nil, true
}

// known is the mean of what is known; NaN where nothing is.
func known(holds []*Hold, of func(*Hold) float64) float64 {
	sum, n := 0.0, 0.0
	for _, h := range holds {
		if x := of(h); !math.IsNaN(x) {
			sum, n = sum+x, n+1
		}
	}
	return sum / n
}

// add takes a hold into the mean of n; sd gathers the variance of that mean.
func add(to, l *level, shift float64, n int) {
	k := float64(n)
	to.value += (l.value - shift) / k
	to.sd += l.sd * l.sd / (k * k)
}

// agreeing returns the holds of one speed that count and by how much they differ. Of three or more, those that lie
// near the two that agree best count.
func agreeing(h []*Hold, rpm, exponent float64) (kept []*Hold, off float64) {
	at := func(x *Hold) float64 { return x.air.value - exponent*math.Log(x.RPM/rpm) }
	slices.SortFunc(h, func(a, b *Hold) int {
		if at(a) < at(b) {
			return -1
		}
		return 1
	})
	if len(h) < fewestKept {
		return h, at(h[len(h)-1]) - at(h[0])
	}
	best := 0
	for i := 1; i+1 < len(h); i++ {
		if at(h[i+1])-at(h[i]) < at(h[best+1])-at(h[best]) {
			best = i
		}
	}
	middle := (at(h[best]) + at(h[best+1])) / 2
	for _, x := range h {
		if d := math.Abs(at(x) - middle); d <= disagree || x == h[best] || x == h[best+1] {
			kept = append(kept, x)
		} else {
			x.refuse(finding.HoldOdd, finding.Pct("off", 100*d))
		}
	}
	return kept, at(h[best+1]) - at(h[best])
}
