package csvlog

import (
	"math"
	"slices"

	"flywitness/drive"
	"flywitness/finding"
)

// restless is the speed (km/h) up to which a receiver wanders while it stands, by far.
const restless = 5

// dropDeadSpeeds leaves out a speed that stays zero while another one moves: a receiver without a fix, a sensor that is not there.
func dropDeadSpeeds(l *drive.Log) {
	dead := func(c *drive.Channel) bool {
		return drive.IsRoadSpeed(c.Name) && !slices.ContainsFunc(c.V, func(v float64) bool { return v != 0 })
	}
	moves := func(c *drive.Channel) bool {
		return drive.IsRoadSpeed(c.Name) && slices.ContainsFunc(c.V, func(v float64) bool { return v > restless })
	}
	if !slices.ContainsFunc(l.Channels, moves) {
		return // the car stood
	}
	l.Channels = slices.DeleteFunc(l.Channels, func(c *drive.Channel) bool {
		if !dead(c) {
			return false
		}
		l.Warnings = append(l.Warnings, finding.New(finding.DeadSpeed, finding.Name("file", l.Path), finding.Name("channel", c.Name),
			finding.Name("column", c.Source)))
		return true
	})
}

const (
	milesPerKm   = 0.621371 // miles in a kilometre
	kmhPerMph    = 1.609344
	milesLeast   = 12   // different speeds that must all be whole km/h in mph,
	milesRounded = 0.01 // mph, of two decimals that were cut off
)

// turnedIntoMiles finds a speed without a unit whose values are whole km/h that somebody turned into mph: 0.62, 1.24, 1.86. No car's own
// speed in km/h takes such values.
func turnedIntoMiles(l *drive.Log, cols []column) {
	for _, c := range l.Channels {
		i := slices.IndexFunc(cols, func(col column) bool { return col.channel == c.Name })
		if i < 0 || !cols[i].assumed || !milesOfWholeKm(c.V) {
			continue
		}
		for k := range c.V {
			c.V[k] *= kmhPerMph
		}
		c.Unit = "mph"
		dropAssumed(l, c.Name)
		l.Warnings = append(l.Warnings, finding.New(finding.SpeedInMiles, finding.Name("file", l.Path), finding.Name("channel", c.Name),
			finding.Name("column", cols[i].raw)))
	}
}

// milesOfWholeKm tells whether all values are whole km/h in mph, and enough of them no whole numbers.
func milesOfWholeKm(v []float64) bool {
	seen := map[float64]bool{}
	for _, x := range v {
		km := math.Round(x / milesPerKm)
		if math.Abs(x-km*milesPerKm) > milesRounded {
			return false
		}
		if x != math.Trunc(x) && len(seen) < milesLeast {
			seen[km] = true
		}
	}
	return len(seen) >= milesLeast
}
