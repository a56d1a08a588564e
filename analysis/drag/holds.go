package drag

import (
	"cmp"
	"math"
	"slices"

	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/finding"
)

// What a hold is. The foot keeps a standing engine within some tens of rpm; ten seconds are as good as sixty,
// because what is left is not noise.
const (
	shortestHold = 8.0   // s
	seenHold     = 5.0   // s, from which a try is listed
	widestHold   = 150.0 // rpm from its middle, for all but a twentieth of it
	seenWide     = 600.0 // rpm over which a try may wander
	settleS      = 2.0   // s at the start in which the foot still settles
	leaveS       = 1.0   // s at the end in which the foot may have left before engine speed shows it
	overIdle     = 1.6   // times idle, from which an engine is held and not left alone
	stillKmh     = 1.0
	speedKnown   = 20.0 // s from a value of road speed, beyond which it is not known
	longestGap   = 5.0  // s between samples: a slow link that asks for ten values in turn
)

// Hold is one stretch in which a standing engine was held at a speed, used or not. Input counts the logs of its
// side from 0; times are seconds in that log.
type Hold struct {
	Input   int          `json:"input"`
	Session int          `json:"session"`
	Start   float64      `json:"start_s"`
	End     float64      `json:"end_s"`
	RPM     float64      `json:"rpm"`
	Spread  float64      `json:"spread_rpm"` // 95 % of it lie within this of the middle
	Flow    *float64     `json:"flow"`       // what held it, in the unit of the finding's FlowUnit
	TrimPct *float64     `json:"fuel_trim_pct"`
	Used    bool         `json:"used"`
	Why     finding.Code `json:"why_not_code"` // of WhyNot; "" for a used hold
	WhyNot  finding.Text `json:"why_not"`

	air, fuel *level
	coolant   float64 // C, NaN where it is not known
	spark     float64 // degrees before top dead centre, likewise
	purge     float64 // % that the canister's valve is open, likewise
	volts     []float64
	idle      bool
	inert     bool // the mixture was not that which burns completely
}

func (h *Hold) refuse(code finding.Code, values ...finding.Value) {
	if h.Used || h.Why == "" {
		h.Used, h.Why, h.WhyNot = false, code, finding.Say(finding.New(code, values...))
	}
}

// level is the logarithm of a flow at the hold's own speed, with its standard deviation.
type level struct{ value, sd float64 }

// stretch is a range of samples, both ends included.
type stretch struct{ first, last int }

// steadiest finds the stretches in which engine speed stayed within a band of width rpm for at least a time,
// between two speeds and without a gap, the longest first; none overlaps another or what is taken already.
func steadiest(n *series, width, least, low, high float64, taken []stretch) []stretch {
	var all []stretch
	last := 0
	var tops, bottoms []int // of the window, highest and lowest first
	clear := func() { tops, bottoms = tops[:0], bottoms[:0] }
	for i := range n.t {
		if len(tops) > 0 && tops[0] < i {
			tops = tops[1:]
		}
		if len(bottoms) > 0 && bottoms[0] < i {
			bottoms = bottoms[1:]
		}
		if last < i {
			last = i
			clear()
		}
		for ; last < len(n.t); last++ {
			v := n.v[last]
			if v < low || v > high || last > i && n.t[last]-n.t[last-1] > longestGap {
				break
			}
			if last > i && (math.Max(v, n.v[tops[0]])-math.Min(v, n.v[bottoms[0]]) > width) {
				break
			}
			for len(tops) > 0 && n.v[tops[len(tops)-1]] <= v {
				tops = tops[:len(tops)-1]
			}
			for len(bottoms) > 0 && n.v[bottoms[len(bottoms)-1]] >= v {
				bottoms = bottoms[:len(bottoms)-1]
			}
			tops, bottoms = append(tops, last), append(bottoms, last)
		}
		if last > i && n.t[last-1]-n.t[i] >= least {
			all = append(all, stretch{i, last - 1})
		}
	}
	slices.SortStableFunc(all, func(a, b stretch) int {
		return cmp.Compare(n.t[b.last]-n.t[b.first], n.t[a.last]-n.t[a.first])
	})
	var out []stretch
	for _, s := range all {
		over := func(o stretch) bool { return s.first <= o.last && o.first <= s.last }
		if !slices.ContainsFunc(out, over) && !slices.ContainsFunc(taken, over) {
			out = append(out, s)
		}
	}
	return out
}

const fewestKept = 3 // values of a hold

// holds finds the holds of one log: what was steady first, then what was tried and was not.
func (g *gauges) holds(input, session int, idle float64) []Hold {
	still, low, high := g.standing(), overIdle*idle, math.Inf(1)
	steady := steadiest(still, 2*widestHold, shortestHold, low, high, nil)
	tried := steadiest(still, seenWide, seenHold, low, high, steady)
	return g.judged(still, append(steady, tried...), Hold{Input: input, Session: session, Used: true})
}

// idles finds the stretches at idle of one log, for what pays for them.
func (g *gauges) idles(input, session int, idle float64) []Hold {
	still := g.standing()
	return g.judged(still, steadiest(still, 2*widestHold, seenHold, 0.7*idle, 1.25*idle, nil),
		Hold{Input: input, Session: session, Used: true, idle: true})
}

// judged measures stretches, in the order of time; each is as of says, until it is refused.
func (g *gauges) judged(still *series, stretches []stretch, of Hold) (out []Hold) {
	for _, s := range stretches {
		h := of
		if h.trim(still, s) {
			g.judge(&h)
			out = append(out, h)
		}
	}
	slices.SortFunc(out, func(a, b Hold) int { return cmp.Compare(a.Start, b.Start) })
	return out
}

// trim takes the hold from a try: it cuts what is away from the middle off both ends, and what the foot needs to
// settle. It tells whether something is left.
func (h *Hold) trim(n *series, s stretch) bool {
	i, j := s.first, s.last
	middle := stats.Median(n.v[i : j+1])
	for i < j && math.Abs(n.v[i]-middle) > widestHold {
		i++
	}
	for i < j && math.Abs(n.v[j]-middle) > widestHold {
		j--
	}
	h.Start, h.End = n.t[i]+settleS, n.t[j]-leaveS
	kept := n.part(h.Start, h.End)
	if len(kept.v) < fewestKept {
		return false
	}
	h.RPM = stats.Median(kept.v)
	away := make([]float64, len(kept.v))
	for k, v := range kept.v {
		away[k] = math.Abs(v - h.RPM)
	}
	slices.Sort(away)
	h.Spread = stats.Quantile(away, 0.95)
	return true
}

// standing is engine speed while the car stands, or while its road speed is not known: most of a drive is neither.
func (g *gauges) standing() *series {
	out, k := &series{}, 0
	for i, t := range g.rpm.t {
		if g.speed != nil {
			for k+1 < len(g.speed.t) && math.Abs(g.speed.t[k+1]-t) <= math.Abs(g.speed.t[k]-t) {
				k++
			}
			if math.Abs(g.speed.t[k]-t) <= speedKnown && g.speed.v[k] > stillKmh {
				continue
			}
		}
		out.t, out.v = append(out.t, t), append(out.v, g.rpm.v[i])
	}
	return out
}

// gauges is one log's channels that bear on what pays for the drag.
type gauges struct {
	rpm, speed                                *series
	air, pressure, load, fuelRate             *series
	short, long, lambda, status               *series
	coolant, oil, voltage, barometer, runTime *series
	spark, purge                              *series
	interval                                  float64 // s between samples of engine speed, at most
	flow                                      flow
	diesel                                    bool
}

func newGauges(l *drive.Log, diesel bool) *gauges {
	g := &gauges{rpm: newSeries(l, drive.EngineSpeed), speed: newSeries(l, drive.VehicleSpeed),
		air:      newSeries(l, drive.AirFlow),
		pressure: newSeries(l, drive.IntakePressure), load: newSeries(l, drive.EngineLoad),
		fuelRate: newSeries(l, drive.FuelRate),
		short:    newSeries(l, drive.ShortFuelTrim), long: newSeries(l, drive.LongFuelTrim),
		lambda: newSeries(l, drive.CommandedLambda),
		status: newSeries(l, drive.FuelSystemStatus), coolant: newSeries(l, drive.CoolantTemp),
		oil:     newSeries(l, drive.OilTemp),
		voltage: newSeries(l, drive.ModuleVoltage), barometer: newSeries(l, drive.BarometricPressure),
		runTime: newSeries(l, drive.RunTime), spark: newSeries(l, drive.SparkAdvance),
		purge: newSeries(l, drive.CanisterPurge), diesel: diesel}
	if g.rpm == nil {
		return nil
	}
	if g.speed == nil {
		g.speed = newSeries(l, drive.GPSSpeed)
	}
	g.interval = stats.MedianStep(g.rpm.t)
	g.flow = g.choose()
	return g
}
