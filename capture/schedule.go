package capture

import (
	"slices"
	"time"

	"flywitness/capture/adapter"
	"flywitness/capture/obd"
)

// schedule turns a plan into requests for a car.
type schedule struct {
	plan  Plan
	car   *adapter.Car
	rests rests

	queue       [][]obd.PID // requests left of this cycle
	cycle       int
	often, slow int                  // whose turn it is
	asked       map[string]time.Time // when a timed channel was asked for last
}

func newSchedule(car *adapter.Car) *schedule {
	return &schedule{car: car, rests: rests{}, asked: map[string]time.Time{}}
}

// next returns the parameters of the next request. A change of plan takes effect when the cycle is over.
func (s *schedule) next(plan Plan, now time.Time) []obd.PID {
	if len(s.queue) == 0 {
		s.plan = plan
		s.fill(now)
	}
	if len(s.queue) == 0 { // a car that has nothing of the plan: engine speed shows at least whether it lives
		return []obd.PID{obd.EngineSpeed}
	}
	pids := s.queue[0]
	s.queue = s.queue[1:]
	return pids
}

// fill makes the requests of one cycle.
func (s *schedule) fill(now time.Time) {
	s.cycle++
	pids := s.pids(s.plan.Every, now)
	extra := s.turn(s.plan.Often, s.plan.OftenEvery, &s.often, s.room(len(pids)), now)
	extra = append(extra, s.turn(s.plan.Slow, s.plan.SlowEvery, &s.slow, min(1, s.room(len(pids)+len(extra))), now)...)
	extra = append(extra, s.due(s.room(len(pids)+len(extra)), now)...)
	if s.car.Several {
		if all := append(pids, extra...); len(all) > 0 {
			s.queue = append(s.queue, all[:min(len(all), obd.MaxPIDs)])
		}
		return
	}
	for _, p := range append(pids, extra...) {
		s.queue = append(s.queue, []obd.PID{p})
	}
}

// room is how many parameters may be added to a request that has n; in requests of their own it is one.
func (s *schedule) room(n int) int {
	if s.car.Several {
		return max(obd.MaxPIDs-n, 0)
	}
	return 1
}

// turn returns up to n of the channels whose turn it is in this cycle.
func (s *schedule) turn(channels []string, every int, at *int, n int, now time.Time) []obd.PID {
	have := s.pids(channels, now)
	if every <= 0 || s.cycle%every != every-1 || len(have) == 0 {
		return nil
	}
	var out []obd.PID
	for i := 0; i < min(n, len(have)); i++ {
		out = append(out, have[*at%len(have)])
		*at++
	}
	return out
}

// due returns up to n of the timed channels whose period is over, the one that waits longest first.
func (s *schedule) due(n int, now time.Time) []obd.PID {
	waiting := slices.Clone(s.plan.Timed)
	slices.SortStableFunc(waiting, func(a, b string) int { return s.asked[a].Compare(s.asked[b]) })
	var out []obd.PID
	for _, c := range waiting {
		if len(out) == n || now.Sub(s.asked[c]) < s.plan.Period {
			break
		}
		if pids := s.pids([]string{c}, now); len(pids) > 0 {
			out = append(out, pids[0])
			s.asked[c] = now
		}
	}
	return out
}

// pids returns the parameters of those channels that the car has or may have and that do not rest, or of what stands
// in for one that it lacks.
func (s *schedule) pids(channels []string, now time.Time) []obd.PID {
	var out []obd.PID
	for _, c := range channels {
		if other, ok := s.plan.StandIn[c]; ok && !s.has(c) {
			c = other
		}
		if p, ok := obd.ByChannel(c); ok && s.has(c) && !s.rests.resting(c, now) {
			out = append(out, p.PID)
		}
	}
	return out
}

func (s *schedule) has(channel string) bool {
	p, ok := obd.ByChannel(channel)
	return ok && s.car.Support.MayHave(p.PID)
}

// missing returns the channels of a plan that the car does not have, and those of which that could not be learnt.
func (s *schedule) missing(p Plan) (lacking, unknown []string) {
	for _, c := range slices.Concat(p.Every, p.Often, p.Slow, p.Timed) {
		q, ok := obd.ByChannel(c)
		switch {
		case !ok || !s.car.Support.MayHave(q.PID):
			lacking = append(lacking, c)
		case !s.car.Support.Has(q.PID):
			unknown = append(unknown, c)
		}
	}
	return lacking, unknown
}
