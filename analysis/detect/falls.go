package detect

import (
	"math"

	"flywitness/analysis/motion"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mathext"
)

// Who changes down by hand lets the engine fall for as long as the clutch is open, until the lower gear pulls it up. A
// gearbox that changes by itself takes the engine straight from the speed of one gear to that of the other, and a
// converter drags along an engine that is slower than the car by a tenth at most.

const (
	fallsBy   = 0.1 // of its speed in the taller gear, by which an engine falls that nothing turns, and
	aboveIdle = 1.3 // times idle, the speed there from which it can fall
	// Of a gearbox that slips by design one in a number of changes down looks like that, by late values:
	// 1/(1+seldom) of them, as a share that itself is drawn from a beta distribution of 1 and seldom; of one drive
	// in twenty any share, by a ladder that is none.
	// Of drivers some let it fall each time and others never, who catch it with the accelerator: any share is as
	// likely.
	seldom     = 19.0
	noneLadder = 0.05
	// nats, the most that changes down tell against a clutch and a foot: on a slow link no value may lie in the fall
	rideCap = 1.0
)

// fallOdds is what the changes down of records tell of the gearbox, in nats by which a kind that slips by design is
// the likelier.
func fallOdds(records []*Record) float64 {
	fell, n := 0.0, 0.0
	for _, r := range records {
		f, all := r.falls()
		fell, n = fell+f, n+all
	}
	nats := func(b float64) float64 { return mathext.Lbeta(1+fell, b+n-fell) - mathext.Lbeta(1, b) }
	byHand := nats(1)
	byDesign := floats.LogSumExp([]float64{math.Log(1-noneLadder) + nats(seldom), math.Log(noneLadder) + byHand})
	return math.Min(rideCap, byDesign-byHand)
}

// falls counts the changes down of which a value was seen, from above idle, and those of them in which the engine fell
// far below the speed that it has in either gear.
func (r *Record) falls() (fell, all float64) {
	t := r.Track
	for i := 1; i < len(r.Runs); i++ {
		a, b := &r.Runs[i-1], &r.Runs[i]
		if b.Index >= a.Index || t.T[b.Lo]-t.T[a.Hi-1] > shiftWithin+r.Period || b.Lo == a.Hi {
			continue
		}
		deepest, fast := 1.0, false
		for q := a.Hi; q < b.Lo; q++ {
			line := r.tied(a, q)
			if line > aboveIdle*t.Model.Idle && t.RPM[q] > 0 {
				deepest, fast = math.Min(deepest, t.RPM[q]/line), true
			}
		}
		if fast {
			all++
		}
		if fast && deepest < 1-fallsBy {
			fell++
		}
	}
	return fell, all
}

// slowsOver is how long (s) before the end of a gear, and a value, the engine tells how fast the car was slowing.
const slowsOver = 0.5

// tied is the speed of an engine at sample q that stays tied to the gear of a run before it: at the car's speed
// there, or slower as it was slowing. Where a car is braked hard and then driven on, a few values of road speed do
// not tell how slow it got between them.
func (r *Record) tied(a *motion.Run, q int) float64 {
	t := r.Track
	last := a.Hi - 1
	from := last
	for from > a.Lo && t.T[last]-t.T[from] < slowsOver {
		from--
	}
	line := r.State(q).V * t.Model.Gears[a.Index].K
	slows := (t.RPM[from] - t.RPM[last]) / (t.T[last] - t.T[from])
	if !(slows > 0) {
		return line
	}
	return math.Min(line, t.RPM[last]-slows*(t.T[q]-t.T[last]))
}
