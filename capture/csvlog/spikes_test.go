package csvlog

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/numbers"
	drives "flywitness/sim/field"
)

// driven writes a table of a lively drive at twenty rows a second, each value as write says.
func driven(write func(i int, rpm, kmh float64) (rpmCell, kmhCell string)) string {
	var b strings.Builder
	b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h)\n")
	for i := range 2000 {
		t := float64(i) * 0.05
		v := 60 + 30*math.Sin(t/7) + 5*math.Sin(t/1.7)
		rpm, kmh := write(i, 35*v, v)
		fmt.Fprintf(&b, "%.2f,%s,%s\n", t, rpm, kmh)
	}
	return b.String()
}

// Cells that were not asked for and hold zero, and road speeds that are the largest number of a byte, are left out; all others stay.
func TestSpikesAreLeftOut(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 9))
	for name, write := range map[string]func(i int, rpm, kmh float64) (string, string){
		"zeros in turn": func(i int, rpm, kmh float64) (string, string) {
			if i%3 == 0 {
				return fmt.Sprintf("%.2f", rpm), "0"
			}
			return "0", fmt.Sprintf("%.1f", kmh)
		},
		"255 km/h": func(i int, rpm, kmh float64) (string, string) {
			if rng.IntN(20) == 0 && i > 0 {
				return fmt.Sprintf("%.2f", rpm), "255"
			}
			return fmt.Sprintf("%.2f", rpm), fmt.Sprintf("%.1f", kmh)
		},
	} {
		l, err := read(strings.NewReader(driven(write)), "log.csv", Options{})
		if err != nil {
			t.Fatal(err)
		}
		if !hasWarning(l, finding.ImpossibleLeaps) {
			t.Errorf("%s: it says %v", name, l.Warnings)
		}
		for channel, per := range map[string]float64{drive.EngineSpeed: 35, drive.VehicleSpeed: 1} {
			c := l.Channel(channel)
			wrong := 0
			for i, at := range c.T {
				if v := 60 + 30*math.Sin(at/7) + 5*math.Sin(at/1.7); !(math.Abs(c.V[i]-per*v) <= per) {
					wrong++
				}
			}
			if wrong > 2 || c.Len() < 600 { // the last value of a table has none behind it
				t.Errorf("%s: %d of %d values of %s are wrong", name, wrong, c.Len(), channel)
			}
		}
	}
}

// An engine that stalls, wheels that spin and lock, and everything that ordinary recorders of ordinary drives write stays.
func TestNoSpikes(t *testing.T) {
	numbers.Only(t)
	texts := []string{driven(func(i int, rpm, kmh float64) (string, string) {
		switch {
		case i >= 500 && i < 530: // stalled for a second and a half
			rpm = 0
		case i >= 700 && i < 706: // wheels gain 40 km/h in a third of a second, and lose it again
			kmh += 40 * float64(i-700) / 6
		case i >= 706 && i < 712:
			kmh += 40 * float64(712-i) / 6
		}
		return fmt.Sprintf("%.2f", rpm), fmt.Sprintf("%.0f", kmh)
	})}
	for _, c := range drives.Classes() {
		if strings.HasPrefix(c.Name, "written/") && strings.HasSuffix(c.Name, "/nofile") && !c.Refusable && c.Name != "written/smoothed/nofile" {
			texts = append(texts, c.Make(7, true).Texts...)
		}
	}
	for i, text := range texts {
		l, err := read(strings.NewReader(text), "log.csv", Options{})
		if err != nil {
			t.Fatal(err)
		}
		if hasWarning(l, finding.ImpossibleLeaps) || hasWarning(l, finding.SmoothedValues) || hasWarning(l, finding.BunchedStamps) || hasWarning(l, finding.ClockSetBack) {
			t.Errorf("table %d: it says %v", i, l.Warnings)
		}
	}
	if len(texts) < 4 {
		t.Errorf("only %d tables", len(texts))
	}
}
