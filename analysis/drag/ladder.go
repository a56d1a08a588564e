package drag

import (
	"math"

	"flywitness/analysis/inertia"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/finding"
)

// Ladder is what falls and holds over a change of drag on one car tell of the correction: driven while the
// engine warms up, or with consumers on and off.
type Ladder struct {
	Rungs      []Rung          `json:"rungs"`
	DragChange float64         `json:"drag_change_pct"` // over all of it, by the falls
	Left       float64         `json:"left_pct"`        // of that after correction
	Elasticity *stats.Estimate `json:"elasticity"`      // d ln drag / d ln flow of this car
	Verdict    Verdict         `json:"verdict"`
	Why        finding.Text    `json:"why"` // what is missing where it is open; "" else
}

// Rung is one fall of a ladder.
type Rung struct {
	Input    int      `json:"input"`
	Start    float64  `json:"start_s"`
	Oil      *float64 `json:"oil_temp_c"`
	Coolant  *float64 `json:"coolant_temp_c"`
	FlowPct  float64  `json:"flow_pct"`      // against the last rung
	DragPct  float64  `json:"drag_pct"`      // the same of the drag, by the fall
	AfterPct float64  `json:"corrected_pct"` // what is left of that
	flow, ln float64
}

// What a ladder must show: a change of drag that is large beside the scatter of its falls, and an elasticity
// that engines have.
const (
	fewestRungs            = 6
	leastClimb             = 0.04 // of the drag, for it to speak for the correction
	speaksAgainst          = 0.03 // and to speak against it
	leastAnswer, mostReply = 0.8, 1.6
	sureOfAnswer           = 0.25 // standard deviation of the elasticity
	levelWithin            = 1.0 / 3
)

// Climb measures a ladder; runs are its free revs. It returns nil where the engine was not held in it.
func Climb(logs []*drive.Log, runs *inertia.Finding, diesel bool) *Ladder {
	s := Measure(logs, nil, runs, diesel, false)
	if !s.Held() || runs == nil {
		return nil
	}
	warm := *s
	warm.Holds = append([]Hold(nil), s.Holds...)
	for i := range warm.Holds {
		if h := &warm.Holds[i]; h.Why == finding.HoldCold && !h.inert && h.air != nil {
			h.Used = true // cold on purpose
		}
	}
	l := &Ladder{Verdict: Open, Rungs: []Rung{}}
	l.climb(&warm, runs.FreeRevs(inertia.RevDown), priorFor(s.flow, Options{}))
	return l
}

func (l *Ladder) climb(s *Side, falls []*inertia.Run, p prior) {
	shape, err := inertia.ShapeOf(falls)
	if err != nil {
		l.Why = finding.Say(finding.New(finding.LadderFewRevs))
		return
	}
	at := speeds(s.Holds)
	for i, r := range falls {
		z, ok := s.between(r.Input, r.Start, at)
		if !ok {
			continue
		}
		l.Rungs = append(l.Rungs, Rung{Input: r.Input, Start: r.Start, Oil: r.OilTemp, Coolant: r.Coolant, flow: z,
			ln: math.Log(shape.Runs[i].B)})
	}
	if len(l.Rungs) < fewestRungs {
		l.Why = finding.Say(finding.New(finding.LadderFewRungs, finding.Count("needed", fewestRungs)))
		return
	}
	l.fit(p)
}

// between is the level of the flow at a time, on the line between the holds before and after it at each speed.
func (s *Side) between(input int, t float64, at []float64) (level float64, ok bool) {
	for _, rpm := range at {
		var before, after *Hold
		for i := range s.Holds {
			h := &s.Holds[i]
			if !h.Used || h.Input != input || math.Abs(math.Log(h.RPM/rpm)) >= apart {
				continue
			}
			if h.Start < t {
				before = h
			} else if after == nil {
				after = h
			}
		}
		if before == nil || after == nil {
			return 0, false
		}
		a, b := s.flowOf(before, rpm), s.flowOf(after, rpm)
		level += (a + (b-a)*(t-before.Start)/(after.Start-before.Start)) / float64(len(at))
	}
	return level, len(at) > 0
}

// flowOf is the level of a hold at a speed, by fuel and air where both are told.
func (s *Side) flowOf(h *Hold, rpm float64) float64 {
	v := h.air.value
	if h.fuel != nil {
		v = h.fuel.value
	}
	return v - usualExponent*math.Log(h.RPM/rpm)
}

// fit is the line of ln b over the flow; its slope is the elasticity with the other sign.
func (l *Ladder) fit(p prior) {
	n := float64(len(l.Rungs))
	var mx, my, sxx, sxy float64
	for _, r := range l.Rungs {
		mx, my = mx+r.flow/n, my+r.ln/n
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, r := range l.Rungs {
		sxx, sxy = sxx+(r.flow-mx)*(r.flow-mx), sxy+(r.flow-mx)*(r.ln-my)
		low, high = math.Min(low, r.flow), math.Max(high, r.flow)
	}
	if !(sxx > 0) {
		l.Why = finding.Say(finding.New(finding.LadderFlat))
		return
	}
	c := -sxy / sxx
	sse := 0.0
	for _, r := range l.Rungs {
		sse += stats.Square(r.ln - my + c*(r.flow-mx))
	}
	sd := math.Sqrt(sse / (n - 2) / sxx)
	l.Elasticity = stats.StudentT(c, sd, n-2)
	climb := math.Abs(c) * (high - low)
	l.DragChange, l.Left = 100*math.Expm1(climb), 100*math.Expm1(math.Abs(c-p.c)*(high-low))
	last := l.Rungs[len(l.Rungs)-1]
	for i := range l.Rungs {
		r := &l.Rungs[i]
		r.FlowPct, r.DragPct = 100*math.Expm1(r.flow-last.flow), 100*math.Expm1(my-c*(last.flow-mx)-r.ln)
		r.AfterPct = 100 * math.Expm1(my-c*(last.flow-mx)-r.ln-p.c*(r.flow-last.flow))
	}
	low, high = c-2*sd, c+2*sd
	switch {
	case climb >= speaksAgainst && sd < sureOfAnswer && (high < leastAnswer || low > mostReply), sd < sureOfAnswer &&
		high < leastAnswer && p.c*math.Sqrt(sxx/n)*2 > speaksAgainst:
		l.Verdict = Refuted
	case climb < leastClimb || sd > sureOfAnswer:
		l.Why = finding.Say(finding.New(finding.LadderFlat))
	case math.Abs(c-p.c) <= levelWithin*c:
		l.Verdict = Earned
	default:
		l.Why = finding.Say(finding.New(finding.LadderUnleveled))
	}
}
