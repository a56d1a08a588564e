package inertia

import (
	"math"

	"flywitness/analysis/stats"
	"flywitness/finding"
	"flywitness/vehicle"
)

// What single runs cannot show and the set of them does: where the foot was, whether the car kept fuelling, a
// soft limit, a start-stop system.

// checkSet refuses runs that were driven or fuelled unlike the others.
func (m *measurement) checkSet() {
	m.settleFoot()
	m.settleFuel()
	m.softLimit()
	m.startStop()
}

// settleFoot keeps the free revs with the foot as in most of them, as the clutch switch tells; a tie goes to foot off.
func (m *measurement) settleFoot() {
	var on, off []*Run
	for _, r := range m.finding.allFreeRevs() {
		s := m.scenes[r.Input]
		if v, ok := s.clutch.near((r.Start+r.End)/2, 5); ok {
			if v >= 0.5 {
				on = append(on, r)
			} else {
				off = append(off, r)
			}
		}
	}
	odd := on
	if len(on) > len(off) {
		odd = off
	}
	for _, r := range odd {
		r.refuse(finding.FootMixed, finding.Flag("on", len(on) <= len(off)))
	}
	if m.finding.FootOnClutch == nil && len(on)+len(off) > 0 {
		foot := len(on) > len(off)
		m.finding.FootOnClutch = &foot
	}
}

// fuelCut is the fuel system status of open loop because of engine load or fuel cut in deceleration (SAE J1979
// parameter 03, from memory).
const fuelCut = 4

// settleFuel refuses the runs in which the engine kept fuelling when it was cut off in others.
func (m *measurement) settleFuel() {
	var fuelled []*Run
	cut := 0
	for _, r := range m.finding.allFreeRevs() {
		s := m.scenes[r.Input].fuel
		if s == nil {
			continue
		}
		i, j := s.between(r.T[0], r.T[len(r.T)-1])
		if i == j {
			continue
		}
		if s.v[(i+j)/2] == fuelCut {
			cut++
		} else {
			fuelled = append(fuelled, r)
		}
	}
	if cut < fewestRevs {
		return
	}
	for _, r := range fuelled {
		r.refuse(finding.KeptFuelling)
	}
}

const (
	samePeak  = 30.0   // rpm that peaks at a soft limit differ by at most
	softBelow = 1000.0 // rpm below the engine's limit from which a common peak is a soft limit
	softMost  = 4700.0 // rpm; soft limits at rest lie below. Common practice, no source
	leastRise = 800.0  // rpm of a rise that is worth a picture

	fewestPressure = 10   // values above idle that tell the lowest pressure
	shutPressure   = 55.0 // kPa in the manifold; a petrol engine off the throttle draws less
)

// softLimit says so when the revs all end at one speed well below the limit of the engine.
func (m *measurement) softLimit() {
	var peaks []float64
	for _, r := range m.finding.FreeRevs(RevDown) {
		peaks = append(peaks, r.fall.n[0])
	}
	if len(peaks) < fewestRevs || m.veh == nil || m.veh.Engine.LimitRPM == 0 {
		return
	}
	peak := stats.Median(peaks)
	if stats.MAD(peaks, peak) < samePeak && peak < m.veh.Engine.LimitRPM-softBelow && peak < softMost {
		m.warn(finding.SoftLimitMet, finding.EngineSpeed("at", peak))
	}
}

// stopsWithin is how soon after the fall a start-stop system stops the engine, s; common practice, no source.
const stopsWithin = 5

// startStop warns of an engine that stops after a free rev and runs again later; one that stays off was switched off.
func (m *measurement) startStop() {
	for _, r := range m.finding.Runs {
		if r.Kind == RevDown && m.scenes[r.Input].stopsAfter(r.End) {
			m.warn(finding.EngineStopped)
			return
		}
	}
}

func (s *preparedLog) stopsAfter(end float64) bool {
	stopped := false
	for i := s.indexAt(end); i < len(s.t); i++ {
		switch {
		case s.n[i] < 100:
			stopped = true
		case stopped && s.n[i] > runningRPM:
			return true
		}
		if !stopped && s.t[i] > end+stopsWithin {
			return false
		}
	}
	return false
}

// revUps lists the rises before free revs. What a rise shows is what the throttle did, so it is a picture only;
// on a cable, with the throttle opened alike, it is a cross-check by eye.
func (s *preparedLog) revUps(revs []Run, veh *vehicle.Vehicle) []Run {
	var out []Run
	for _, r := range revs {
		if r.Kind != RevDown || r.fall == nil {
			continue
		}
		top := s.indexAt(r.Start)
		i := top
		for i > 0 && s.n[i-1] <= s.n[i]+s.ripple && s.t[i]-s.t[i-1] < holeValues*s.interval && s.n[i] > s.idle+fallTop {
			i--
		}
		if top-i < 2 || s.n[top]-s.n[i] < leastRise || s.t[top] <= s.t[i] {
			continue
		}
		up := Run{Input: r.Input, Session: r.Session, Start: s.t[i], End: s.t[top], Kind: RevUp, T: s.t[i : top+1],
			RPM:      s.n[i : top+1],
			MeanRate: (s.n[top] - s.n[i]) / (s.t[top] - s.t[i])}
		up.refuse(finding.ThrottleByWire)
		if veh != nil && veh.Engine.Throttle == "cable" {
			up.refuse(finding.PictureOnly)
		}
		out = append(out, up)
	}
	return out
}

// indexAt returns the sample with this very time stamp; 0 when there is none.
func (s *preparedLog) indexAt(t float64) int {
	lo, hi := s.among(t, t)
	for i := lo; i < hi; i++ {
		if s.t[i] == t {
			return i
		}
	}
	return 0
}

func (r *Run) refuse(code finding.Code, values ...finding.Value) {
	r.refuseFor(finding.New(code, values...))
}

func (r *Run) refuseFor(why finding.Finding) {
	r.Used, r.Why, r.WhyNot = false, why.Code, finding.Say(why)
}

// because is a reason where there may be none.
func because(code finding.Code, values ...finding.Value) *finding.Finding {
	f := finding.New(code, values...)
	return &f
}

func (f *Finding) allFreeRevs() []*Run {
	return append(f.FreeRevs(RevDown), f.FreeRevs(RollingRevDown)...)
}

// learnPressure adds the manifold pressure to what tells of a shut throttle: on overrun a petrol engine draws
// its lowest. The slack is wide because that rises by itself as the engine slows (common practice, no source).
func (s *preparedLog) learnPressure() {
	if s.pressure == nil || !s.veh.ThrottleTellsLoad() {
		return
	}
	rpm := s.engine()
	bottom := s.bottom()
	var fast []float64
	for i, t := range s.pressure.t {
		if n, ok := rpm.near(t, 1); ok && n > bottom {
			fast = append(fast, s.pressure.v[i])
		}
	}
	if len(fast) < fewestPressure {
		return
	}
	if level := stats.Quantile(fast, 0.05); level < shutPressure && !math.IsNaN(level) {
		s.closed = append(s.closed, closedThrottle{s: s.pressure, level: level, slack: 20})
	}
}
