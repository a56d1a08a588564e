package inertia

import (
	"math"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/finding"
)

const (
	minPeak = 3000 // rpm; below this too little of the fall is left above the idle controller
	// first over last engine speed of the kept part; a slow link loses up to a sample at either end of 3500 to
	// 1500 rpm
	minSpan = 1.5
	minKept = 3    // samples
	maxGaps = 4    // largest gap in median intervals
	slowest = 300  // rpm/s
	fastest = 8000 // rpm/s
	topTrim = 0.35 // s
)

// freeRevs finds the falls of engine speed in neutral of one log and judges each by itself.
func (s *preparedLog) freeRevs(opt Options) []Run {
	var out []Run
	for _, f := range s.falls() {
		kind, kmh, listed := s.classify(f)
		if !listed {
			continue
		}
		r := Run{Input: s.input, Session: s.session, Start: f.t[0], End: f.t[f.last()], Kind: kind, fall: f}
		r.OilTemp, r.Coolant = s.temperature(s.oil, r.Start), s.temperature(s.coolant, r.Start)
		// Where the lower end cannot be used, because the idle controller opened the throttle or the foot came
		// back, the rest may be good.
		f.bottom = s.freeRevBottom()
		if s.judge(&r, kmh, opt); !r.Used && f.bottom < s.bottom() {
			f.bottom, f.clean = s.bottom(), math.Inf(-1)
			s.judge(&r, kmh, opt)
		}
		out = append(out, r)
	}
	return out
}

func (s *preparedLog) temperature(c *series, t float64) *float64 {
	if v, ok := c.near(t, 120); ok {
		return &v
	}
	return nil
}

const (
	listedPeak  = 2000.0 // rpm; a fall from lower is no attempt at a free rev
	rollingFrom = 5.0    // km/h at both ends of a fall while the car rolls
	tick        = 0.1    // s; stamps and speeds are no better
)

// keepsSpeed is the ratio of last to first road speed above which a fall was in neutral: in gear it is that of
// the engine speeds, in neutral near one.
func keepsSpeed(engine float64) float64 { return 0.4 + 0.6*engine }

// classify tells whether a fall is a free rev at rest, one while rolling, or no free rev at all (a shift, an overrun).
// A fall in gear takes road speed down with it; a fall in neutral leaves it nearly as it was.
func (s *preparedLog) classify(f *fall) (kind Kind, kmh float64, listed bool) {
	from, to := f.t[0], f.t[f.last()]
	v0, v1, top, known := s.roadSpeed(from, to)
	if !known || top <= s.still {
		return RevDown, 0, f.n[0] >= listedPeak
	}
	nRatio, vRatio := f.n[f.last()]/f.n[0], v1/math.Max(v0, tick)
	deep := f.n[f.last()] < f.bottom+fallTop && f.n[0] >= minPeak
	if v0 > rollingFrom && v1 > rollingFrom && vRatio > keepsSpeed(nRatio) {
		return RollingRevDown, top, deep
	}
	return RevDown, top, deep && vRatio > keepsSpeed(nRatio)
}

// roadSpeed returns the road speed at both ends of a stretch and its highest value, in km/h; known is false where no
// sample lies within it or within 20 s of it.
func (s *preparedLog) roadSpeed(from, to float64) (v0, v1, top float64, known bool) {
	if s.speed == nil {
		return 0, 0, 0, false
	}
	var ok0, ok1 bool
	v0, ok0 = s.speed.near(from, 20)
	v1, ok1 = s.speed.near(to, 20)
	if !ok0 && !ok1 {
		return 0, 0, 0, false
	}
	top = math.Max(v0, v1)
	i, j := s.speed.between(from, to)
	for _, v := range s.speed.v[i:j] {
		top = math.Max(top, v)
	}
	return v0, v1, top, true
}

// judge refuses a run or keeps its samples.
func (s *preparedLog) judge(r *Run, kmh float64, opt Options) {
	f := r.fall
	low, high := window(f.bottom, opt)
	if r.Kind == RevDown && kmh > s.still {
		r.refuse(finding.VehicleMoving, finding.Speed("speed", kmh))
		return
	}
	if f.n[0] < minPeak {
		r.refuse(finding.PeakTooLow, finding.EngineSpeed("peak", f.n[0]))
		return
	}
	if end := f.n[f.last()]; end > f.bottom {
		if s.endsRecord(f) {
			r.refuse(finding.CutShort, finding.EngineSpeed("at", end))
		} else {
			r.refuse(finding.RoseAgain, finding.EngineSpeed("at", end))
		}
		return
	}
	if why := s.shut(f, low, high, opt.trim()); why != nil {
		r.refuseFor(*why)
		return
	}
	r.T, r.RPM = f.trimmed(low, high, opt.trim())
	if why := s.enough(r.T, r.RPM); why != nil {
		r.refuseFor(*why)
		return
	}
	n := len(r.T)
	r.MeanRate = (r.RPM[0] - r.RPM[n-1]) / (r.T[n-1] - r.T[0])
	if !(r.MeanRate >= slowest && r.MeanRate <= fastest) {
		r.refuse(finding.RateImplausible, finding.Quantity("rate", finding.RPMPerSecond, r.MeanRate))
		return
	}
	r.Used, r.Why, r.WhyNot = true, "", nil
}

func (o Options) trim() float64 {
	if o.TopTrim > 0 {
		return o.TopTrim
	}
	return topTrim
}

func window(bottom float64, opt Options) (low, high float64) {
	low, high = bottom, math.Inf(1)
	if opt.Window[0] > 0 {
		low = math.Max(low, opt.Window[0])
	}
	if opt.Window[1] > 0 {
		high = opt.Window[1]
	}
	return low, high
}

// endsRecord tells whether the log, or a stretch of it without a hole, ends with this fall.
func (s *preparedLog) endsRecord(f *fall) bool {
	end := f.t[f.last()]
	lo, _ := s.among(end, end)
	for _, t := range s.t[lo:] {
		if t > end {
			return t-end > holeValues*s.interval
		}
	}
	return true
}

// enough tells what is missing from kept samples; nil when nothing is.
func (s *preparedLog) enough(t, n []float64) *finding.Finding {
	k := len(t)
	if k < minKept {
		if s.log.StampStep >= gearstate.CoarseStamps && s.interval > gearstate.SlowLink {
			return because(finding.WholeSeconds, finding.Quantity("rate", finding.PerSecond, 1/s.interval))
		}
		return because(finding.TooFewSamples, finding.Count("samples", k))
	}
	if n[0]/n[k-1] < minSpan {
		return because(finding.SpanTooSmall, finding.EngineSpeed("from", n[0]), finding.EngineSpeed("to", n[k-1]))
	}
	gaps := make([]float64, k-1)
	worst := 0.0
	for i := range gaps {
		gaps[i] = t[i+1] - t[i]
		worst = math.Max(worst, gaps[i])
	}
	if worst > maxGaps*math.Max(stats.Median(gaps), 1e-6) && worst > gearstate.SlowLink {
		return because(finding.Gap, finding.Duration("lasting", worst))
	}
	return nil
}

// shut looks at what tells of the throttle. A signal that is open in the first part of the kept samples moves their
// start (trimmed by what the car did, not by the foot); if too little is left then, that is the reason.
func (s *preparedLog) shut(f *fall, low, high, trim float64) *finding.Finding {
	t, _ := f.trimmed(low, high, trim)
	if len(t) == 0 {
		return nil
	}
	lift := math.Inf(-1)
	for _, c := range s.closed {
		at, above, open := c.lastOpen(f.release, t[len(t)-1])
		if c.foot && open {
			lift = at
		}
		if !open || at < t[0] {
			continue
		}
		f.clean = math.Max(f.clean, at+tick)
		if kept, rpm := f.trimmed(low, high, trim); len(kept) < minKept || rpm[0]/rpm[len(rpm)-1] < minSpan {
			if !c.foot && s.footOff(f, lift) {
				return because(finding.ThrottleHeldByCar, finding.Duration("lasting", at-math.Max(f.release, lift)))
			}
			return because(finding.ThrottleOpen, finding.Pct("above", above))
		}
	}
	return nil
}

// footOff tells whether the accelerator was recorded and released before the fall's kept part.
func (s *preparedLog) footOff(f *fall, lift float64) bool {
	for _, c := range s.closed {
		if c.foot {
			return lift < f.release+topTrim
		}
	}
	return false
}
