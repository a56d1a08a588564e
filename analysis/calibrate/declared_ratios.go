package calibrate

import (
	"math"

	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/vehicle"
)

// A vehicle file is typed by hand. Where the log bears its ratios out they help, with the gears that were
// hardly driven above all; where the log contradicts them the log stands, since against a wrong ratio a healthy
// clutch slips.

// known returns the ladder of the vehicle file on the scale of the log, and whether the histogram bears it out.
// Tyre and speedometer make the one scale factor.
func known(h []float64, veh *vehicle.Vehicle) (rungs []rung, ok bool) {
	if veh == nil || len(veh.Gearbox.Ratios) < 2 {
		return nil, false
	}
	final := veh.Gearbox.FinalDrive
	if final == 0 {
		final = 4
	}
	lo, hi := math.Log(0.9), math.Log(1.1)
	circumference := veh.RollingCircumference
	if circumference == 0 || veh.Gearbox.FinalDrive == 0 {
		lo, hi = math.Log(0.6), math.Log(1.6)
	}
	if circumference == 0 {
		circumference = vehicle.NominalCircumference
	}
	base := make([]float64, len(veh.Gearbox.Ratios))
	for i, r := range veh.Gearbox.Ratios {
		base[i] = math.Log(r * final / (circumference * 0.06))
	}
	at := func(x float64) float64 {
		if b := int((x - lnLow) / lnBin); b >= 0 && b < len(h) {
			return h[b]
		}
		return 0
	}
	bestScale, best := 0.0, 0.0
	for s := lo; s <= hi; s += lnBin {
		score := 0.0
		for _, b := range base {
			score += math.Sqrt(at(b + s))
		}
		if score > best {
			best, bestScale = score, s
		}
	}
	if best == 0 {
		return nil, false
	}
	for i, b := range base {
		rungs = append(rungs, rung{number: i + 1, k: math.Exp(b + bestScale)})
	}
	found := peaks(h)
	if len(found) == 0 {
		return rungs, borneOut(rungs, h)
	}
	return rungs, meet(rungs, found)
}

// A dial adds up to some km/h to every speed (UN Regulation 39, from memory: a tenth of it and 4 km/h), which moves
// the gears that are driven slowly most: by 8 % at 30 km/h, by 2 % at 120. Gears of a file that fit once that is taken
// off, and closely, are those of the car.
const (
	addsLeast, addsMost = 1.0, 4.0 // km/h; less is how the display rounds
	addsStep            = 0.5      // km/h
	addsShare           = 1 / 3.0  // of what the gears stray by without it, at most: peaks stray by themselves
	addsGears           = 3        // driven in, at least: two fit at some speed whatever they are
	addsScale           = 0.08     // in ln, of the file's gearing: a final drive that is further off is another one
	addsWithin          = 0.012    // in ln, of the gears from where the others put them: bins of the histogram, rounding
)

// knownByDial is the ladder of the vehicle file where a dial that adds to the speed keeps the log from bearing it out,
// and what it adds, km/h. stray is how far the gears stray without it, 0 where no ladder was borne out.
func (p *pool) knownByDial(lag float64, veh *vehicle.Vehicle, stray float64) (rungs []rung, adds float64, ok bool) {
	if p.channel == drive.GPSSpeed || veh == nil || len(veh.Gearbox.Ratios) < addsGears {
		return nil, 0, false
	}
	top := p.top
	best := addsWithin
	if stray > 0 {
		best = math.Min(best, addsShare*stray)
	}
	for a := addsLeast; a <= addsMost; a += addsStep {
		r, told := known(p.histogram(lag, -a), veh)
		apart, gears := strays(r, veh)
		if told && gears >= addsGears && apart < best && math.Abs(offScale(r, veh)) < addsScale {
			rungs, adds, ok, best = r, a, true, apart
		}
	}
	if !ok {
		p.top = top
	}
	return rungs, adds, ok
}

// offScale is how far (in ln) the gears of a ladder lie from where the file puts them; 0 where it has no final drive
// or tyre.
func offScale(rungs []rung, veh *vehicle.Vehicle) float64 {
	var off []float64
	for i, r := range rungs {
		if k := veh.RPMPerKmh(i + 1); k > 0 && r.seen > 0 {
			off = append(off, math.Log(r.seen/k))
		}
	}
	if len(off) == 0 {
		return 0
	}
	return stats.Median(off)
}

// strays is how far (in ln) a gear above first lies from where the others put it at most, and how many were driven in.
// First is driven at speeds of which steps of the display make some per cent.
func strays(rungs []rung, veh *vehicle.Vehicle) (apart float64, gears int) {
	var off []float64
	for i, r := range rungs {
		if i > 0 && r.seen > 0 && !r.wrong {
			off = append(off, math.Log(r.seen/veh.Gearbox.Ratios[i]))
		}
	}
	middle := stats.Median(off)
	for _, x := range off {
		apart = math.Max(apart, math.Abs(x-middle))
	}
	return apart, len(off)
}

// leastBorne is the share of the driving that lies at the gears of a file which no gear alone bears out: they cover a
// sixth of the ratios that cars drive with.
const leastBorne = 0.75

// borneOut tells whether a drive too short for any gear to stand out bears the ladder out as a whole: one scale brings
// its gears to where most of the driving lies.
func borneOut(rungs []rung, h []float64) bool {
	total, at := 0.0, 0.0
	for b, w := range h {
		total += w
		if i := nearest(rungs, math.Exp(center(b)), false); math.Abs(math.Log(rungs[i].k)-center(b)) <= closeSpacing/2 {
			at += w
		}
	}
	return at >= peakTime && at >= leastBorne*total
}

const (
	nearRung = 0.05 // in ln: a peak that near to a gear of the file is that gear
	wrongBy  = 0.35 // in ln: a ratio that is mistyped is not further off, or it is not known whose it is

	leastStrange, mostStrange = 0.01, 0.004 // share of the driving that shows a gear which the file does not have
	// the same below its first gear, and above its tallest where that one was driven: cars creep away on a clutch that is
	// let in, and roll in neutral for as long
	endStrange = 0.05
)

// meet sets the gears of the file against the peaks of the log: a gear takes the place of its peak, and one
// ratio that is plainly wrong, with a peak of its own beside it, takes that too and is marked. It tells whether
// the file then explains the log.
func meet(rungs []rung, found []rung) bool {
	var others []rung // peaks that lie at no gear of the file
	strange, seen := 0.0, 0.0
	for _, f := range found {
		seen += f.seconds
		i := nearest(rungs, f.k, false)
		if math.Abs(math.Log(f.k/rungs[i].k)) <= nearRung {
			if f.seconds > rungs[i].seconds {
				rungs[i].seconds, rungs[i].seen = f.seconds, f.k
			}
			continue
		}
		others = append(others, f)
		strange += f.seconds
	}
	top := rungs[len(rungs)-1]
	for _, f := range others {
		if f.seconds <= endStrange*seen && (f.k > rungs[0].k || f.k < top.k && top.seen > 0) {
			strange -= f.seconds
			continue
		}
		i := nearest(rungs, f.k, true)
		if i < 0 || f.seconds <= leastStrange*seen {
			continue
		}
		if math.Abs(math.Log(f.k/rungs[i].k)) < wrongBy && between(rungs, i, f.k) {
			rungs[i].seconds, rungs[i].seen, rungs[i].wrong = f.seconds, f.k, true
			strange -= f.seconds
		}
	}
	wrong := contradicted(rungs)
	if len(found) == 0 || strange > mostStrange*seen || wrong > 1 || wrong == 1 && unseen(rungs) {
		return false
	}
	for i := range rungs {
		if rungs[i].seen > 0 {
			rungs[i].k = rungs[i].seen
		}
	}
	return true
}

// unseen tells whether a gear above first has no peak: beside a wrong ratio, its own cannot be trusted.
func unseen(rungs []rung) bool {
	for _, r := range rungs[1:] {
		if r.seen == 0 {
			return true
		}
	}
	return false
}

// WellDriven is how long (s) a gear must have been driven in for its ratio to be the log's.
const WellDriven = 5.0

// offBy is how far (in ln) the peak of a gear may lie from where the others put it: a dial that cuts off moves
// the low gears most, at low speeds.
func offBy(k float64) float64 { return 0.03 + k/6000 }

// contradicted counts the gears of the file whose peaks do not lie where the others put them. A displayed speed
// that is cut off moves the peaks of low gears by some per cent.
func contradicted(rungs []rung) int {
	var off []float64
	for _, r := range rungs {
		if r.seen > 0 && !r.wrong {
			off = append(off, math.Log(r.seen/r.k))
		}
	}
	n, middle := 0, stats.Median(off)
	for _, r := range rungs {
		if r.wrong || r.seen > 0 && math.Abs(math.Log(r.seen/r.k)-middle) > offBy(r.k) {
			n++
		}
	}
	return n
}

// nearest returns the rung nearest to k, of those that no peak has taken when free is set; -1 for none.
func nearest(rungs []rung, k float64, free bool) int {
	best := -1
	for i, r := range rungs {
		if free && r.seen > 0 {
			continue
		}
		if best < 0 || math.Abs(math.Log(r.k/k)) < math.Abs(math.Log(rungs[best].k/k)) {
			best = i
		}
	}
	return best
}

// between tells whether k lies between the neighbours of rung i.
func between(rungs []rung, i int, k float64) bool {
	return (i == 0 || k < rungs[i-1].k*(1-minSpacing/2)) && (i+1 == len(rungs) || k > rungs[i+1].k*(1+minSpacing/2))
}

// tie draws rungs to the ratios of the vehicle file: one scale for all, and the file's rounding as its error. A
// gear that was hardly driven is then known all the same, as well as that scale is. A ratio that the log contradicts
// is not used, and said.
func (l *learner) tie(rungs []rung, s *solution) {
	for i := range rungs {
		own := make([]float64, len(rungs))
		own[i] = 1
		rungs[i].knownTo(s, own, 0, s.speed(i, l.told))
	}
	if !l.told {
		return
	}
	ratios := l.veh.Gearbox.Ratios
	places := decimals(ratios)
	scale, weights, ok := fileScale(rungs, ratios, s)
	if !ok {
		return
	}
	papers := 0.0 // of the scale
	for i, w := range weights {
		papers = math.Hypot(papers, w*ratioSD(ratios[i], places))
	}
	for i := range rungs {
		r := &rungs[i]
		file, off := scale+math.Log(ratios[i]), math.Log(r.k/ratios[i])-scale
		sd := ratioSD(ratios[i], places)
		a, b := 1/(sd*sd), 0.0
		if r.seconds >= WellDriven {
			b = 1 / stats.Square(r.sd/r.k+0.001)
			if math.Abs(off) > math.Max(r.fileApart(), offSure*r.sd/r.k) {
				l.warn(finding.RatioOff, finding.Gear(r.number), finding.Number("filed", ratios[i]),
					finding.Number("shown", ratios[i]*math.Exp(off)))
				l.cal.OffFile = append(l.cal.OffFile, r.number)
				a = 0
			}
		}
		share := a / (a + b)
		r.k = math.Exp(share*file + (1-share)*math.Log(r.k))
		made := make([]float64, len(rungs))
		for j, w := range weights {
			made[j] = share * w
		}
		made[i] += 1 - share
		r.knownTo(s, made, share*math.Hypot(sd, papers), s.speed(i, true))
	}
	for i, r := range rungs {
		s.inverse[i] = 1 / r.k
	}
}

// unsettled is the relative error of a gear that was never seen but in the first moments after the clutch: the middle
// of a peak of the log's ratios, which lies as far off as that of another gear may.
const unsettled = nearRung

// knownTo tells a rung how well it is known that was made of all rungs by weights, with another relative error
// beside: in all, and about the road speed (km/h) that it was learnt at.
func (r *rung) knownTo(s *solution, weights []float64, beside, v float64) {
	least := math.Hypot(finestGear, beside)
	for i, w := range weights {
		if s.seconds[i] == 0 {
			least = math.Hypot(least, w*unsettled)
		}
	}
	r.sd = r.k * math.Hypot(least, s.logSD(weights, 0))
	r.near = r.k * math.Hypot(least, s.logSD(weights, v))
}

// FileApart is how far (in ln) a ratio of the file may be from the log before it is a mistake, and not rounding
// or a worn tyre.
const FileApart = 0.02

// firstApart is the same of first. It is driven while cars set off, when a delay makes most of a ratio, and through
// the tightest bends, in which an axle that does not steer goes 6 % less far on a radius of 7 m. Common practice, no
// source.
const firstApart = 0.06

// fileApart is how far (in ln) a gear's ratio in the file may be from the log.
func (r *rung) fileApart() float64 {
	if r.number == 1 {
		return firstApart
	}
	return FileApart
}

// offSure is by how many standard deviations of what the log tells.
const offSure = 3.0

// fileScale is the logarithm of engine speed per road speed over ratio that the gears agree on: the mean about
// their median, and by which weights. ok is false where none was driven.
func fileScale(rungs []rung, ratios []float64, s *solution) (scale float64, weights []float64, ok bool) {
	var each []float64
	for i, r := range rungs {
		if r.seconds >= WellDriven && !r.wrong {
			each = append(each, math.Log(r.k/ratios[i]))
		}
	}
	if len(each) == 0 {
		return 0, nil, false
	}
	middle := stats.Median(each)
	places := decimals(ratios)
	weights = make([]float64, len(rungs))
	var sum, weight float64
	for i, r := range rungs {
		x := math.Log(r.k / ratios[i])
		if r.seconds < WellDriven || r.wrong || math.Abs(x-middle) > FileApart {
			continue
		}
		w := 1 / (stats.Square(r.sd/r.k+0.001) + stats.Square(ratioSD(ratios[i], places)))
		weights[i] = w
		sum, weight = sum+w*x, weight+w
	}
	if weight == 0 { // two gears that contradict each other
		return middle, weights, true
	}
	for i := range weights {
		weights[i] /= weight
	}
	return sum / weight, weights, true
}

// ratioSD is the relative error of a ratio written with so many decimals, and of ratios in papers: what lies within
// half of the last decimal has a standard deviation of 0.29 of it.
func ratioSD(ratio float64, decimals int) float64 {
	return papersSD + 0.3*math.Pow10(-decimals)/ratio
}

const (
	papersSD                    = 0.002 // relative, of a ratio in papers. Common practice, no source
	leastDecimals, mostDecimals = 2, 3  // that papers give a ratio with
)

// decimals is how many decimals a list of ratios is written with: the most that one of them needs.
func decimals(ratios []float64) int {
	most := leastDecimals
	for _, r := range ratios {
		for n := most; n < mostDecimals && math.Abs(r*math.Pow10(n)-math.Round(r*math.Pow10(n))) > 1e-6; n++ {
			most = n + 1
		}
	}
	return most
}
