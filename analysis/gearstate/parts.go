package gearstate

import "flywitness/internal/parts"

// In a car that stands still no clutch is locked to a gear, whatever came before and whatever follows: there a
// long drive falls into parts that are decoded side by side, with the same result.

const (
	partSamples    = 8000 // road speed samples in a part, at least
	standing       = 2.0  // s of standstill about a cut, at least,
	standingValues = 8.0  // and values: four on either side
)

// standstills returns the places at which a drive is cut: road speed samples in the middle of a standstill.
func standstills(s Signals, period float64) []int {
	var out []int
	last := 0
	for i := 0; i < len(s.Speed); i++ {
		if s.Speed[i] != 0 {
			continue
		}
		j := i
		for j < len(s.Speed) && s.Speed[j] == 0 {
			j++
		}
		if mid := (i + j) / 2; s.SpeedT[j-1]-s.SpeedT[i] >= max(standing, standingValues*period) &&
			mid-last >= partSamples && len(s.Speed)-mid >= partSamples {
			out = append(out, mid)
			last = mid
		}
		i = j
	}
	return out
}

// cuts returns where the parts of a drive begin, and where the last one ends.
func cuts(s Signals, period float64) []int {
	return append(append([]int{0}, standstills(s, period)...), len(s.Speed))
}

// Accelerations are the car's accelerations (km/h/s) at its road speeds, of a link with a value every so many s. They
// are those of road speed alone, whatever gears, scale and delay are.
func (s Signals) Accelerations(period float64) []float64 {
	out := make([]float64, len(s.Speed))
	at := cuts(s, period)
	m := &Model{Period: period}
	parts.Each(len(at)-1, 1, func(i, _ int) {
		lo, hi := at[i], at[i+1]
		a := newAligner(m, m.ahead())
		a.speed = column{s.SpeedT[lo:hi], s.Speed[lo:hi]}
		a.slopes(0, out[lo:hi])
	})
	return out
}

// part returns samples [lo, hi) of a track, as a track that shares its memory.
func (t *Track) part(lo, hi int) *Track {
	p := &Track{Model: t.Model, Gear: t.Gear[lo:hi:hi], Clutch: t.Clutch[lo:hi:hi]}
	whole := t.columns()
	for i, c := range p.columns() {
		*c = (*whole[i])[lo:hi:hi]
	}
	return p
}
