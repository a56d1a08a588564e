package gearstate

import "slices"

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

// join puts parts one behind the other.
func join(parts []*Track) *Track {
	if len(parts) == 1 {
		return parts[0]
	}
	out := &Track{Model: parts[0].Model}
	for _, p := range parts {
		out.Gear, out.Clutch = append(out.Gear, p.Gear...), append(out.Clutch, p.Clutch...)
	}
	for i, column := range out.columns() {
		all := make([][]float64, len(parts))
		for q, p := range parts {
			all[q] = *p.columns()[i]
		}
		*column = slices.Concat(all...)
	}
	return out
}
