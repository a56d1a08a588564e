package influx

import (
	"fmt"
	"strings"
	"time"
	"unicode"
)

// scheme begins the name of a log that lies in the database.
const scheme = "influx:"

// IsName tells whether a log is to be looked for in the database.
func IsName(name string) bool { return strings.HasPrefix(name, scheme) }

// Name says which drives are meant: influx:vehicle=NAME,drive=TIME or influx:vehicle=NAME,from=TIME,to=TIME.
type Name struct {
	Vehicle  string
	Drive    time.Time // when it began; zero: all drives of the range
	From, To time.Time // To is not in it; zero: without that end
}

// ParseName reads a name. A comma in a vehicle's name needs no mark unless "drive=", "from=" or "to=" follows it; it
// may be written \, and a backslash \\. A time is RFC 3339; a date, with or without a time of day, is meant in the
// zone local, and a date at the end of a range includes its day.
func ParseName(text string, local *time.Location) (Name, error) {
	var n Name
	seen := map[string]bool{}
	for _, part := range splitParts(strings.TrimPrefix(text, scheme)) {
		key, value, ok := strings.Cut(part, "=")
		if !ok || seen[key] {
			return n, badName(text)
		}
		seen[key] = true
		var err error
		switch key {
		case "vehicle":
			n.Vehicle, err = cleanVehicle(unescapePart(value))
		case "drive":
			n.Drive, err = parseTime(value, local, false)
		case "from":
			n.From, err = parseTime(value, local, false)
		case "to":
			n.To, err = parseTime(value, local, true)
		default:
			return n, badName(text)
		}
		if err != nil {
			return n, fmt.Errorf("%s: %w", text, err)
		}
	}
	switch {
	case n.Vehicle == "", seen["drive"] && (seen["from"] || seen["to"]):
		return n, badName(text)
	case seen["from"] && seen["to"] && !n.From.Before(n.To):
		return n, fmt.Errorf("%s: the range ends before it begins", text)
	}
	return n, nil
}

func badName(text string) error {
	return fmt.Errorf("%q names no log of a database: write influx:vehicle=NAME,drive=TIME "+
		"or influx:vehicle=NAME,from=TIME,to=TIME", text)
}

// splitParts splits at the commas that a key follows.
func splitParts(s string) (parts []string) {
	start := 0
	for i := 0; i < len(s); i++ {
		switch {
		case s[i] == '\\':
			i++
		case s[i] == ',' && hasKey(s[i+1:]):
			parts = append(parts, s[start:i])
			start = i + 1
		}
	}
	return append(parts, s[start:])
}

func hasKey(s string) bool {
	for _, key := range []string{"vehicle=", "drive=", "from=", "to="} {
		if strings.HasPrefix(s, key) {
			return true
		}
	}
	return false
}

var partEscaper = strings.NewReplacer(`\`, `\\`, ",", `\,`)

func unescapePart(s string) string {
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		if s[i] == '\\' && i+1 < len(s) {
			i++
		}
		b.WriteByte(s[i])
	}
	return b.String()
}

func parseTime(s string, local *time.Location, end bool) (time.Time, error) {
	if t, err := time.Parse(time.RFC3339Nano, s); err == nil {
		return inReach(t)
	}
	for _, layout := range []string{"2006-01-02T15:04:05", "2006-01-02T15:04"} {
		if t, err := time.ParseInLocation(layout, s, local); err == nil {
			return inReach(t)
		}
	}
	t, err := time.ParseInLocation("2006-01-02", s, local)
	if err != nil {
		return t, fmt.Errorf("%q is no time: write 2026-05-09, 2026-05-09T10:15 or 2026-05-09T10:15:00Z", s)
	}
	if end {
		t = t.AddDate(0, 0, 1)
	}
	return inReach(t)
}

// inReach refuses a time that nanoseconds in 64 bits cannot hold with some room: the years 1678 to 2261.
func inReach(t time.Time) (time.Time, error) {
	if y := t.UTC().Year(); y < 1678 || y > 2261 {
		return t, fmt.Errorf("the year %d lies outside what the database can hold (1678 to 2261)", y)
	}
	return t, nil
}

// String writes the name of one drive so that ParseName reads it again.
func (n Name) String() string {
	s := scheme + "vehicle=" + partEscaper.Replace(n.Vehicle)
	for _, p := range []struct {
		key string
		t   time.Time
	}{{"drive", n.Drive}, {"from", n.From}, {"to", n.To}} {
		if !p.t.IsZero() {
			s += "," + p.key + "=" + tagOfDrive(p.t)
		}
	}
	return s
}

// tagOfDrive is the name of a drive in the database: when it began, in universal time.
func tagOfDrive(created time.Time) string { return created.UTC().Format(time.RFC3339Nano) }

// cleanVehicle returns a vehicle's name as the database holds it: control characters and runs of space are one space,
// for a line break would end the line that carries it. A name that ends in a backslash cannot be written at all.
func cleanVehicle(name string) (string, error) {
	blank := func(r rune) bool { return unicode.IsSpace(r) || unicode.IsControl(r) }
	name = strings.Join(strings.FieldsFunc(strings.ToValidUTF8(name, "\uFFFD"), blank), " ")
	switch {
	case name == "":
		return "", fmt.Errorf("the vehicle has no name: give one with --as")
	case strings.HasSuffix(name, `\`):
		return "", fmt.Errorf("the database cannot hold the vehicle name %q, which ends in a backslash: "+
			"give another with --as", name)
	case len(name) > 200:
		return "", fmt.Errorf("the vehicle name %.40q... has %d bytes, at most 200: give another with --as", name, len(name))
	}
	return name, nil
}
