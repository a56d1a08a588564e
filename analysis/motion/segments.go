package motion

import (
	"cmp"
	"math"
	"slices"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/vehicle"
)

const (
	pieceTime  = 1.0  // s of steady driving in one piece
	pieceSpeed = 20.0 // km/h
	// load fraction from which torque follows load; on a closed throttle the gearbox takes its share the other
	// way
	pieceLoad   = 0.2
	pieceSwing  = 0.3 // of load within a piece: more is a foot on its way
	pieceMargin = 0.6 // s from a change of gear
	coastTime   = 3.0 // s of rolling in neutral in one piece
	coastMargin = 0.7 // s from either end of it
	// of a step of road speed, in a speed that is read from the steps alone: they follow one another too slowly
	// to average out
	stepError  = 0.25
	pieceNoise = 0.002
	// kg m^2 of engine, flywheel and clutch of a car, and how far a survey may move it. Engines differ by more,
	// but in ordinary driving torque comes late behind the load, which looks like inertia: with 0.1 here held
	// torques were 9 % low in simulated traffic, with nothing the drag of air 10 to 20 % high. Common practice,
	// no source.
	engineWeight, engineWeightSD = 0.2, 0.02
)

// piece is about a second of driving, engine locked to the wheels or car rolling in neutral. The balance of
// forces over the car's weight reads
//
//	pull = torque / (arm m g) - slope
//
// with pull = (mass a + road load) / (m g), the engine's own inertia counted as mass, so that torque is the
// engine's.
type piece struct {
	record   int
	t        float64 // s, its middle
	length   float64 // s
	way      float64 // m from the piece before; +Inf when that is in another record
	gear     int     // 0: rolling in neutral, or a climb
	climb    bool    // pull is what heights tell of the slope, and no force
	arm      float64 // m; torque over wheel force
	v        float64 // m/s
	accel    float64 // m/s^2
	rpm      float64
	load     float64 // fraction
	pull, sd float64
	wander   float64 // of a climb, what its heights err by where the receiver is a usual one
	turning  float64 // of pull, what an engine of 1 kg m^2 more would add
}

// coast tells whether the car rolls in neutral in a piece.
func (p *piece) coast() bool { return p.gear == 0 && !p.climb }

const (
	pieceValues = 2.2   // intervals that a piece has at least: three values
	pieceLeast  = 3     // values of it, and
	pieceShare  = 0.4   // of its length, where the stretch ends
	openAbove   = 250.0 // rpm above idle, up to which an engine turns with its clutch open
	steepest    = 3.0   // standard deviations of a slope, beyond which a foot is on the brake
)

// pieces cuts a record into pieces, in order of time.
func (r *Record) pieces(index int, f *Force) []piece {
	var out []piece
	t := r.Track
	length := math.Max(pieceTime, pieceValues*r.Period)
	q := 0
	for i := 0; i < t.Len(); {
		for q < len(r.Runs) && r.Runs[q].Hi <= i {
			q++
		}
		if q < len(r.Runs) && i >= r.Runs[q].Lo {
			run := &r.Runs[q]
			out = r.lockedPieces(out, run, f, length)
			i = run.Hi
			continue
		}
		j := i
		for j < t.Len() && r.rolling(j) && (j == i || t.T[j]-t.T[j-1] <= r.Track.Model.Gap()) {
			j++
		}
		if j > i && t.T[j-1]-t.T[i] >= coastTime {
			out = r.coastPieces(out, i, j, f)
		}
		i = max(j, i+1)
	}
	if climbs := r.climbs(); len(climbs) > 0 {
		out = append(out, climbs...)
		slices.SortStableFunc(out, func(a, b piece) int { return cmp.Compare(a.t, b.t) })
	}
	for k := range out {
		out[k].record = index
		out[k].way = math.Inf(1)
		if k > 0 {
			out[k].way = (out[k].t - out[k-1].t) * (out[k].v + out[k-1].v) / 2
		}
	}
	return out
}

// rolling tells whether the car rolls with the engine at idle, away from the wheels.
func (r *Record) rolling(i int) bool {
	t := r.Track
	idle := t.Model.Idle
	if idle <= 0 {
		idle = vehicle.UsualIdleRPM
	}
	return t.Gear[i] == 0 && t.Clutch[i] == gearstate.Open && t.SpeedKmh[i] >= pieceSpeed && t.RPM[i] > 0 &&
		t.RPM[i] < idle+openAbove
}

// lockedPieces appends the pieces of a run in which the clutch is locked, outside of every slip, under load.
func (r *Record) lockedPieces(out []piece, run *Run, f *Force, length float64) []piece {
	t := r.Track
	arm := f.Arm(run.Gear)
	if arm == 0 || run.Gear < 2 {
		return out
	}
	from, to := t.T[run.Lo]+pieceMargin, t.T[run.Hi-1]-pieceMargin
	mass := f.Mass + engineWeight/(f.Efficiency*arm*arm)
	start, low, high := -1, 0.0, 0.0
	take := func(end int) { // samples [start, end)
		if start >= 0 && end-start >= pieceLeast && t.T[end-1]-t.T[start] >= pieceShare*length {
			p := r.piece(start, end, mass, f)
			p.gear, p.arm = run.Gear, arm
			p.turning = p.accel / (f.Efficiency * arm * arm * f.Vehicle.Mass * vehicle.Gravity)
			out = append(out, p)
		}
		start = -1
	}
	w := 0
	for i := run.Lo; i < run.Hi; i++ {
		for w < len(r.Slips) && r.Slips[w].End < t.T[i] {
			w++
		}
		load := t.Load[i]
		if t.T[i] < from || t.T[i] > to || w < len(r.Slips) && t.T[i] >= r.Slips[w].Start ||
			t.Clutch[i] != gearstate.Locked ||
			t.SpeedKmh[i] < pieceSpeed || !(load >= pieceLoad) || math.IsNaN(t.RPM[i]) {
			take(i)
			continue
		}
		if start >= 0 && math.Max(high, load)-math.Min(low, load) > pieceSwing {
			take(i)
		}
		if start < 0 {
			start, low, high = i, load, load
		}
		low, high = math.Min(low, load), math.Max(high, load)
		if t.T[i]-t.T[start] >= length {
			take(i + 1)
			start, low, high = i, load, load
		}
	}
	take(run.Hi)
	return out
}

// coastPieces appends the pieces of samples [lo, hi) of rolling in neutral. What slows more than road load and
// a hill do is braking.
func (r *Record) coastPieces(out []piece, lo, hi int, f *Force) []piece {
	t := r.Track.T
	from, to := t[lo]+coastMargin, t[hi-1]-coastMargin
	start := -1
	for i := lo; i < hi; i++ {
		if t[i] < from || t[i] > to {
			continue
		}
		if start < 0 {
			start = i
			continue
		}
		if t[i]-t[start] < coastTime {
			continue
		}
		p := r.piece(start, i+1, f.Mass, f)
		start = i
		free := f.load.Force(p.v) / (f.Vehicle.Mass * vehicle.Gravity)
		if p.pull > -(0.5*free + steepest*vehicle.UsualSlopeSD) {
			out = append(out, p)
		}
	}
	return out
}

// piece averages samples [lo, hi).
func (r *Record) piece(lo, hi int, mass float64, f *Force) piece {
	t := r.Track
	n := float64(hi - lo)
	p := piece{t: (t.T[lo] + t.T[hi-1]) / 2}
	for i := lo; i < hi; i++ {
		p.v += r.State(i).V / 3.6 / n
		p.rpm += t.RPM[i] / n
		p.load += t.Load[i] / n
	}
	first, last := r.State(lo), r.State(hi-1)
	dt := t.T[hi-1] - t.T[lo]
	p.length = dt
	weight := f.Vehicle.Mass * vehicle.Gravity
	p.accel = (last.V - first.V) / 3.6 / dt
	p.pull = (mass*p.accel + f.load.Force(p.v)) / weight
	variance := float64(first.VarV + last.VarV)
	if t.Gear[lo] == 0 {
		variance += 2 * stats.Square(stepError*t.Model.Step)
	}
	p.sd = math.Hypot(mass*math.Sqrt(variance)/3.6/dt/weight, pieceNoise)
	return p
}
