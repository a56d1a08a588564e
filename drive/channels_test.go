package drive

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"flywitness/internal/golden"
)

// Each entry is whole, and no two answer to one name or one request.
func TestDefinitions(t *testing.T) {
	units := map[string]string{"rpm": "_rpm", "km/h": "_kmh", "%": "_pct", "kPa": "_kpa", "g/s": "_gs", "C": "_c",
		"N m": "_nm", "V": "_v", "deg": "_deg",
		"L/h": "_lph", "s": "_s", "ms": "_ms", "m": "_m", "": ""}
	names, pids := map[string]bool{}, map[byte]bool{}
	for _, d := range Definitions() {
		r := d.Request
		suffix, known := units[d.Unit]
		switch {
		case names[d.Name] || d.Label == "" || d.Use == "" || d.Low >= d.High:
			t.Errorf("%s: twice in the list, or without label, use or limits", d.Name)
		case !known || !strings.HasSuffix(d.Name, suffix):
			t.Errorf("%s: the name does not end in its unit %q", d.Name, d.Unit)
		case d.Asked() && (pids[r.PID] || r.Size > 2 || r.Scale <= 0):
			t.Errorf("%s: request %02X is taken, or cannot be read", d.Name, r.PID)
		case !d.Asked() && d.Pace != OnDemand:
			t.Errorf("%s has a pace and no request", d.Name)
		case d.Asked() && d.Round(r.Scale) == 0:
			t.Errorf("%s: %d decimals lose a step of %g", d.Name, d.Decimals, r.Scale)
		}
		names[d.Name] = true
		if d.Asked() {
			pids[r.PID] = true
		}
	}
}

// Rounding keeps every step of a byte of 0 to 100 % apart, and moves none by more than half of what is kept.
func TestRound(t *testing.T) {
	d, _ := Define(Throttle)
	last := -1.0
	for i := range 256 {
		exact := float64(i) * 100 / 255
		v := d.Round(exact)
		if v <= last || math.Abs(v-exact) > 0.005+1e-12 {
			t.Fatalf("step %d: %v becomes %v after %v", i, exact, v, last)
		}
		last = v
	}
}

// docs/channels.md is the list.
func TestDocumentIsTheList(t *testing.T) {
	golden.Same(t, "../docs/channels.md", []byte(document()))
}

func document() string {
	var b strings.Builder
	b.WriteString("# Channels\n\n" +
		"This page is written from the list in drive/channel_list.go (`go test ./drive -update`). Requests are those of service 01 of SAE J1979 /\n" +
		"ISO 15031-5, A and B the bytes of the answer. A value outside the limits is damage, or stands for \"not available\": the recorder leaves it out.\n" +
		"\"When\" is how often an ordinary recording asks; a plan of a guided recording may ask otherwise. Other loggers head their columns in many ways and\n" +
		"languages; the last column has one of them.\n\n" +
		"| name | what it is for | unit | request | value | limits | when | heading |\n|---|---|---|---|---|---|---|---|\n")
	for _, d := range Definitions() {
		request, heading := "", ""
		if d.Asked() {
			request = fmt.Sprintf("%02X", d.Request.PID)
		}
		if len(d.Heading.Strong) > 0 {
			heading = d.Heading.Strong[0]
		}
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s | %s | %g to %g | %s | %s |\n", d.Name, d.Use, d.Unit, request, formula(d.Request), d.Low, d.High, when(d), heading)
	}
	return b.String()
}

// formula is the value in terms of the bytes of the answer.
func formula(r Request) string {
	raw, s := "A", ""
	if r.Size == 2 && !r.FirstByteOnly {
		raw = "256 A + B"
	}
	switch over := 1 / r.Scale; {
	case r.Size == 0:
		return ""
	case r.Scale == 1:
		s = raw
	case math.Abs(over-math.Round(over)) < 1e-9:
		s = fmt.Sprintf("(%s) / %.0f", raw, over)
	default:
		s = fmt.Sprintf("%s x 100 / %.0f", raw, 100*over)
	}
	if r.Offset != 0 {
		s += fmt.Sprintf(" - %g", -r.Offset)
	}
	return s
}

func when(d Definition) string {
	switch {
	case d.Receiver:
		return "as the receiver sends it"
	case !d.Asked() && d.Name == Latency:
		return "every row"
	case !d.Asked():
		return "never"
	}
	return [...]string{"in guided tests alone", "every cycle", "often", "seldom"}[d.Pace]
}
