package cli

import "flywitness/figure"

// Units is the unit system of the text, as a flag; see figure.Units.
type Units = figure.Units

// The unit systems.
const (
	Metric = figure.Metric
	US     = figure.US
)
