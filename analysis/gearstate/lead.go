package gearstate

import "math"

// For most of a drive one gear is locked, and nothing else could be. There the trellis need not be stepped: whatever
// way through it ends in another state later leaves that gear at the very end.
//
// A way that keeps away from the gear that leads falls back at each step by its lead at least. The way that stays in
// that gear until the last step but one, and then goes by way of the open clutch, comes into any state, and what it
// costs is known. So where the leads of some steps add up to more than that, every way into every state was in the
// gear before them. The steps are put off as long as the gear leads; when it does not, the last of them are made up
// for, from where all was in that gear. What comes out is the same to the last bit.
//
// In a car that stands every way is through the open clutch. Of the steps of a standstill the first and the last are
// made: whatever comes between, the scores after the last are those of one step from an open clutch.

const (
	tableErr  = 1e-3 // nats by which the tables may make another state likelier than its bound
	mostSteps = 256  // that are put off before those which all ways have in common are forgotten
)

// leader is the gear that leads, and the steps that were put off since the scores of the trellis.
type leader struct {
	place  int // in the ladder; -1: none leads
	steps  []putOff
	stands bool // the trellis was stepped in a car that stands: of all steps put off since then the last counts
}

// putOff is a step that was not made.
type putOff struct {
	at    int     // the sample,
	dt    float64 // s of driving that it stands for,
	fresh float64 // and its load samples
	lead  float64 // nats by which the gear is ahead, at least, of any other state in which the way was before as well
	leave float64 // nats that a way loses which opens the clutch here
}

// leave forgets which gear leads, and that the car stands.
func (d *leader) leave() { d.place, d.steps, d.stands = -1, d.steps[:0], false }

// find finds the gear that leads a trellis, after a step in a car that stands or not.
func (d *leader) find(l *trellis, stands bool) {
	d.leave()
	d.stands = stands
	if s := l.best(); s > 0 && s <= l.n {
		d.place = s - 1
	}
}

// best is the likeliest state of a trellis.
func (d *leader) best(l *trellis) int {
	if d.place >= 0 {
		return 1 + d.place
	}
	return l.best()
}

// putOff puts off the step of a sample; false where neither the gear leads nor the car stands.
func (d *leader) putOff(l *trellis, at int, o *Observation) bool {
	if d.stands && o.stands() {
		d.steps = append(d.steps[:0], putOff{at: at, dt: o.DT, fresh: o.Fresh})
		return true
	}
	if d.place < 0 {
		return false
	}
	lead, leave := l.lead(d.place, o)
	if !(lead > 0) {
		return false
	}
	if len(d.steps) == mostSteps {
		first, common := d.first(l)
		if !common {
			return false
		}
		l.startIn(d.place)
		d.steps = append(d.steps[:0], d.steps[first:]...)
	}
	d.steps = append(d.steps, putOff{at, o.DT, o.Fresh, lead, leave})
	return true
}

// first is the first step that must be made for the scores after the last; common tells whether all ways were in the
// gear before it.
func (d *leader) first(l *trellis) (step int, common bool) {
	last := len(d.steps) - 1
	if last < 1 {
		return 0, false
	}
	l.rates(d.steps[last].dt)
	need := d.steps[last-1].leave - l.logs.oToS
	for i := last - 1; i > 0; i-- {
		if need -= d.steps[i].lead; need < 0 {
			return i, true
		}
	}
	return 0, false
}

// makeUp makes the steps of a path that count, and returns how many.
func (d *leader) makeUp(p *path) (made int) {
	first, common := d.first(p.l)
	if common {
		p.l.startIn(d.place)
	}
	for _, s := range d.steps[first:] {
		o := p.observation(s.at, s.dt, s.fresh)
		p.l.step(&o)
		p.keep()
	}
	made = len(d.steps) - first
	d.leave()
	return made
}

// startIn sets the scores of a trellis to those of a way that is locked in a place of the ladder.
func (l *trellis) startIn(place int) {
	for j := range l.score {
		l.score[j] = notReachable
	}
	l.score[1+place] = 0
}

// atLeast is the greater of two numbers. Unlike max it does not ask for NaN, which takes as long as the rest.
func atLeast(x, y float64) float64 {
	if x < y {
		return y
	}
	return x
}

// Bounds of the likelihoods, so that few of them are worked out.
const (
	insideBox   = 0.4  // of the height of the box of a locked gear's residuals, within half a step at least,
	insideNoise = 0.92 // where the step is so many times the width of the noise: half of the error function there
	slipBand    = 5.0  // km/h of road speed for which one bound of a slip's density holds
	lnHardly    = -10  // nats of slipping in a gear from which an engine is too slow for it to be locked
)

var (
	lnInside = math.Log((1 - tailShare) * insideBox)
	lnMost   = lnTail - math.Ln2 // of a residual in the tail, whose scale is 1 km/h at least
	mostRate = logSumExp(-math.Log(leastRateSD)-lnSqrt2Pi, lnRateTail)

	// slipBands are the densities of a slip at the beginnings of bands of road speed: they fall with speed.
	slipBands = func() (bands [maxKmh / slipBand]slipShape) {
		for i := range bands {
			bands[i] = newSlipShape(slipBand * float64(i))
		}
		return bands
	}()
)

// lead returns by how many nats staying locked in a place of the ladder is ahead at an observation of any other state,
// whose way there costs nothing: at least, and -Inf where that is not told easily. leave is what a way loses at most
// that opens the clutch there.
func (l *trellis) lead(place int, o *Observation) (lead, leave float64) {
	m, half, sd := l.m, l.half[place], l.m.LevelSD(o.V, o.A)
	e := m.excess(place, o.N, o.V, o.A, o.Load)
	if o.stands() || o.V >= maxKmh || 2*half < insideNoise*math.Sqrt2*sd || !(math.Abs(e) <= half) {
		return math.Inf(-1), 0
	}
	at := o.moment()
	slip := &slipBands[int(o.V/slipBand)]
	perScale, perSlip, rateOpen := 1/tailScale(sd), 1/slipScale(o.V), 0.5*at.rateOpen
	beyond := reachSD * sd
	// of the density of each state what does not depend on its gear, and of all the most
	near, far, slow := slip.lnNear+math.Ln2+rateOpen, slip.lnFar+math.Ln2+rateOpen, slip.lnBelow+lnHardly+rateOpen
	other := slip.lnBelow + lnAbove(e, sd) + rateOpen - l.lnK[place]
	for g := range m.Gears {
		if g == place {
			continue
		}
		e := o.N*l.perK[g] - o.V
		if m.Creep != 0 {
			e = m.excess(g, o.N, o.V, o.A, o.Load)
		}
		off := math.Abs(e)
		if !(off > l.half[g]+beyond) {
			return math.Inf(-1), 0
		}
		best := lnMost + 0.5*lnRateTail - off*perScale // locked; or slipping:
		if e < 0 {
			best = atLeast(best, slow)
		} else {
			best = atLeast(atLeast(best, far), near-e*perSlip)
		}
		other = atLeast(other, best-l.lnK[g])
	}
	l.rates(o.DT)
	open := l.open(o, &at)
	box := l.box[place]
	rate := atLeast(l.rateAtLeast(place, o), lnRateTail)
	least, most := at.w*(box+lnInside+0.5*rate)+l.logs.stayL, at.w*(box+tailShare*half+0.5*mostRate)+l.logs.stayL
	return least - max(open, at.w*other) - tableErr, most - open - l.logs.lToO + at.kept(o)
}

// usualAccel is a usual acceleration, km/h/s.
const usualAccel = 2.0

// usual is a usual standard deviation, with its logarithm.
type usual struct{ sd, ln float64 }

func usualOf(sd float64) usual { return usual{sd, ln(sd)} }

// rateAtLeast is no more than followingRate: no logarithm lies above its tangent, at a usual standard deviation.
func (l *trellis) rateAtLeast(place int, o *Observation) float64 {
	k, u := l.m.Gears[place].K, &l.rate[place]
	sd := rateSD(k, o.A, o.NDot)
	z := (o.NDot - k*o.A) / sd
	return -0.1 - 0.5*z*z - (u.ln + (sd-u.sd)/u.sd) - lnSqrt2Pi
}
