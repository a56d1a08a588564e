package finding

import "flywitness/figure"

// tables are the sentences in English, by what they are about.
var tables = []language{ofLogs, ofTables, ofCars, ofSlip, ofTorque, ofRuns, ofSets, ofInertia, ofCompare, ofDrag, ofPromises, ofJobs,
	ofGuide}

// Codes lists every code that has a sentence.
func Codes() []Code {
	var out []Code
	for _, t := range tables {
		for c := range t {
			out = append(out, c)
		}
	}
	return out
}

// Example is a finding of that code as a log gave it.
func Example(c Code) Finding {
	for _, t := range tables {
		if s, ok := t[c]; ok {
			return New(c, s.example...)
		}
	}
	return New(c)
}

// about is an estimate for the examples.
func about(x, sd float64) *figure.Estimate {
	return &figure.Estimate{Value: x, SD: sd, CI95: [2]float64{x - 1.96*sd, x + 1.96*sd}}
}
