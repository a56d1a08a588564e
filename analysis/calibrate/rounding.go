package calibrate

import (
	"math"

	"flywitness/drive"
)

const (
	roundingSure = 3.0 // standard deviations by which a way of rounding is shown, or a fit is better
	fewestBlocks = 5   // of ten seconds, that both fits saw
)

// carStep is the step (km/h) in which the car tells its speed: the whole km/h of its reply where what the log shows
// are halves, thirds or quarters of one, as the mean of so many values does, and that of the log otherwise.
func (p *pool) carStep() float64 {
	d, _ := drive.Define(p.channel)
	whole := d.Request.Scale
	if n := math.Round(whole / p.step); n >= 2 && n <= drive.MostAveraged && math.Abs(n*p.step/whole-1) < stepApart {
		return whole
	}
	return p.step
}

// stepApart is how far n steps may be from a whole one, relative: thirds are written with two or three digits.
const stepApart = 0.03

// pickRounding fits with a free offset: a speed is rounded to the nearest step or cut off to the step below, and a
// dial may add to it. certain is false when the log leaves it open within three standard deviations whether speeds are
// rounded or cut off, or the link is too coarse to tell.
func (p *pool) pickRounding(rungs []rung, lag float64, c *choice) (s *solution, certain bool) {
	known := p.offsetKnown()
	s = p.fitOffset(rungs, lag, known, c, p.fitRows(c))
	sd := s.sd(len(rungs) + 2)
	switch far := s.offset - known.at; {
	case p.adds != 0 || math.Abs(far) <= math.Max(roundingSure*sd, 2*known.sd):
	case far < 0: // no way of rounding adds as much
		p.adds = -s.offset
		s = p.fitOffset(s.rungs(rungs), s.lag, p.offsetKnown(), c, s.rows)
	default: // nothing takes from every speed: what bends it is no offset, but a dial that grows with speed
		s = p.fit(s.rungs(rungs), s.lag, known.at+known.sd, c, s.rows)
		s.bend(known.sd)
	}
	other := p.carStep() / 2
	if s.cutOff() {
		other = 0
	}
	certain = p.step == 0 || !p.coarse && p.adds == 0 && math.Abs(other-s.offset) > roundingSure*sd
	return s, certain
}

// cutOff tells whether an offset is nearer to that of a speed that is cut off than of one that is rounded.
func (s *solution) cutOff() bool { return s.offset > s.known.at }

// A dial adds up to 4 km/h to every speed, and a tenth of it (UN Regulation 39, from memory).
const dialSD = 4.0 // km/h

// offsetLeft is by how much (km/h) a speed is off that is neither rounded nor a dial's.
const offsetLeft = 0.1

// offsetKnown is what is known of the offset beforehand: a speed is rounded or cut off, which is a quarter of a step
// either way, until a dial was seen. A receiver's has no steps, but a car's own may have been drawn through whole
// km/h.
func (p *pool) offsetKnown() prior {
	step := p.step
	if step > 0 {
		step = p.carStep()
	} else if d, _ := drive.Define(p.channel); p.channel == drive.VehicleSpeed {
		step = d.Request.Scale
	}
	switch {
	case p.adds != 0:
		return prior{at: -p.adds, sd: dialSD}
	case step == 0:
		return prior{sd: offsetLeft}
	}
	return prior{at: step / 4, sd: step / 4}
}

// preference is the t statistic of the difference of two fits' scores over blocks that both saw.
func preference(a, b *solution) float64 {
	var n, sum, square float64
	for i, j := 0, 0; i < len(a.blocks) && j < len(b.blocks); {
		x, y := a.blocks[i], b.blocks[j]
		switch {
		case x.log < y.log || x.log == y.log && x.block < y.block:
			i++
		case x.log != y.log || x.block != y.block:
			j++
		default:
			d := x.sum - y.sum
			n++
			sum += d
			square += d * d
			i++
			j++
		}
	}
	if n < fewestBlocks {
		return 0
	}
	mean := sum / n
	sd := math.Sqrt(math.Max(0, square/n-mean*mean) / n)
	if sd == 0 {
		return 0
	}
	return math.Abs(mean) / sd
}
