package calibrate

import (
	"math"
	"slices"
)

// fitRow is a sample of road speed that a fit may use. It keeps the line between the two engine speeds about its
// moment: the lags that a fit goes through differ little.
type fitRow struct {
	log, i   int32 // which sample of which log
	place    int32 // of the engine speed behind it
	gear     int8  // -1: the nearest one
	t, v, dt float64
	phiV     float64 // wheel force over weight times road speed

	// Engine speed is n at a time and rises at a rate until another: rpm, NaN in a gap, s and rpm/s.
	n, rate, from, to float64
}

// twoFits are the rows of two fits that go on side by side; those of a choice are used again.
func (p *pool) twoFits(c *choice) (rows [2][]fitRow) {
	if c != nil && c.rows[0] != nil {
		return c.rows
	}
	rows[0] = p.fitRows(c)
	rows[1] = slices.Clone(rows[0])
	if c != nil {
		c.rows = rows
	}
	return rows
}

// fitRows are the samples that a fit may use, in order: those of the choice or, without one, some of all.
func (p *pool) fitRows(c *choice) []fitRow {
	n := 0
	p.eachFit(c, func(int, int, int) { n++ })
	rows := make([]fitRow, 0, n)
	p.eachFit(c, func(l, i, stride int) {
		s := p.logs[l]
		r := fitRow{log: int32(l), i: int32(i), place: s.place[i], gear: -1, t: s.SpeedT[i], v: s.Speed[i],
			dt: s.dt[i] * float64(stride), from: math.Inf(1)}
		if c != nil {
			r.gear = c.gear[l][i]
		}
		if c != nil && c.phi != nil {
			r.phiV = c.phi[l][i] * r.v
		}
		rows = append(rows, r)
	})
	return rows
}

// eachFit visits them: sample i of log l.
func (p *pool) eachFit(c *choice, do func(l, i, stride int)) {
	for l, s := range p.logs {
		stride := 1
		if c == nil {
			stride = s.stride()
		}
		for i := 0; i < len(s.Speed); i += stride {
			if s.Speed[i] >= fitFrom && (c == nil || c.gear[l][i] >= 0) {
				do(l, i, stride)
			}
		}
	}
}

// has tells whether a row keeps the line about a moment.
func (r *fitRow) has(at float64) bool { return r.from < at && at <= r.to }

// find finds the two engine speeds about a moment.
func (r *fitRow) find(s *series, at float64) {
	t, j := s.RPMT, int(r.place)
	for j < len(t) && t[j] < at {
		j++
	}
	for j > 0 && t[j-1] >= at {
		j--
	}
	r.place = int32(j)
	r.n, r.rate, r.from, r.to = math.NaN(), 0, math.Inf(-1), math.Inf(1)
	if j > 0 {
		r.from = t[j-1]
	}
	if j < len(t) {
		r.to = t[j]
	}
	if d := r.to - r.from; d <= s.gap {
		r.n, r.rate = s.RPM[j-1], (s.RPM[j]-s.RPM[j-1])/d
	}
}
