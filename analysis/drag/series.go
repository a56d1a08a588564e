package drag

import (
	"math"
	"slices"

	"flywitness/drive"
)

// series is a channel's finite samples in the order of their time stamps. Nobody changes them.
type series struct{ t, v []float64 }

func newSeries(l *drive.Log, name string) *series {
	t, v := l.Channel(name).InOrder()
	if len(t) == 0 {
		return nil
	}
	return &series{t, v}
}

// part returns the samples in [from, to]; nothing of a channel that is not there.
func (s *series) part(from, to float64) *series {
	if s == nil {
		return &series{}
	}
	i, _ := slices.BinarySearch(s.t, from)
	j, _ := slices.BinarySearch(s.t, math.Nextafter(to, math.Inf(1)))
	if j < i {
		j = i
	}
	return &series{s.t[i:j], s.v[i:j]}
}

// mean returns the mean of the samples and how many they are; NaN of none.
func (s *series) mean() (m float64, n int) {
	for _, v := range s.v {
		m += v
	}
	return m / float64(len(s.v)), len(s.v)
}

// meanIn returns the mean of the samples in [from, to]; NaN of none.
func (s *series) meanIn(from, to float64) float64 {
	m, _ := s.part(from, to).mean()
	return m
}

// near returns the sample nearest to t that lies within gap seconds.
func (s *series) near(t, gap float64) (v float64, ok bool) {
	if s == nil {
		return 0, false
	}
	i, _ := slices.BinarySearch(s.t, t)
	for _, k := range []int{i - 1, i} {
		if k >= 0 && k < len(s.t) {
			if d := math.Abs(s.t[k] - t); d <= gap {
				v, gap, ok = s.v[k], d, true
			}
		}
	}
	return v, ok
}

// line returns value and slope at t of the least-squares line through the samples within w seconds of it; ok is
// false with fewer than three or without spread.
func (s *series) line(t, w float64) (v, slope float64, ok bool) {
	p := s.part(t-w, t+w)
	n := float64(len(p.t))
	if n < fewestKept {
		return 0, 0, false
	}
	var st, sv float64
	for i := range p.t {
		st, sv = st+p.t[i]-t, sv+p.v[i]
	}
	st, sv = st/n, sv/n
	var stt, stv float64
	for i := range p.t {
		d := p.t[i] - t - st
		stt, stv = stt+d*d, stv+d*(p.v[i]-sv)
	}
	if !(stt > 0) {
		return 0, 0, false
	}
	return sv - stv/stt*st, stv / stt, true
}
