package influx

import (
	"testing"
	"time"
)

func TestNamesOfDrives(t *testing.T) {
	zone := time.FixedZone("", 2*3600)
	at := func(s string) time.Time {
		when, err := time.Parse(time.RFC3339Nano, s)
		if err != nil {
			t.Fatal(err)
		}
		return when
	}
	for text, want := range map[string]Name{
		"influx:vehicle=Mule":                                      {Vehicle: "Mule"},
		"influx:vehicle=Mule,drive=2026-05-09T08:15:00.25Z":        {Vehicle: "Mule", Drive: at("2026-05-09T08:15:00.25Z")},
		"influx:drive=2026-05-09T10:15,vehicle=Mule":               {Vehicle: "Mule", Drive: at("2026-05-09T08:15:00Z")},
		"influx:vehicle=Mule,from=2026-05-09,to=2026-05-09":        {Vehicle: "Mule", From: at("2026-05-08T22:00:00Z"), To: at("2026-05-09T22:00:00Z")},
		"influx:vehicle=Mule,to=2026-05-09T10:15:30":               {Vehicle: "Mule", To: at("2026-05-09T08:15:30Z")},
		`influx:vehicle=Smith, blue = fast\, \\x,from=2026-05-09Z`: {},
		`influx:vehicle=Smith, blue = fast\, \\x,from=2026-05-09`:  {Vehicle: `Smith, blue = fast, \x`, From: at("2026-05-08T22:00:00Z")},
		"influx:vehicle=Mule,drive=2026-05-09,from=2026-05-09":     {},
		"influx:vehicle=Mule,vehicle=Van":                          {},
		"influx:":                                                  {},
		"influx:vehicle=":                                          {},
		"influx:drive=2026-05-09":                                  {},
		"influx:vehicle=Mule,from=2026-05-10,to=2026-05-08":        {},
	} {
		got, err := ParseName(text, zone)
		if (err != nil) != (want.Vehicle == "") {
			t.Errorf("%s: %v", text, err)
			continue
		}
		if err == nil && (got.Vehicle != want.Vehicle || !got.Drive.Equal(want.Drive) || !got.From.Equal(want.From) || !got.To.Equal(want.To)) {
			t.Errorf("%s: %+v, want %+v", text, got, want)
		}
	}
}

// Whatever name is read, what is written of it reads as the same.
func FuzzNameRoundTrip(f *testing.F) {
	for _, s := range []string{`influx:vehicle=a\,b,drive=2026-05-09T08:15:00.25Z`, "influx:vehicle=x,from=2026-05-09,to=2026-06-01", `influx:vehicle=\\\\,,drive`, "influx:vehicle=,,to=1700-01-01"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		n, err := ParseName(s, time.UTC)
		if err != nil {
			return
		}
		again, err := ParseName(n.String(), time.UTC)
		if err != nil || again.Vehicle != n.Vehicle || !again.Drive.Equal(n.Drive) || !again.From.Equal(n.From) || !again.To.Equal(n.To) {
			t.Errorf("%q is %+v, written %q, read %+v, %v", s, n, n.String(), again, err)
		}
	})
}
