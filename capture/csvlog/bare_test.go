package csvlog

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"flywitness/drive"
	"flywitness/finding"
)

// Columns without a unit are read in the one in which a car can be so.
func TestBareUnits(t *testing.T) {
	for _, c := range []struct {
		file, channel string
		want          float64 // in row 40
	}{
		{"clutch_pedal_in_percent_unsaid.csv", drive.ClutchSwitch, 0.98},
		{"pressures_unsaid.csv", drive.IntakePressure, 80},
		{"pressures_unsaid.csv", drive.BarometricPressure, 101.3},
		{"pressures_unsaid.csv", drive.ModuleVoltage, 13.9},
		{"pressure_of_no_engine.csv", drive.BarometricPressure, 101.592},
		{"kelvin_unsaid.csv", drive.CoolantTemp, 84},
		{"kelvin_unsaid.csv", drive.IntakeTemp, 24},
		{"torque_unsaid.csv", drive.EngineTorque, 70},
	} {
		l, err := readForm(c.file, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if ch := l.Channel(c.channel); ch == nil || ch.Len() < 40 || math.Abs(ch.V[40]-c.want) > 1e-3 {
			t.Errorf("%s: %s is %v, want %g", c.file, c.channel, ch, c.want)
		}
	}
}

// pushing is a log in which the engine pushes the car from 20 to 79.5 km/h, with one more column.
func pushing(heading string, cell func(i int) string) string {
	var b strings.Builder
	b.WriteString("Time (s),Engine RPM,Speed (km/h)," + heading + "\n")
	for i := range 120 {
		v := 20 + float64(i)/2
		fmt.Fprintf(&b, "%.1f,%.0f,%.1f,%s\n", float64(i)/5, 35*v, v, cell(i))
	}
	return b.String()
}

// Where the engine pushes the car on, no throttle, load or manifold is next to nothing: few values tell a share, and what is neither share nor per cent is left out.
func TestPushedOn(t *testing.T) {
	few := func(i int) string { return fmt.Sprintf("%.2f", float64(i%15)*0.06) }
	for _, c := range []struct {
		heading string
		cell    func(i int) string
		channel string
		code    finding.Code
		most    float64 // 0: the column is left out
	}{
		{"Throttle", few, drive.Throttle, finding.ShareAsPercent, 84},
		{"Throttle", func(i int) string { return fmt.Sprintf("%.1f", 0.5+float64(i)/30) }, drive.Throttle, finding.ColumnLeftOut, 0},
		{"Throttle", func(i int) string { return fmt.Sprintf("%.1f", float64(i%3)*0.4) }, drive.Throttle, finding.ColumnLeftOut, 0},
		{"Pedal", func(i int) string { return fmt.Sprintf("%.1f", float64(i%3)*0.4) }, drive.Pedal, "", 0.8}, // cruise control
		{"Pedal", few, drive.Pedal, finding.ShareAsPercent, 84},
		{"Throttle (%)", few, drive.Throttle, "", 0.84},
		{"MAP", func(i int) string { return fmt.Sprintf("%.1f", 5+float64(i)/15) }, drive.IntakePressure, finding.ColumnLeftOut, 0},
		{"MAP", func(i int) string { return fmt.Sprintf("%d", 300+i*6) }, drive.IntakePressure, finding.UnitFromCar, 101.4},
	} {
		l, err := read(strings.NewReader(pushing(c.heading, c.cell)), "log.csv", Options{})
		if err != nil {
			t.Fatal(err)
		}
		most := 0.0
		if ch := l.Channel(c.channel); ch != nil {
			most = topOf(ch.V)
		}
		if math.Abs(most-c.most) > 0.7 || c.code != "" && !hasWarning(l, c.code) || c.code == "" && len(l.Warnings) > 0 {
			t.Errorf("%s: up to %g, want %g; it says %v", c.heading, most, c.most, l.Warnings)
		}
	}
}

// A number that stands for no value is told by what it is and by how far it lies from the others.
func TestNumbersForNothing(t *testing.T) {
	for _, c := range []struct {
		heading string
		cell    func(i int) string
		left    int // values
	}{
		{"Throttle (%)", func(i int) string { return fmt.Sprint([]int{20 + i%60, -1}[b(i%10 == 0)]) }, 108},
		{"Throttle (%)", func(i int) string { return fmt.Sprintf("%.1f", float64(i%8)/2-1) }, 120}, // noise about nothing
		{"Coolant temp (C)", func(i int) string { return fmt.Sprint([]int{84, -40}[b(i < 40)]) }, 80},
		{"Coolant temp (C)", func(i int) string { return fmt.Sprint(i - 40) }, 120}, // it warms up
		{"Ambient temp (C)", func(i int) string { return fmt.Sprint([]int{3, -1}[b(i < 40)]) }, 120},
		{"MAP (kPa)", func(i int) string { return fmt.Sprint(min(255, 140+i)) }, 120}, // full scale
		{"MAP (kPa)", func(i int) string { return fmt.Sprint([]int{40 + i%60, 255}[b(i%10 == 0)]) }, 108},
		{"Clutch switch", func(i int) string { return fmt.Sprint([]int{i / 10 % 2, 255}[b(i%10 == 0)]) }, 108},
		{"Clutch pedal (%)", func(i int) string { return fmt.Sprint([]int{0, 100, 50}[i%3]) }, 120},
	} {
		l, err := read(strings.NewReader(pushing(c.heading, c.cell)), "log.csv", Options{})
		if err != nil {
			t.Fatal(err)
		}
		if n := l.Channels[len(l.Channels)-1].Len(); n != c.left || hasWarning(l, finding.NoValueMarks) != (c.left < 120) {
			t.Errorf("%s: %d values, want %d; it says %v", c.heading, n, c.left, l.Warnings)
		}
	}
}

func b(yes bool) int {
	if yes {
		return 1
	}
	return 0
}
