package adapter

import "strings"

// Kind is what a line of an adapter means.
type Kind uint8

// The kinds of line. Data is a row of hexadecimal digits; Text is anything else that is printable (a version, a voltage).
const (
	Data Kind = iota
	Text
	OK
	NotUnderstood
	Progress
	NoData
	NoConnection
	BusFault
	Stopped
	Overflow
	Damaged
	WasReset
	Garbage
)

// step is what to do after a kind of line.
type Step uint8

// The steps, from mild to strong: when lines of one reply call for different steps, the strongest is taken.
const (
	GoOn      Step = iota // use what came
	AskAgain              // the reply is worth nothing; the next one may be good
	Search                // the car does not answer: search for its protocol, with back-off
	SetUp                 // the adapter has forgotten its settings
	ReOpenNow             // the line is gone: open it again, with back-off
)

// step returns what to do after a line of the kind.
func (k Kind) step() Step {
	switch k {
	case Data, Text, OK, NotUnderstood, Progress:
		return GoOn
	case NoData, Stopped, Overflow, Damaged, Garbage:
		return AskAgain
	case NoConnection, BusFault:
		return Search
	default:
		return SetUp
	}
}

func (k Kind) String() string {
	return [...]string{"data", "text", "OK", "command not understood", "progress", "no data from the car", "no connection to the car",
		"fault on the bus", "stopped by a byte", "buffer full", "damaged data", "the adapter was reset", "bytes that mean nothing"}[k]
}

// answers are the words of AT-command adapters with blanks taken out; a line that contains one is of that kind.
// Common practice, no source. The order matters: BUSINIT:...ERROR is a failure, BUSINIT:...OK is progress.
var answers = []struct {
	words string
	kind  Kind
}{
	{"UNABLETOCONNECT", NoConnection},
	{"NODATA", NoData},
	{"BUFFERFULL", Overflow},
	{"<DATAERROR", Damaged},
	{"<RXERROR", Damaged},
	{"DATAERROR", Damaged},
	{"CANERROR", BusFault},
	{"BUSERROR", BusFault},
	{"BUSBUSY", BusFault},
	{"FBERROR", BusFault},
	{"STOPPED", Stopped},
	{"LVRESET", WasReset},
	{"ACTALERT", WasReset},
	{"LPALERT", WasReset},
}

// classify returns the kind of a line and the data in it, upper case and without blanks. Words before data on the same line
// ("SEARCHING...41 00 ..") are taken off.
func classify(line string) (Kind, string) {
	s := strings.ToUpper(strings.Join(strings.Fields(line), ""))
	if rest, ok := afterProgress(s); ok {
		switch {
		case strings.HasSuffix(rest, "ERROR"):
			return NoConnection, ""
		case rest == "" || rest == "OK":
			return Progress, ""
		}
		s = rest
	}
	switch s {
	case "":
		return Progress, ""
	case "OK":
		return OK, ""
	case "?":
		return NotUnderstood, ""
	}
	for _, a := range answers {
		if strings.Contains(s, a.words) {
			return a.kind, ""
		}
	}
	if strings.HasPrefix(s, "ERR") && len(s) <= 6 {
		return WasReset, ""
	}
	if isData(s) {
		return Data, s
	}
	if isPrintable(s) {
		return Text, strings.TrimSpace(line)
	}
	return Garbage, ""
}

// afterProgress returns what follows SEARCHING... or BUS INIT: ... on a line.
func afterProgress(s string) (string, bool) {
	for _, words := range []string{"SEARCHING", "BUSINIT:", "BUSINIT"} {
		if rest, ok := strings.CutPrefix(s, words); ok {
			return strings.TrimLeft(rest, "."), true
		}
	}
	return s, false
}

// isData accepts hexadecimal digits, with a line number and colon before them or not.
func isData(s string) bool {
	digits := s
	if i := strings.IndexByte(s, ':'); i == 1 {
		digits = s[:1] + s[2:]
	}
	for _, c := range digits {
		if !(c >= '0' && c <= '9' || c >= 'A' && c <= 'F') {
			return false
		}
	}
	return len(digits) >= 2
}

func isPrintable(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i] < 0x20 || s[i] > 0x7E {
			return false
		}
	}
	return true
}
