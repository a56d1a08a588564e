package practice

// Entries returns the table in the order of the documentation.
func Entries() []Entry { return append([]Entry(nil), table...) }

// Sayings returns the words of every reason in the order of the documentation: those of single runs, then those
// of whole sets.
func Sayings() (runs, sets []Saying) {
	return append([]Saying(nil), ofRuns...), append([]Saying(nil), ofSets...)
}
