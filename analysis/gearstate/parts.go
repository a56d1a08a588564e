package gearstate

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

// part returns samples [lo, hi) of a track, as a track that shares its memory.
func (t *Track) part(lo, hi int) *Track {
	p := &Track{Model: t.Model, Gear: t.Gear[lo:hi:hi], Clutch: t.Clutch[lo:hi:hi]}
	whole := t.columns()
	for i, c := range p.columns() {
		*c = (*whole[i])[lo:hi:hi]
	}
	return p
}
