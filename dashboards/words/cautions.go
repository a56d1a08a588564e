package words

import "flywitness/analysis"

// cautions are what a reader must know before he acts on the result.
func cautions(r *analysis.Result) []string { return nil }
