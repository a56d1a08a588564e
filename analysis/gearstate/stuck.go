package gearstate

import (
	"math"
	"slices"
	"sort"
	"sync"

	"flywitness/drive"
	"flywitness/internal/parts"
)

// A control unit that is busy repeats its last values for a second or so, and both channels then jump. Taken at
// its word, the car's speed stands still while the engine's has moved on, or the other way round: that looks
// like slip.

const (
	stuckTime  = 0.35  // s of exactly equal engine speed,
	stuckLeast = 3     // in so many samples,
	stuckJump  = 10.0  // rpm: it ends in a jump of more than this,
	jumpSteps  = 2.5   // and more steps of engine speed than these,
	leapSteps  = 1.5   // or in a leap of road speed by more of its steps than these: more than one,
	finest     = 0.3   // km/h, where road speed has such steps at all
	enough     = 20000 // samples that tell what is usual of a signal
)

// Signals are the usable samples of engine speed (rpm), road speed (km/h as displayed) and load (raw) of a log,
// each at its times (s).
type Signals struct {
	RPMT, RPM     []float64
	SpeedT, Speed []float64
	LoadT, Load   []float64 // see ReadLoad
	Accel         []float64 // km/h/s at each road speed; nil: see Accelerations
	Refresh       float64   // s, see Refresh
	Apart         float64   // s from a road speed, its lag removed, to the next engine speed logged, and
	Drawn         float64   // between the road speeds that lines were drawn between, else 0: see AtEngine
}

// ReadSignals returns the signals of a log without replies that repeat an old road speed and without stretches
// in which the control unit repeated itself: of those only the first value stands. Where road speed alone is at
// fault, it goes. What is whole as it was logged is shared with the log: nobody changes it.
func ReadSignals(l *drive.Log, channel string) Signals {
	var s Signals
	var wait sync.WaitGroup
	var ownRPM, ownSpeed bool
	wait.Go(func() { s.RPMT, s.RPM, ownRPM = usable(l.Channel(drive.EngineSpeed), 0, maxRPM) })
	s.SpeedT, s.Speed, ownSpeed = usable(l.Channel(channel), 0, maxKmh)
	wait.Wait()
	leap := step(s.Speed)
	s.Refresh = refresh(s.SpeedT, s.Speed, leap)
	s.SpeedT, s.Speed = fresh(s.SpeedT, s.Speed, s.Refresh)
	ownSpeed = ownSpeed || s.Refresh > 0
	stuck := stuckStretches(s.RPMT, s.RPM, s.SpeedT, s.Speed, leap)
	wait.Go(func() { s.RPMT, s.RPM = without(s.RPMT, s.RPM, stuck, ownRPM) })
	leaveOut := func(stretches [][2]float64) {
		s.SpeedT, s.Speed = without(s.SpeedT, s.Speed, stretches, ownSpeed)
		ownSpeed = ownSpeed || len(stretches) > 0
	}
	leaveOut(stuck)
	leaveOut(frozen(s.SpeedT, s.Speed, leap))
	leaveOut(dropped(s.SpeedT, s.Speed, leap))
	wait.Wait()
	leaveOut(silent(s.SpeedT, s.Speed, s.RPMT, s.RPM, leap))
	leaveOut(capped(s.SpeedT, s.Speed, s.RPMT, s.RPM, leap))
	return s
}

// ReadLoad takes the load from a channel of the log; none where it has no such channel. NaN is a load that is not
// told.
func (s *Signals) ReadLoad(l *drive.Log, channel string) {
	s.LoadT, s.Load = Usable(l.Channel(channel), math.Inf(-1), math.Inf(1))
	if channel == drive.Pedal {
		s.Load = untold(s.LoadT, s.Load, s.SpeedT, s.Speed)
	}
}

// stuckStretches returns the stretches (s, from after the first equal value to the last) in which engine speed
// stood still and then jumped, or road speed did.
func stuckStretches(t, v, st, sv []float64, speedStep float64) [][2]float64 {
	jump, leap := math.Max(stuckJump, jumpSteps*step(v)), leapSteps*speedStep
	leaps := func(end float64) bool { // road speed between the last sample before end and the first after
		at := sort.Search(len(st), func(i int) bool { return st[i] > end })
		return at > 0 && at < len(st) && leap > finest && math.Abs(sv[at]-sv[at-1]) > leap
	}
	return held(t, v, stuckLeast, func(i, j int) bool {
		return j < len(v) && t[j-1]-t[i] >= stuckTime && v[i] > 0 && (math.Abs(v[j]-v[i]) > jump || leaps(t[j-1]))
	})
}

// held returns the stretches (s, from the first value to the last) of at least so many equal values, samples [i, j),
// that are such ones. They are looked for on all cores: a part has those that begin in it.
func held(t, v []float64, least int, such func(i, j int) bool) [][2]float64 {
	each := make([][][2]float64, len(v)/parts.Long+1)
	parts.Each(len(v), parts.Long, func(lo, hi int) {
		i := lo
		for i > 0 && i < hi && v[i] == v[i-1] {
			i++
		}
		var own [][2]float64
		for i < hi {
			j := i + 1
			for j < len(v) && v[j] == v[i] {
				j++
			}
			if j-i >= least && such(i, j) {
				own = append(own, [2]float64{t[i], t[j-1]})
			}
			i = j
		}
		each[lo/parts.Long] = own
	})
	return slices.Concat(each...)
}

// step is the usual smallest change of a signal: the 5 % quantile of its changes.
func step(v []float64) float64 {
	var d []float64
	for i := 1; i < len(v) && len(d) < enough; i++ {
		if x := math.Abs(v[i] - v[i-1]); x > 0 {
			d = append(d, x)
		}
	}
	if len(d) == 0 {
		return 0
	}
	slices.Sort(d)
	return d[len(d)/20]
}

// without leaves out samples after the start and up to the end of each stretch. Times and stretches rise. What is
// whole stays as it is; what is not is copied, unless the caller owns it.
func without(t, v []float64, stretches [][2]float64, own bool) (keptT, keptV []float64) {
	if len(stretches) == 0 {
		return t, v
	}
	from := 0
	var spans [][2]int // what is kept
	after := func(at float64) int {
		return from + sort.Search(len(t)-from, func(i int) bool { return t[from+i] > at })
	}
	for _, s := range stretches {
		spans = append(spans, [2]int{from, after(s[0])})
		from = after(s[1])
	}
	spans = append(spans, [2]int{from, len(t)})
	var beside sync.WaitGroup
	beside.Go(func() { keptT = only(t, spans, own) })
	keptV = only(v, spans, own)
	beside.Wait()
	return keptT, keptV
}

// piece is how many values are copied at once: whoever collects garbage waits for a copy that was begun.
const piece = 1 << 13

// only returns the values of some spans, which rise, in the same memory if the caller owns that.
func only(x []float64, spans [][2]int, own bool) []float64 {
	out := x[:0]
	if !own {
		out = make([]float64, 0, len(x))
	}
	for _, s := range spans {
		for lo := s[0]; lo < s[1]; lo += piece {
			out = append(out, x[lo:min(s[1], lo+piece)]...)
		}
	}
	return out
}

// kept copies the samples that keep is true for; it is asked for each in turn.
func kept(t, v []float64, keep func(i int) bool) (keptT, keptV []float64) {
	keptT, keptV = make([]float64, 0, len(t)), make([]float64, 0, len(t))
	for i := range t {
		if keep(i) {
			keptT, keptV = append(keptT, t[i]), append(keptV, v[i])
		}
	}
	return keptT, keptV
}
