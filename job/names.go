package job

import "strings"

// IsRecording tells whether a file is a log by its name: a table that some logger wrote, packed or not. What else lies
// beside a recording (its summary, what was sent of it) is none.
func IsRecording(name string) bool {
	name = strings.TrimSuffix(strings.TrimSuffix(strings.ToLower(name), ".gz"), ".zip")
	for _, end := range []string{".csv", ".tsv", ".log"} {
		if strings.HasSuffix(name, end) && name != end {
			return true
		}
	}
	return false
}
