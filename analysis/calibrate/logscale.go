package calibrate

import (
	"math"
	"slices"
	"sync"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/parts"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// Every log has a scale and a delay of its own: another tyre, another pressure, a dial that reads high, a
// filter. They are read from driving at light load, where no clutch slips:
//
//	e = alpha_g v + gamma + delta v^2/100 + beta a
//
// with e the excess of engine speed (km/h), v road speed (km/h), a acceleration (km/h/s). What the log does not
// show stays as uncertain as cars are, and that doubt goes into every later test.

// What is known beforehand, as standard deviations. Common practice, no source, where none is named.
const (
	gearingSD   = 0.0025 // relative, of the gearing learnt from all logs for one of them
	wearSD      = 0.002  // relative: pressure and temperature of a tyre within a drive
	otherTyreSD = 0.02   // relative: wear and pressure of tyres between drives
	offsetSD    = 0.5    // km/h of a dial's offset
	// where the log shows one: dials may lawfully read up to 10 % + 4 km/h high (UN Regulation 39, from memory)
	wideOffsetSD = 8 * offsetSD
	growthSD     = 0.004         // km/h per (km/h)^2/100: a tyre grows by less than 1 % at 180 km/h
	wideGrowthSD = 10 * growthSD // where the log shows more
	delaySD      = 0.15          // s left of a delay that was found in several logs together,
	ownDelaySD   = 0.05          // and in this one: it wanders
	shownBy      = 3.0           // standard deviations from which a log shows an offset or a growth
)

// logScale is the fit of one log.
type logScale struct {
	gears int
	x     []float64 // alpha of each gear, gamma, delta, beta
	cov   gearstate.Doubt
}

// Decode decodes a log: see DecodeSignals.
func (c *Calibration) Decode(l *drive.Log) *gearstate.Track {
	s := gearstate.ReadSignals(l, c.model.SpeedChannel)
	s.ReadLoad(l, c.model.Load.Channel)
	return c.DecodeSignals(s)
}

// DecodeSignals decodes a log with its own scale and delay: learnt from it at light load, decoded again where they
// differ much from those of all logs. Of a long log a part tells them, and all of it is decoded once.
func (c *Calibration) DecodeSignals(signals gearstate.Signals) *gearstate.Track {
	signals = signals.AtEngine(c.model.Lag)
	m := c.model
	if signals.Drawn > 0 {
		m.Drawn, m.Period = signals.Drawn, stats.MedianStep(signals.SpeedT)
	}
	if len(m.Gears) == 0 {
		return gearstate.DecodeSignals(signals, m)
	}
	var all *gearstate.Track
	var beside sync.WaitGroup
	few := signals
	if n := len(signals.Speed); n > manySamples {
		beside.Go(func() { all = gearstate.NewTrack(n) })
		few.SpeedT, few.Speed = fewOf(n, lasting(few.SpeedT, m.Period)).of(few.SpeedT, few.Speed, 0)
		few.Accel = nil
	}
	t := gearstate.DecodeSignals(few, m)
	been := make([]float64, len(m.Gears)+3)
	fit := c.scaleOf(t, been)
	for range 2 {
		if fit.small() {
			break
		}
		floats.Add(been, fit.x)
		t.DecodeAgain(few, fit.applied(t.Model))
		fit = c.scaleOf(t, been)
	}
	m = fit.applied(t.Model)
	if beside.Wait(); all != nil {
		all.Decode(signals, m)
		return all
	}
	t.Retune(m)
	return t
}

const (
	// What the decoder does not see: it allows as much.
	smallScale  = 0.004 // relative
	smallOffset = 0.35  // km/h
	smallDelay  = 0.04  // s

	// km/h, or of road speed, from which a sample does not count at first, and from half of it then
	wideCut, wideShare = 2.5, 0.06

	sumRows = 1 << 13 // rows that are summed for themselves: half an hour
)

// small tells whether a fit changes nothing that the decoder could see.
func (f *logScale) small() bool {
	g := f.gears
	for _, a := range f.x[:g] {
		if math.Abs(a) > smallScale {
			return false
		}
	}
	return math.Abs(f.x[g]) < smallOffset && math.Abs(f.x[g+1]) < growthSD && math.Abs(f.x[g+2]) < smallDelay
}

// applied is a model corrected by the fit, with its doubt.
func (f *logScale) applied(m gearstate.Model) gearstate.Model {
	g := f.gears
	gears := make([]gearstate.Gearing, g)
	copy(gears, m.Gears)
	for i := range gears {
		gears[i].K *= 1 + f.x[i]
	}
	m.Gears = gears
	m.Offset += f.x[g]
	m.Growth += f.x[g+1]
	m.Lag += f.x[g+2]
	m.Doubt = f.cov
	return m
}

// controlRow is one sample of driving at light load.
type controlRow struct {
	gear    int
	v, a, e float64
	w       float64 // s over the variance of one sample, 1/(km/h)^2
	s       float64 // the s alone; 0 of what is known beforehand
}

// scaleOf fits the scale and delay of a decoded log. Where the gears were learnt from this log alone, they are
// right at the speeds that they were learnt at whatever the dial's offset is: one row each says so. been is by how
// much the track's model was corrected already: what is known beforehand is known of the whole correction.
func (c *Calibration) scaleOf(t *gearstate.Track, been []float64) *logScale {
	rows := controlRows(t)
	g := len(t.Model.Gears)
	prior := scalePrior{sd: make([]float64, g+3), been: been}
	if c.logs > 1 {
		prior.common = otherTyreSD
	}
	for i := range g {
		own := c.gearPrior(&t.Model, i)
		prior.sd[i] = own
		if v := t.Model.Gears[i].V0; c.logs == 1 && v > 0 {
			made := been[i]*v + been[g] + been[g+1]*v*v/100
			rows = append(rows, controlRow{gear: i, v: v, e: -made, w: 1 / (own * own * v * v)})
			prior.sd[i] = math.Hypot(otherTyreSD, math.Sqrt(float64(g))*offsetSD/v) // an offset moves all of them at once
		}
	}
	delay := delaySD
	if c.logs == 1 {
		delay = math.Hypot(ownDelaySD, 2*t.Model.LagSD)
	}
	narrow := [2]float64{offsetSD, growthSD}
	copy(prior.sd[g:], []float64{wideOffsetSD, wideGrowthSD, delay})
	f := fitScale(rows, prior)
	shows := func(i int, least float64) bool {
		sd := math.Sqrt(f.cov[i*(g+3)+i])
		return math.Abs(been[i]+f.x[i]) > math.Max(least, shownBy*sd)
	}
	wide := false
	for i, least := range []float64{offsetSD, 2 * growthSD} {
		if shows(g+i, least) {
			wide = true
		} else {
			prior.sd[g+i] = narrow[i]
		}
	}
	if !wide || prior.sd[g] == offsetSD || prior.sd[g+1] == growthSD {
		f = fitScale(rows, prior)
	}
	return f
}

// gearPrior is how far (relative) the gearing of a place in the ladder may be from that of all logs, for itself.
func (c *Calibration) gearPrior(m *gearstate.Model, place int) float64 {
	return math.Hypot(math.Max(gearingSD, m.Gears[place].SD/m.Gears[place].K), wearSD)
}

// controlRows are the samples of a track at light load.
func controlRows(t *gearstate.Track) []controlRow {
	control := t.Control()
	variance := make([]float64, len(t.Model.Gears))
	for g := range variance {
		variance[g] = stats.Square(0.3*t.Model.StepIn(g) + 0.15)
	}
	at := t.Parts()
	each := make([][]controlRow, len(at))
	parts.Each(len(at), 1, func(k, _ int) {
		each[k] = controlRowsIn(t, control, variance, at[k][0], at[k][1])
	})
	return slices.Concat(each...)
}

// controlRowsIn are those of samples [lo, hi). What is at light load in one part lies further from that in another
// than samples that are used lie apart.
func controlRowsIn(t *gearstate.Track, control []bool, variance []float64, lo, hi int) []controlRow {
	var rows []controlRow
	const apart = 0.2 // s between samples that are used: neighbours tell the same, each counts by its time
	last := math.Inf(-1)
	for i := lo; i < hi; i++ {
		if !control[i] || t.T[i]-last < apart || math.IsNaN(t.Excess[i]) {
			continue
		}
		dt := min(1, t.T[i]-last)
		last = t.T[i]
		g := t.Place(i)
		rows = append(rows, controlRow{gear: g, v: t.SpeedKmh[i], a: t.Accel[i], e: t.Excess[i], w: dt / variance[g], s: dt})
	}
	return rows
}

// scalePrior is what is known beforehand of a log's scale: the standard deviation of each unknown for itself, that of
// what all gears share, since other tyres are on all of them, and the correction that was made of each already.
type scalePrior struct {
	sd     []float64
	common float64
	been   []float64
}

// fitScale solves for the unknowns with Tukey's biweight, from wide to narrow: samples that carry another
// gear's label do not count.
func fitScale(rows []controlRow, prior scalePrior) *logScale {
	n := len(prior.sd)
	f := &logScale{gears: n - 3, x: make([]float64, n)}
	x := mat.NewVecDense(n, f.x)
	var cov mat.SymDense
	worse := 1.0
	for pass := range 6 { // it has settled by then
		cut, share := wideCut, wideShare
		if pass >= 2 {
			cut, share = cut/2, share/2
			worse = f.worse(rows, cut, share)
		}
		sums := f.sums(rows, prior, cut, share, worse)
		var chol mat.Cholesky
		if !chol.Factorize(sums.square()) || chol.SolveVecTo(x, mat.NewVecDense(n, sums.right)) != nil ||
			chol.InverseTo(&cov) != nil {
			return f.unknown(prior)
		}
	}
	f.cov = make(gearstate.Doubt, n*n)
	for i := range n {
		for k := range n {
			f.cov[i*n+k] = cov.At(i, k)
		}
	}
	return f
}

// sums are the sums of the normal equations about the present solution, with rows that are off by more than a cut
// (km/h), or a share of road speed, left out, and the others so many times worse than their steps make them.
func (f *logScale) sums(rows []controlRow, prior scalePrior, cut, share, worse float64) *scaleSums {
	each := make([]*scaleSums, max(1, (len(rows)+sumRows-1)/sumRows))
	for k := range each {
		each[k] = newScaleSums(f.gears)
	}
	each[0].know(prior)
	parts.Each(len(rows), sumRows, func(lo, hi int) {
		s := each[lo/sumRows]
		for q := lo; q < hi; q++ {
			r := &rows[q]
			w := r.w
			if r.s > 0 {
				w /= worse
			}
			s.add(r, w*tukey(f.left(r), max(cut, share*r.v)))
		}
	})
	for _, s := range each[1:] {
		each[0].join(s)
	}
	return each[0]
}

// worse is by how much the variance of what the fit leaves of rows is larger than the steps of their values make it,
// at least 1: a delay that is not one, or a dial of its own, must not pass for what the unknowns explain (Birge,
// Physical Review 40, 207, 1932, from memory).
func (f *logScale) worse(rows []controlRow, cut, share float64) float64 {
	sum, time := make([]float64, 1+len(rows)/sumRows), make([]float64, 1+len(rows)/sumRows)
	parts.Each(len(rows), sumRows, func(lo, hi int) {
		for q := lo; q < hi; q++ {
			if r := &rows[q]; r.s > 0 {
				e := f.left(r)
				k := tukey(e, max(cut, share*r.v))
				sum[lo/sumRows] += k * r.w * e * e
				time[lo/sumRows] += k * r.s
			}
		}
	})
	return max(1, floats.Sum(sum)/math.Max(1, floats.Sum(time)))
}

// left is what the fit leaves of a row's excess, km/h.
func (f *logScale) left(r *controlRow) float64 {
	g := f.gears
	return r.e - r.v*f.x[r.gear] - f.x[g] - r.v*r.v/100*f.x[g+1] - r.a*f.x[g+2]
}

// scaleSums are the sums of the normal equations: a gear has products with itself and with what all gears share
// alone, so most of the square is empty.
type scaleSums struct {
	own    [][4]float64
	tied   []float64 // of each gear, by whose products with those of the others they are held together
	shared [3][3]float64
	right  []float64
}

func newScaleSums(gears int) *scaleSums {
	return &scaleSums{own: make([][4]float64, gears), right: make([]float64, gears+3)}
}

// know takes what is known beforehand. What all gears share takes from the inverse of their covariance the products of
// its rows (Sherman and Morrison).
func (s *scaleSums) know(prior scalePrior) {
	gears := len(s.own)
	s.tied = make([]float64, gears)
	all, made := 1.0, 0.0
	for i, sd := range prior.sd[:gears] {
		s.tied[i] = prior.common / (sd * sd)
		all += prior.common * s.tied[i]
	}
	for i := range s.tied {
		s.tied[i] /= math.Sqrt(all)
		made += s.tied[i] * prior.been[i]
	}
	for i, sd := range prior.sd {
		w := 1 / (sd * sd)
		s.right[i] -= w * prior.been[i]
		if i < gears {
			s.own[i][0] += w
			s.right[i] += s.tied[i] * made
		} else {
			s.shared[i-gears][i-gears] += w
		}
	}
}

// join takes the sums of other rows.
func (s *scaleSums) join(o *scaleSums) {
	for g := range s.own {
		for i, x := range o.own[g] {
			s.own[g][i] += x
		}
	}
	for i := range s.shared {
		for k, x := range o.shared[i] {
			s.shared[i][k] += x
		}
	}
	for i, x := range o.right {
		s.right[i] += x
	}
}

// add takes a row with its weight. It is written out, since it runs over a day of rows many times.
func (s *scaleSums) add(r *controlRow, w float64) {
	if w == 0 {
		return
	}
	grow := r.v * r.v / 100
	wv, wg, wa := w*r.v, w*grow, w*r.a
	g, h, b := &s.own[r.gear], &s.shared, s.right[len(s.own):len(s.own)+3]
	s.right[r.gear] += wv * r.e
	g[0] += wv * r.v
	g[1] += wv
	g[2] += wv * grow
	g[3] += wv * r.a
	b[0] += w * r.e
	h[0][0] += w
	h[0][1] += wg
	h[0][2] += wa
	b[1] += wg * r.e
	h[1][1] += wg * grow
	h[1][2] += wg * r.a
	b[2] += wa * r.e
	h[2][2] += wa * r.a
}

// square is the matrix of the normal equations.
func (s *scaleSums) square() *mat.SymDense {
	n, gears := len(s.right), len(s.own)
	square := make([]float64, n*n)
	for i := range s.own {
		square[i*n+i] = s.own[i][0]
		for k, x := range s.tied {
			square[i*n+k] -= s.tied[i] * x
		}
		copy(square[i*n+gears:], s.own[i][1:])
	}
	for i := range s.shared {
		copy(square[(gears+i)*n+gears:], s.shared[i][:])
	}
	return mat.NewSymDense(n, square)
}

// unknown is what a log tells that tells nothing.
func (f *logScale) unknown(prior scalePrior) *logScale {
	n := len(prior.sd)
	clear(f.x)
	f.cov = make(gearstate.Doubt, n*n)
	for i, sd := range prior.sd {
		f.cov[i*n+i] = sd * sd
	}
	for i := range f.gears {
		for k := range f.gears {
			f.cov[i*n+k] += prior.common * prior.common
		}
	}
	return f
}

// What logs of one car may differ by before it is said.
const (
	scaleApart = 0.01 // relative, of the gearing
	delayApart = 0.15 // s
)

// Disagreement tells where decoded logs of one set differ in scale or delay: another tyre, another link, or
// another car. tracks are the logs', in order.
func Disagreement(logs []*drive.Log, tracks []*gearstate.Track) []finding.Finding {
	var out []finding.Finding
	first := -1
	scaled, late := false, false
	for i, t := range tracks {
		if len(t.Model.Gears) == 0 || t.Model.Doubt == nil {
			continue
		}
		if first < 0 {
			first = i
			continue
		}
		a, b := &tracks[first].Model, &t.Model
		if r, sd := scalesApart(a, b); math.Abs(r) > math.Max(scaleApart, shownBy*sd) && !scaled {
			scaled = true
			out = append(out, finding.New(finding.ScalesDiffer, finding.Name("file", logs[i].Path),
				finding.Pct("off", 100*r),
				finding.Name("other", logs[first].Path)))
		}
		d, sd := b.Lag-a.Lag, math.Hypot(delayDoubt(a), delayDoubt(b))
		if math.Abs(d) > math.Max(delayApart, shownBy*sd) && !late {
			late = true
			out = append(out, finding.New(finding.DelaysDiffer, finding.Name("file", logs[i].Path),
				finding.Duration("later", d),
				finding.Name("other", logs[first].Path)))
		}
	}
	return out
}

// comparedAt is the displayed speed (km/h) at which the scales of two logs are compared.
const comparedAt = 60.0

// scalesApart is by how much (relative) engine speed per displayed road speed is higher in one log than in another, in
// the gear in which that is known best, and its standard deviation. A dial's offset and growth are part of a scale.
func scalesApart(a, b *gearstate.Model) (r, sd float64) {
	const v = comparedAt
	gears := len(a.Gears)
	sd = math.Inf(1)
	for g := range gears {
		doubt := math.Sqrt(a.Doubt.Variance(gears, g, v, 0)+b.Doubt.Variance(gears, g, v, 0)) / v
		if doubt < sd {
			r, sd = perDisplayed(b, g)/perDisplayed(a, g)-1, doubt
		}
	}
	return r, sd
}

// perDisplayed is engine speed per displayed road speed in a place of the ladder.
func perDisplayed(m *gearstate.Model, place int) float64 {
	return m.Gears[place].K * (1 + m.Offset/comparedAt + m.Growth*comparedAt/100)
}

// delayDoubt is the standard deviation of a log's own delay, s.
func delayDoubt(m *gearstate.Model) float64 { return math.Sqrt(m.Doubt[len(m.Doubt)-1]) }
