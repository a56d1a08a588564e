package csvlog

import (
	"math"
	"slices"

	"flywitness/drive"
	"flywitness/finding"
)

// A throttle, a pedal or a load may be written as a share, 0 to 1, under a heading without a unit. Read as per cent it would never open.
const (
	shareMost = 1.0   // of a share; a closed throttle shows several per cent, and so does the load of an engine that runs
	shareStep = 0.1   // that different values lie apart by, at most: control units show per cent in steps of 0.39 or more
	shareFew  = 20    // different values that tell
	perCent   = 100.0 // of a share of one
)

var shareChannels = []string{drive.Throttle, drive.Pedal, drive.EngineLoad}

// shares turns such columns into per cent.
func shares(l *drive.Log, cols []column) {
	for _, c := range l.Channels {
		i := slices.IndexFunc(cols, func(col column) bool { return col.channel == c.Name })
		if !slices.Contains(shareChannels, c.Name) || i < 0 || cols[i].unit != "" || cols[i].conv != identity || !isShare(c.V) {
			continue
		}
		for k := range c.V {
			c.V[k] *= perCent
		}
		l.Warnings = append(l.Warnings, finding.New(finding.ShareAsPercent, finding.Name("file", l.Path), finding.Name("channel", c.Name),
			finding.Name("column", cols[i].raw)))
	}
}

// isShare tells whether values run from 0 to 1 in steps that no per cent has.
func isShare(v []float64) bool {
	seen := map[float64]bool{}
	for _, x := range v {
		if x < 0 || x > shareMost {
			return false
		}
		if len(seen) < shareFew {
			seen[x] = true
		}
	}
	values := make([]float64, 0, len(seen))
	for x := range seen {
		values = append(values, x)
	}
	slices.Sort(values)
	apart := math.Inf(1)
	for k := 1; k < len(values); k++ {
		apart = min(apart, values[k]-values[k-1])
	}
	return len(values) == shareFew && apart < shareStep
}
