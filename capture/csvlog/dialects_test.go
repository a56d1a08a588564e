package csvlog

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"math"
	"strings"
	"testing"
	enc16 "unicode/utf16"

	"flywitness/drive"
	"flywitness/internal/numbers"
)

// written is a drive as some logger writes it.
type written struct {
	name string
	head string
	row  func(t, rpm, kmh float64) string
}

// dialects are the same steady drive (35 rpm per km/h, 30 km/h rising by 0.5 km/h a second, ten rows a second) as different loggers write it.
var dialects = []written{
	{"units in brackets, mph", "Time,Engine RPM (rpm),Speed [mph]\n", func(t, n, v float64) string { return fmt.Sprintf("%.2f,%.0f,%.2f\n", t, n, v/1.609344) }},
	{"units row", "time,engine_speed,vehicle_speed\ns,rpm,km/h\n", func(t, n, v float64) string { return fmt.Sprintf("%.2f,%.0f,%.0f\n", t, n, v) }},
	{"decimal comma, preamble, CRLF", "Aufnahme;3\r\nDatum;1.2.2026\r\n\r\nZeit;Drehzahl;Geschwindigkeit\r\n", func(t, n, v float64) string {
		return strings.ReplaceAll(fmt.Sprintf("%.2f;%.1f;%.0f\r\n", t, n, v), ".", ",")
	}},
	{"milliseconds, pipes", "Time (ms)|Engine speed (1/min)|Vehicle speed (km/h)\n", func(t, n, v float64) string { return fmt.Sprintf("%.0f|%.0f|%.0f\n", t*1000, n, v) }},
	{"milliseconds in the name", "time_ms,engine_speed_rpm,vehicle_speed_kmh\n", func(t, n, v float64) string { return fmt.Sprintf("%.0f,%.0f,%.0f\n", t*1000, n, v) }},
	{"epoch milliseconds without a unit", "Epoch,RPM,Speed (m/s)\n", func(t, n, v float64) string { return fmt.Sprintf("%.0f,%.0f,%.2f\n", 1.77e12+t*1000, n, v/3.6) }},
	{"RFC 3339, tabs", "timestamp\tRPM\tVehicle speed (km/h)\n", func(t, n, v float64) string {
		return fmt.Sprintf("2026-05-01T10:%02d:%04.1fZ\t%.0f\t%.0f\n", int(t)/60, math.Mod(t, 60), n, v)
	}},
	{"clock time over midnight", "Time,RPM,Speed (km/h)\n", func(t, n, v float64) string {
		c := math.Mod(86390+t, 86400)
		return fmt.Sprintf("%02d:%02d:%04.1f,%.0f,%.0f\n", int(c)/3600, int(c)/60%60, math.Mod(c, 60), n, v)
	}},
	{"date and time in two columns", "Date,Time,RPM,KPH\n", func(t, n, v float64) string {
		return fmt.Sprintf("2026-05-01,10:%02d:%04.1f,%.0f,%.0f\n", int(t)/60, math.Mod(t, 60), n, v)
	}},
	{"a clock for each channel", "Time (s),Engine speed (rpm),Time (s),Vehicle speed (km/h)\n", func(t, n, v float64) string {
		return fmt.Sprintf("%.3f,%.0f,%.3f,%.0f\n", t, n, t+0.05, v)
	}},
	{"one row a value", "seconds,name,value,unit\n", func(t, n, v float64) string {
		return fmt.Sprintf("%.3f,Engine RPM,%.0f,rpm\n%.3f,Vehicle speed,%.0f,km/h\n", t, n, t+0.05, v)
	}},
	{"set-points beside", "Time,Target idle speed (rpm),Engine speed (rpm),Cruise set speed (km/h),Vehicle speed (km/h)\n", func(t, n, v float64) string {
		return fmt.Sprintf("%.2f,800,%.0f,0,%.0f\n", t, n, v)
	}},
	{"minutes and seconds", "Time,RPM,Speed (km/h)\n", func(t, n, v float64) string {
		return fmt.Sprintf("%02d:%04.1f,%.0f,%.0f\n", int(t)/60, math.Mod(t, 60), n, v)
	}},
	{"units in the cells", "Time,RPM,Speed\n", func(t, n, v float64) string { return fmt.Sprintf("%.2f s,%.0f rpm,%.2f mph\n", t, n, v/1.609344) }},
	{"days of a spreadsheet", "Time;RPM;Speed (km/h)\n", func(t, n, v float64) string { return fmt.Sprintf("%.12f;%.0f;%.0f\n", 46151.4+t/86400, n, v) }},
	{"AM and PM over noon", "Date,Time,RPM,Speed(MPH)\n", func(t, n, v float64) string {
		c, half := 43190+t, "AM"
		if c >= 43200 {
			half = "PM"
		}
		return fmt.Sprintf("05/09/2026,%d:%02d:%04.1f %s,%.0f,%.2f\n", (int(c)/3600+11)%12+1, int(c)/60%60, math.Mod(c, 60), half, n, v/1.609344)
	}},
	{"thousands marks", "Zeit;Drehzahl (1/min);Geschwindigkeit (km/h)\n", func(t, n, v float64) string {
		return strings.Replace(fmt.Sprintf("%.2f;", t), ".", ",", 1) + fmt.Sprintf("%d.%03d,0;%.0f,0\n", int(n+0.5)/1000, int(n+0.5)%1000, v)
	}},
	{"one speed in two units", "Time,RPM,Speed (mph),Speed (km/h)\n", func(t, n, v float64) string { return fmt.Sprintf("%.2f,%.0f,%.0f,%.0f\n", t, n, v/1.609344, v) }},
	{"quoted, trailing comma", "\"Time\",\"Engine RPM\",\"Vehicle Speed (km/h)\",\n", func(t, n, v float64) string {
		return fmt.Sprintf("\"%.2f\",\"%.0f\",\"%.0f\",\n", t, n, v)
	}},
	{"sparse rows", "Time (s),Engine speed (rpm),Vehicle speed (km/h)\n", func(t, n, v float64) string {
		return fmt.Sprintf("%.3f,%.0f,\n%.3f,,%.0f\n", t, n, t+0.05, v)
	}},
}

const dialectRows = 600

func (d written) text() string {
	var b strings.Builder
	b.WriteString(d.head)
	for i := range dialectRows {
		t := float64(i) / 10
		v := 30 + t/2
		b.WriteString(d.row(t, 35*v, v))
	}
	return b.String()
}

// checkDrive holds a log against the drive that all dialects tell.
func checkDrive(t *testing.T, l *drive.Log) {
	t.Helper()
	rpm, kmh := l.Channel(drive.EngineSpeed), l.Channel(drive.VehicleSpeed)
	if rpm == nil || kmh == nil {
		t.Fatalf("channels missing: %+v", l.Channels)
	}
	if rpm.Len() != dialectRows || kmh.Len() != dialectRows {
		t.Fatalf("%d engine speeds and %d road speeds, want %d of each", rpm.Len(), kmh.Len(), dialectRows)
	}
	for i := range dialectRows {
		at := float64(i) / 10
		v := 30 + at/2
		// Stamps are kept to the microsecond, whole numbers of rpm and km/h are off by half a step.
		if math.Abs(rpm.T[i]-rpm.T[0]-at) > 2e-6 || math.Abs(rpm.V[i]-35*v) > 0.51 || math.Abs(kmh.V[i]-v) > 0.51 {
			t.Fatalf("row %d: %.3f s, %.1f rpm, %.2f km/h; want %.3f s, %.1f rpm, %.2f km/h", i, rpm.T[i]-rpm.T[0], rpm.V[i], kmh.V[i], at, 35*v, v)
		}
	}
	if l.Skipped != 0 {
		t.Errorf("%d rows skipped: %v", l.Skipped, l.Warnings)
	}
}

func TestDialects(t *testing.T) {
	numbers.Only(t)
	for _, d := range dialects {
		t.Run(d.name, func(t *testing.T) {
			l, err := read(strings.NewReader(d.text()), "log.csv", Options{})
			if err != nil {
				t.Fatal(err)
			}
			checkDrive(t, l)
		})
	}
}

func TestEncodingsAndCompression(t *testing.T) {
	text := dialects[0].text()
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	if _, err := z.Write([]byte(text)); err != nil {
		t.Fatal(err)
	}
	z.Close()
	wide := []byte{0xff, 0xfe}
	for _, u := range enc16.Encode([]rune(text)) {
		wide = append(wide, byte(u), byte(u>>8))
	}
	latin := strings.Replace(text, "Time", "Temps \xe9coul\xe9 (s)", 1)
	for name, data := range map[string][]byte{"gzip": packed.Bytes(), "UTF-16": wide, "BOM": append([]byte("\xef\xbb\xbf"), text...), "Latin-1": []byte(latin),
		"CR alone": []byte(strings.ReplaceAll(text, "\n", "\r"))} {
		t.Run(name, func(t *testing.T) {
			l, err := read(bytes.NewReader(data), "log.csv", Options{})
			if err != nil {
				t.Fatal(err)
			}
			checkDrive(t, l)
		})
	}
}

func TestMapAndTimeSettleWhatTheHeadingsDoNot(t *testing.T) {
	d := written{head: "Offset,A,B\n", row: func(t, n, v float64) string { return fmt.Sprintf("%.0f,%.0f,%.3f\n", t*1000, n, v/1.609344) }}
	l, err := read(strings.NewReader(d.text()), "log.csv", Options{Map: []string{"engine_speed_rpm=A", "vehicle_speed_kmh=B:mph"}, Time: "Offset:ms"})
	if err != nil {
		t.Fatal(err)
	}
	checkDrive(t, l)
}

// Each refusal is one line that says what, where and what to do.
func TestRefusals(t *testing.T) {
	body := dialects[0].text()[len(dialects[0].head):]
	for _, c := range []struct {
		name, text string
		opt        Options
		want       []string
	}{
		{"empty", "", Options{}, []string{"log.csv", "empty"}},
		{"no engine speed", "Time,Foo,Speed (km/h)\n" + body, Options{}, []string{"engine speed", "Foo", "--map"}},
		{"no speed", "Time,RPM,Foo\n" + body, Options{}, []string{"speed", "Foo", "--map"}},
		{"two speeds of equal claim", "Time,RPM,Speed A (km/h),Speed B (km/h)\n1,1000,30,40\n2,1001,31,42\n3,1002,32,43\n", Options{}, []string{"Speed A", "Speed B", "--map"}},
		{"heading row missing", body, Options{}, []string{"heading"}},
		{"binary", string([]byte{0, 1, 2, 3, 0xff, 0xfe, 0, 0, 9, 8, 7, 0, 0, 0}), Options{}, []string{"log.csv"}},
		{"unknown column in --map", dialects[0].text(), Options{Map: []string{"engine_speed_rpm=Nonesuch"}}, []string{"Nonesuch", "Engine RPM"}},
		{"unknown channel in --map", dialects[0].text(), Options{Map: []string{"engine_sped_rpm=Time"}}, []string{"engine_sped_rpm"}},
		{"unknown unit in --map", dialects[0].text(), Options{Map: []string{"vehicle_speed_kmh=Speed:parsecs"}}, []string{"parsecs"}},
		{"time that stands still", "Time,RPM,Speed (km/h)\n5,1000,30\n5,1010,31\n5,1020,32\n", Options{}, []string{"time column", "--time"}},
		{"whole minutes", "Time,RPM,Speed (km/h)\n" + strings.Repeat("2026-05-09 10:15,1000,30\n2026-05-09 10:15,1010,31\n", 9) + "2026-05-09 10:16,1000,30\n", Options{}, []string{"minutes"}},
		{"decimal comma between commas", "Time,RPM,Speed\n0,05,850,5,30,5\n0,10,860,5,31,5\n0,15,870,5,32,5\n", Options{}, []string{"decimal comma", "semicolons"}},
		{"no clock", "Delta time (ms),RPM,Speed (km/h)\n50,1000,30\n50,1010,31\n", Options{}, []string{"time column", "--time"}},
		{"workbook", "PK\x03\x04 and so on", Options{}, []string{"save", "CSV"}},
		{"unknown unit in --time", dialects[0].text(), Options{Time: "Time:fortnight"}, []string{"fortnight"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := read(strings.NewReader(c.text), "log.csv", c.opt)
			if err == nil {
				t.Fatal("was read")
			}
			for _, w := range c.want {
				if !strings.Contains(err.Error(), w) {
					t.Errorf("error %q does not name %q", err, w)
				}
			}
			if strings.Contains(err.Error(), "\n") {
				t.Errorf("error has more than one line: %q", err)
			}
		})
	}
}

func TestBadCellsAreCountedNotGuessed(t *testing.T) {
	text := "Time (s),Engine speed (rpm),Vehicle speed (km/h)\n0.0,1000,30\n0.1,N/A,30\n0.2,99999,31\n0.3,1003,nan\n0.4,junk,31\n0.5,1005,31\n0.6,1006,32\n"
	l, err := read(strings.NewReader(text), "log.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if n := l.Channel(drive.EngineSpeed).Len(); n != 4 {
		t.Errorf("%d engine speeds kept, want 4 (not N/A, not 99999, not junk)", n)
	}
	if n := l.Channel(drive.VehicleSpeed).Len(); n != 6 {
		t.Errorf("%d road speeds kept, want 6 (not nan)", n)
	}
	if len(l.Warnings) == 0 {
		t.Error("nothing was said about the cells that were left out")
	}
}

// A recorder that writes a row every quarter of a poll cycle repeats what it has: only fresh values count.
func TestHeldRowsAreDropped(t *testing.T) {
	var b strings.Builder
	b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h)\n")
	for i := range 400 {
		poll := i / 4
		rpm := math.Round(4*(2500+900*math.Sin(float64(poll)/9))) / 4
		fmt.Fprintf(&b, "%.3f,%.2f,%d\n", float64(i)*0.1, rpm, 50+poll/20)
	}
	l, err := read(strings.NewReader(b.String()), "log.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !l.Held {
		t.Fatal("held rows were not noticed")
	}
	if n := l.Channel(drive.EngineSpeed).Len(); n < 95 || n > 100 {
		t.Errorf("%d fresh engine speeds, want about 100", n)
	}
	if n := l.Channel(drive.VehicleSpeed).Len(); n < 90 || n > 100 {
		t.Errorf("%d road speeds, want one a poll, also where the speed did not change", n)
	}
}

func TestWholeSecondStampsAreSpread(t *testing.T) {
	var b strings.Builder
	b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h)\n")
	for i := range 400 {
		fmt.Fprintf(&b, "%d,%d,%d\n", i/4, 1500+7*(i%100), 50+i/40)
	}
	l, err := read(strings.NewReader(b.String()), "log.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if l.StampStep != 1 {
		t.Errorf("stamp step %v, want 1 s", l.StampStep)
	}
	c := l.Channel(drive.EngineSpeed)
	for i := 1; i < c.Len(); i++ {
		if d := c.T[i] - c.T[i-1]; d < 0.1 || d > 0.5 {
			t.Fatalf("step %d is %.3f s, want about 0.25 s", i, d)
		}
	}
}

func FuzzRead(f *testing.F) {
	for _, d := range dialects {
		text := d.text()
		f.Add([]byte(text[:min(len(text), 600)]))
	}
	f.Add([]byte("sep=;\nTime;RPM;Speed\n1;2;3\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		l, err := read(bytes.NewReader(data), "log.csv", Options{})
		if err != nil {
			if strings.Contains(err.Error(), "\n") {
				t.Errorf("error has more than one line: %q", err)
			}
			return
		}
		for _, c := range l.Channels {
			if len(c.T) != len(c.V) {
				t.Errorf("%s: %d stamps for %d values", c.Name, len(c.T), len(c.V))
			}
			for i := range c.T {
				if math.IsNaN(c.T[i]) || math.IsInf(c.T[i], 0) || math.IsNaN(c.V[i]) || math.IsInf(c.V[i], 0) {
					t.Errorf("%s: sample %d is %v at %v", c.Name, i, c.V[i], c.T[i])
				}
			}
		}
	})
}

// An hour at 20 Hz with ten columns.
func BenchmarkHour(b *testing.B) {
	var text bytes.Buffer
	text.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h),Throttle (%),Load (%),Coolant temperature (C),Intake temperature (C),Pedal (%),A,B\n")
	for i := range 72000 {
		fmt.Fprintf(&text, "%.3f,%.2f,%d,%.1f,%.1f,88,30,%.1f,1,2\n", float64(i)*0.05, 1500+float64(i%3000), 30+i%90, float64(i%100), float64(i%90), float64(i%80))
	}
	b.SetBytes(int64(text.Len()))
	for b.Loop() {
		if _, err := read(bytes.NewReader(text.Bytes()), "log.csv", Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
