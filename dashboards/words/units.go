package words

import "flywitness/figure"

// InUnits converts the quantities in a sentence of the findings to the reader's units.
func InUnits(s string, u figure.Units) string { return writer{u: u}.inUnits(s) }
