package csvlog

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"flywitness/drive"
	"flywitness/finding"
)

// Three times up through gears of 120, 66, 46 and 35 rpm per km/h and down again, from 8 to 110 km/h, in units that the headings do not say.
func TestUnitsThatTheCarTells(t *testing.T) {
	const kmh, rpm = 110, 3850
	for _, c := range []struct {
		file  string
		opt   Options
		code  finding.Code
		fails []string
	}{
		{file: "speed_of_metres.csv", code: finding.UnitFromCar},
		{file: "speed_of_centimetres.csv", code: finding.UnitFromCar},
		{file: "quarters_of_rpm.csv", code: finding.UnitFromCar},
		{file: "speed_of_hundredths.csv", fails: []string{`Speed:0.01 km/h" (up to 110 km/h)`, `Speed:0.01 mph" (up to 177 km/h)`}},
		{file: "speed_of_hundredths.csv", opt: Options{Map: []string{"vehicle_speed_kmh=Speed:0.01 km/h"}}},
		{file: "speed_backwards.csv", code: finding.SpeedBackwards},
		{file: "nines_for_nothing.csv", code: finding.NoValueMarks},
		{file: "points_for_thousands.csv", code: finding.ThousandsMark},
		{file: "commas_for_thousands.csv"},
		{file: "minutes_unsaid.csv", code: finding.ClockInMinutes},
		{file: "hundredths_of_a_second_unsaid.csv", fails: []string{`--time "Time:1/100 s"`}},
		{file: "hundredths_of_a_second_unsaid.csv", opt: Options{Time: "Time:1/20 s"}},
	} {
		l, err := readForm(c.file, c.opt)
		if err != nil {
			for _, s := range c.fails {
				if !strings.Contains(err.Error(), s) {
					t.Errorf("%s: %v does not name %s", c.file, err, s)
				}
			}
			if c.fails == nil {
				t.Error(err)
			}
			continue
		}
		if c.fails != nil {
			t.Errorf("%s is read: %v", c.file, l.Warnings)
		}
		if c.code == "" && len(l.Warnings) > 0 || c.code != "" && (len(l.Warnings) != 1 || l.Warnings[0].Code != c.code) {
			t.Errorf("%s: it says %v", c.file, l.Warnings)
		}
		if v := most(l.Channel(drive.VehicleSpeed)); math.Abs(v-kmh) > 0.5 {
			t.Errorf("%s: up to %g km/h", c.file, v)
		}
		if first, last := l.Span(); math.Abs(last-first-95.5) > 0.1 {
			t.Errorf("%s: it lasts %g s", c.file, last-first)
		}
		if n := most(l.Channel(drive.EngineSpeed)); math.Abs(n-rpm) > 5 {
			t.Errorf("%s: up to %g rpm", c.file, n)
		}
	}
}

func most(c *drive.Channel) float64 {
	top := 0.0
	for _, x := range c.V {
		top = max(top, x)
	}
	return top
}

// A car that stays in one gear, and miles an hour, stay as they are: another unit is asked for only where no car can be so.
func TestUnitsThatACarMayHave(t *testing.T) {
	for _, c := range []struct {
		g        gears
		rpm, kmh float64
		cannot   bool
	}{
		{gears{28, 118}, 6000, 190, false}, {gears{16, 100}, 4500, 230, false}, {gears{45, 190}, 6000, 118, false}, {gears{118, 120}, 3000, 20, false}, {gears{}, 3000, 90, false},
		{gears{104, 425}, 6000, 40, true}, {gears{104, 240}, 6000, 40, true}, {gears{2.8, 12}, 6000, 1900, true}, {gears{115, 470}, 11000, 100, true}, {gears{}, 3000, 9000, true},
	} {
		if c.g.impossible(c.rpm, c.kmh) != c.cannot {
			t.Errorf("%+v: impossible is %v", c, !c.cannot)
		}
	}
}

func TestMarksForNoValue(t *testing.T) {
	for x, want := range map[float64]bool{999: true, 9999: true, 65535: true, 511: true, 16383: true, 255: false, 6500: false, 1000: false, 99.5: false, -1: false} {
		if isMark(x) != want {
			t.Errorf("%g is a mark: %v", x, !want)
		}
	}
}

// Commas are thousands only where exactly three digits follow, and no zero leads.
func TestCommasThatAreThousands(t *testing.T) {
	for cell, want := range map[string]float64{"1,068": 1068, "1,068,250": 1068250, "-1,068": -1068, "12,345.5": 12345.5, "1\u2019068": 1068} {
		if v, ok := parseCell([]byte(cell), false); !ok || v != want {
			t.Errorf("%s: %g %v, want %g", cell, v, ok, want)
		}
	}
	for _, cell := range []string{"0,851", "-0,851", "1,07", "1,0685"} {
		if v, ok := parseCell([]byte(cell), false); ok {
			t.Errorf("%s is taken for %g", cell, v)
		}
	}
}

// In a long drive a ratio that no gear has is held by chance a few times, as an engine revs while the car creeps: the gears are those held more often.
func TestGearsOfALongDrive(t *testing.T) {
	held := func(yield func(n, v float64) bool) {
		stretch := func(ratio float64) {
			for v := 20.0; v < 30; v++ {
				yield(ratio*v, v)
			}
		}
		for range 20 {
			for _, k := range []float64{120, 66, 46, 35} {
				stretch(k)
			}
		}
		for _, chance := range []float64{500, 300, 900, 5} {
			stretch(chance)
		}
	}
	if g := heldGears(held); g.ofNoCar() || math.Abs(g.high-120) > 1 || math.Abs(g.low-35) > 1 {
		t.Errorf("%+v", g)
	}
}

// A heading that says another unit than its column holds is believed, and not silently: the other column is not bent to fit.
func TestHeadingsThatSayAnotherUnit(t *testing.T) {
	l, err := readForm("metres_called_km.csv", Options{})
	if err != nil || len(l.Warnings) != 1 || l.Warnings[0].Code != finding.GearsOfNoCar {
		t.Fatal(err, l)
	}
	if n := most(l.Channel(drive.EngineSpeed)); math.Abs(n-3850) > 5 {
		t.Errorf("up to %g rpm", n)
	}
}

// Wheels that spin at each of eight starts, by 60 km/h in half a second, make no minutes of a clock of seconds without a unit: the car gains and loses its speed as cars do.
func TestWheelsThatSpinTellNoClock(t *testing.T) {
	var text strings.Builder
	text.WriteString("time,rpm,speed [km/h]\n")
	now, v := 0.0, 0.0
	drive60 := func(over float64) { // up or down by 60 km/h in so many seconds
		for range int(10 * math.Abs(over)) {
			now, v = now+0.1, v+6/over
			fmt.Fprintf(&text, "%.1f,%.0f,%.1f\n", now, 900+30*v, math.Abs(v))
		}
	}
	for range 8 {
		drive60(0.5)
		drive60(-20)
		drive60(15)
		drive60(-20)
	}
	l, err := read(strings.NewReader(text.String()), "log.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range l.Warnings {
		if w.Code == finding.ClockInMinutes {
			t.Error(w)
		}
	}
	if last := l.Channel(drive.EngineSpeed).T; last[len(last)-1] > now+1 {
		t.Errorf("%.0f s of driving are read as %.0f", now, last[len(last)-1])
	}
}
