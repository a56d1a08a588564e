package csvlog

import (
	"math"
	"slices"

	"flywitness/drive"
	"flywitness/internal/order"
)

// A program that writes rows at an even pace puts each value on the line between the replies before and after it. Where the recording paused, it
// writes rows for seconds that nobody measured. Their mark: engine speed moves straight to the last digit over several rows, and so does all that
// goes with it, in a log whose engine speed bends from row to row.
const (
	bendsClearly = 4    // last digits by which engine speed lies off the line between its neighbours, in the median of such a log
	leastFilled  = 4    // rows from one end of a line to the other,
	leastPause   = 1.0  // and s: shorter pauses are bridged by such a line anyway
	filledNats   = 10   // against engine speed lying on such a line by chance, somewhere in the log
	movingRows   = 2000 // that are looked at for how a channel moves
)

// moving is a channel with a value in every row.
type moving struct {
	trace
	straight float64 // share of the rows where it moves that lie on the line between their neighbours
	bends    float64 // by how much the others and they lie off it, in the median
}

// dropFilled drops the rows that were filled in across pauses of the recording. It returns how many, and over how many seconds.
func (r *rowset) dropFilled() (rows int, seconds float64) {
	engine := r.moving(drive.EngineSpeed)
	if engine == nil || engine.bends < bendsClearly*engine.digit {
		return 0, 0
	}
	road := r.moving(drive.VehicleSpeed)
	if road == nil {
		return 0, 0
	}
	beside := []*moving{road}
	var keep []bool
	for at := 1; at+1 < len(r.t); at += leastFilled - 1 {
		from, to := engine.lineAbout(at)
		if to-from < leastFilled || r.t[to]-r.t[from] < leastPause {
			continue
		}
		if keep == nil {
			keep = slices.Repeat([]bool{true}, len(r.t))
			for _, channel := range drawnChannels {
				switch channel {
				case drive.EngineSpeed, drive.VehicleSpeed, drive.GPSSpeed: // a receiver is another device
					continue
				}
				if x := r.moving(channel); x != nil {
					beside = append(beside, x)
				}
			}
		}
		chance := float64(to-from-1)*math.Log(engine.straight) + math.Log(float64(len(r.t)))
		bends := slices.ContainsFunc(beside, func(x *moving) bool { return !x.line(from+1, to-1) }) // its replies came a little earlier or later
		if at = to; bends || chance > -filledNats {
			continue
		}
		for i := from + 1; i < to; i++ {
			keep[i] = false
		}
		rows, seconds = rows+to-from-1, seconds+r.t[to]-r.t[from]
	}
	if rows > 0 {
		r.keep(keep)
	}
	return rows, seconds
}

// moving is a channel and how it moves; nil where some row has no value of it, or it never moves.
func (r *rowset) moving(channel string) *moving {
	i := r.column(channel)
	if i < 0 || !r.whole(i) {
		return nil
	}
	m := &moving{trace: r.trace(i, tickOf(r.t))}
	var off []float64
	on := 0
	for k := 1; k+1 < len(r.t); k += 1 + len(r.t)/movingRows {
		if !m.moves(k-1, k+1) {
			continue
		}
		beyond := m.off(k-1, k, k+1)
		off = append(off, beyond)
		if beyond <= 0 {
			on++
		}
	}
	if len(off) == 0 {
		return nil
	}
	m.straight, m.bends = float64(on+1)/float64(len(off)+2), order.Median(off)
	return m
}

// moves tells whether the channel moves from row i to row j by more than its digits hide.
func (m *moving) moves(i, j int) bool {
	return math.Abs(m.v[j]-m.v[i]) >= steepSteps*m.digit*float64(j-i)
}

// lineAbout is the stretch of rows about one at which the channel moves straight; it has no length where it does not.
func (m *moving) lineAbout(at int) (from, to int) {
	on := func(k int) bool { return k > 0 && k+1 < len(m.v) && m.moves(k-1, k+1) && m.off(k-1, k, k+1) <= 0 }
	if !on(at) {
		return at, at
	}
	from, to = at-1, at+1
	for on(from) {
		from--
	}
	for on(to) {
		to++
	}
	if !m.line(from, to) { // a row beside a line may be as near to it by chance
		from, to = from+1, to-1
	}
	if to-from < leastFilled || !m.line(from, to) {
		return at, at
	}
	return from, to
}
