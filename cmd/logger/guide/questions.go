// Package guide leads a passenger through the runs that the analysis needs: one at a time, each accepted or refused on the
// spot with the reason, by the code that judges the recording afterwards.
package guide

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"

	"flywitness/drive"
)

// Question is asked once, before the recording begins; the answer goes into the session file under Key.
type Question struct {
	Key, Text string
	kind      kind
}

type kind uint8

const (
	free    kind = iota
	yesNo        // stored as yes or no
	number       // not negative
	footOff      // off or on; stored as foot_on_clutch yes or no
)

// questionsOf returns the questions in the order of asking. They are what changes the drag or the torque and cannot be told from a recording.
func questionsOf() []Question {
	return []Question{
		{"operator", "Who operates the recording?", free},
		{"place", "Where is it driven?", free},
		{"odometer_km", "Odometer, km?", number},
		{"fuel", "Fuel in the tank, and how full?", free},
		{"tyres", "Tyres (size, make is not needed) and pressures?", free},
		{"km_since_fitted", "Kilometres since the clutch was fitted? (empty: not known)", number},
		{"bed_in_km", "Kilometres that its maker asks for before full load? (empty: not known)", number},
		{"foot_on_clutch", "Free revs are driven with the foot off the clutch, lever in neutral. Is the foot off? (yes; no: it stays on)", footOff},
		{"consumers_off", "Are air conditioning, lights, rear heating and fan off?", yesNo},
		{"battery_charged", "Is the battery charged (not just started from flat)?", yesNo},
		{"driven_20_minutes", "Has the car been driven for 20 minutes or more just now?", yesNo},
		{"start_stop_off", "Is the start-stop system off, or is there none?", yesNo},
	}
}

// Answers are the answers by key; a question that was passed over is missing.
type Answers map[string]string

// Ask asks the questions. An empty line passes a question over; an answer that cannot be is asked again, three times at most.
func Ask(in io.Reader, out io.Writer) (Answers, error) {
	lines := bufio.NewReader(in)
	a := Answers{}
	for _, q := range questionsOf() {
		for try := 0; ; try++ {
			fmt.Fprintf(out, "%s ", q.Text)
			line, err := lines.ReadString('\n')
			if err != nil && line == "" {
				return a, nil // nobody is there to answer
			}
			value, err := q.read(strings.TrimSpace(line))
			if err == nil {
				if value != "" {
					a[q.Key] = value
				}
				break
			}
			if try == 2 {
				return nil, fmt.Errorf("%s: %w", q.Key, err)
			}
			fmt.Fprintln(out, err)
		}
	}
	return a, nil
}

// read checks an answer and returns what is stored.
func (q Question) read(s string) (string, error) {
	if s == "" {
		return "", nil
	}
	switch q.kind {
	case number:
		v, err := strconv.ParseFloat(strings.ReplaceAll(s, ",", "."), 64)
		if err != nil || !(v >= 0 && v < 1e7) {
			return "", fmt.Errorf("%.20q is no number of kilometres", s)
		}
		return strconv.FormatFloat(v, 'f', -1, 64), nil
	case yesNo, footOff:
		yes, ok := map[string]bool{"y": true, "yes": true, "n": false, "no": false}[strings.ToLower(s)]
		if !ok {
			return "", fmt.Errorf("answer yes or no, or nothing")
		}
		if q.kind == footOff {
			yes = !yes
		}
		return map[bool]string{true: "yes", false: "no"}[yes], nil
	}
	return shortened(s), nil
}

// maxAnswer is the longest answer that is kept, in characters.
const maxAnswer = 200

// shortened cuts an answer between two characters; bytes that are no character become question marks.
func shortened(s string) string {
	letters := []rune(strings.ToValidUTF8(s, "?"))
	return strings.TrimSpace(string(letters[:min(len(letters), maxAnswer)]))
}

// Fields returns the answers for the header of the session file; "checklist" is yes when all that it asks for was confirmed.
func (a Answers) Fields() []drive.Field {
	var f []drive.Field
	for _, q := range questionsOf() {
		if v, ok := a[q.Key]; ok {
			f = append(f, drive.Field{Key: q.Key, Value: v})
		}
	}
	if a["consumers_off"] == "yes" && a["battery_charged"] == "yes" && a["driven_20_minutes"] == "yes" {
		f = append(f, drive.Field{Key: "checklist", Value: "yes"})
	}
	return f
}

// Number returns an answer as a number, nil when it was passed over.
func (a Answers) Number(key string) *float64 {
	v, err := strconv.ParseFloat(a[key], 64)
	if err != nil {
		return nil
	}
	return &v
}

// FootOnClutch returns where the foot is in the free revs, nil when it was not told.
func (a Answers) FootOnClutch() *bool {
	v, ok := a["foot_on_clutch"]
	if !ok {
		return nil
	}
	on := v == "yes"
	return &on
}
