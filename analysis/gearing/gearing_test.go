package gearing

import (
	"math"
	"strings"
	"testing"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/stats"
	"flywitness/vehicle"
)

// A car with 1.93 m of rolling circumference: rpm per km/h = total ratio / (0.06 * 1.93).
func filed(final float64) *vehicle.Vehicle {
	return &vehicle.Vehicle{Mass: 1285, RollingCircumference: 1.93,
		Gearbox: vehicle.Gearbox{Ratios: []float64{3.42, 1.95, 1.36, 1.03, 0.83}, FinalDrive: final}}
}

// learnt is the ladder of a car with a final drive of 4.06, its display off by scale, of some gears.
func learnt(scale float64, gears ...int) *calibrate.Calibration {
	c := &calibrate.Calibration{}
	v := filed(4.06)
	for _, g := range gears {
		c.Gears = append(c.Gears, calibrate.Gear{Gear: g, RPMPerKmh: stats.Normal(v.RPMPerKmh(g)/scale, 0.05), Seconds: 60})
	}
	return c
}

// k of a gear in engine rad/s per m/s.
func k(v *vehicle.Vehicle, gear int) float64 { return v.TotalRatio(gear) / v.Radius() }

func TestTheFileStandsWhereTheLogBearsItOut(t *testing.T) {
	for _, scale := range []float64{0.97, 1, 1.04} { // a display may be that far off
		v := filed(4.06)
		got, told := Settle(v, learnt(scale, 1, 2, 3, 4, 5))
		if got != v || told.Source != FromFile || told.Wrong || len(told.Sentence) > 0 {
			t.Errorf("scale %g: %+v", scale, told)
		}
	}
}

// A final drive of 3.5 for 4.06 is 14 % off: the log's gearing stands in, gears that were not driven in come
// from the file on the log's scale.
func TestTheLogStandsWhereItContradictsTheFile(t *testing.T) {
	v := filed(3.5)
	got, told := Settle(v, learnt(1.01, 2, 3, 4))
	if told.Source != FromLog || !told.Wrong || math.Abs(*told.OffPct+12.9) > 0.3 ||
		!strings.Contains(told.Sentence.String(), "contradicts the log") || math.Abs(got.Gearbox.GearingSD-displaySD) > 0.0001 {
		t.Fatalf("%+v", told)
	}
	for gear := 1; gear <= 5; gear++ {
		if want := k(filed(4.06), gear) / 1.01; math.Abs(k(got, gear)/want-1) > 1e-9 {
			t.Errorf("gear %d: k = %.3f, want %.3f", gear, k(got, gear), want)
		}
	}
	if v.Gearbox.FinalDrive != 3.5 || v.Gearbox.Ratios[0] != 3.42 {
		t.Error("the vehicle given was changed")
	}
}

// The mass alone is enough: ratio, final drive and tyre come from the log. A gear nobody drove in stays unknown.
func TestMassAloneTakesTheLogsGearing(t *testing.T) {
	got, told := Settle(&vehicle.Vehicle{Mass: 1285}, learnt(1, 2, 3, 5))
	if told.Source != FromLog || told.Wrong || got.Mass != 1285 || told.SDPct != 2 {
		t.Fatalf("%+v", told)
	}
	for _, gear := range []int{2, 3, 5} {
		if math.Abs(k(got, gear)/k(filed(4.06), gear)-1) > 1e-9 {
			t.Errorf("gear %d: %.3f", gear, k(got, gear))
		}
	}
	if got.TotalRatio(1) != 0 || got.TotalRatio(4) != 0 {
		t.Error("gears are known that were not driven in")
	}
	if v, told := Settle(nil, learnt(1, 2)); told == nil || v.Mass != 0 || math.Abs(k(v, 2)/k(filed(4.06), 2)-1) > 1e-9 {
		t.Error("without a file the gearing is lost")
	}
	if v, told := Settle(nil, &calibrate.Calibration{}); v != nil || told != nil {
		t.Error("something is made of nothing")
	}
}

func TestASatelliteReceiverCatchesSmallerMistakes(t *testing.T) {
	cal := learnt(1, 1, 2, 3, 4, 5)
	v := filed(4.06 * 1.04)
	if _, told := Settle(v, cal); told.Wrong {
		t.Error("4 % is within what a display is off by")
	}
	cal.SpeedSource = "gps"
	if _, told := Settle(v, cal); !told.Wrong {
		t.Error("4 % beside a satellite receiver is a mistake of the file")
	}
}

func TestOneWrongRatioIsMended(t *testing.T) {
	v := filed(4.06)
	v.Gearbox.Ratios[2] = 1.63 // typed the wrong way round
	got, told := Settle(v, learnt(1.02, 1, 2, 3, 4, 5))
	if !told.Wrong || told.Source != FromFile || math.Abs(got.Gearbox.Ratios[2]-1.36) > 0.01 ||
		!strings.Contains(told.Sentence.String(), "gear 3 has a ratio of 1.63, and the log shows 1.36") {
		t.Errorf("%v %+v", got.Gearbox.Ratios, told)
	}
	if math.Abs(got.Gearbox.Ratios[1]-1.95) > 1e-9 {
		t.Error("the others are not left alone")
	}
}

// A dial that reads 7 % too high contradicts a file as a wrong tyre does: either may be right, so torques are known no
// better than that. No dial reads too low, and no satellite receiver is a dial.
func TestADialMayBeWhatContradictsTheFile(t *testing.T) {
	for _, c := range []struct {
		scale  float64
		source string
		dial   bool
	}{{1.07, "driven", true}, {0.93, "driven", false}, {1.07, "gps", false}, {1.2, "driven", false}} {
		cal := learnt(c.scale, 1, 2, 3, 4, 5)
		cal.SpeedSource = c.source
		got, told := Settle(filed(4.06), cal)
		if !told.Wrong || strings.Contains(told.Sentence.String(), "dial") != c.dial || (got.Gearbox.GearingSD > 0.05) != c.dial {
			t.Errorf("%+v: %+v, known to %.3f", c, told, got.Gearbox.GearingSD)
		}
		// either end of ln(1.07) is three quarters of it off where the truth lies in between, beside what a display errs by
		if want := math.Hypot(displaySD, 0.75*math.Log(1.07)); c.dial && math.Abs(got.Gearbox.GearingSD-want) > 0.001 {
			t.Errorf("known to %.4f, by hand %.4f", got.Gearbox.GearingSD, want)
		}
	}
}

// What lasted two seconds may be a launch: it contradicts no file. Ten seconds do.
func TestAMomentContradictsNoFile(t *testing.T) {
	for seconds, wrong := range map[float64]bool{2: false, 10: true} {
		c := learnt(1, 1, 2, 3, 4)
		c.Gears[0].RPMPerKmh, c.Gears[0].Seconds = stats.Normal(190, 1), seconds
		if got, told := Settle(filed(4.06), c); told.Wrong != wrong || (got.Gearbox.Ratios[0] != 3.42) != wrong {
			t.Errorf("%.0f s: %+v, %v", seconds, told, got.Gearbox.Ratios)
		}
	}
}

// A log that shows its gears to some per cent contradicts no file by more than it lies off, nor one of its ratios.
func TestGearsThatAreHardlyKnownContradictNoFile(t *testing.T) {
	for sd, wrong := range map[float64]bool{0.001: true, 0.04: false} {
		scale, third := learnt(0.92, 1, 2, 3, 4, 5), learnt(1, 1, 2, 3, 4, 5)
		third.Gears[2].RPMPerKmh.Value *= 1.05
		for i := range scale.Gears {
			for _, c := range []*calibrate.Calibration{scale, third} {
				e := c.Gears[i].RPMPerKmh
				c.Gears[i].RPMPerKmh = stats.Normal(e.Value, sd*e.Value)
			}
		}
		for name, c := range map[string]*calibrate.Calibration{"scale": scale, "third gear": third} {
			if got, told := Settle(filed(4.06), c); told.Wrong != wrong || wrong == (got.Gearbox.Ratios[2] == 1.36) {
				t.Errorf("%s known to %.3f: %+v", name, sd, told)
			}
		}
	}
}

// Ratios on paper are rounded to two figures, at most half a per cent in fifth; 5 % is another gear wheel.
func TestARoundedRatioIsNoMistake(t *testing.T) {
	for factor, wrong := range map[float64]bool{1.008: false, 0.992: false, 1.05: true, 0.95: true} {
		v := filed(4.06)
		v.Gearbox.Ratios[1] *= factor
		got, told := Settle(v, learnt(1, 1, 2, 3, 4, 5))
		if told.Wrong != wrong {
			t.Errorf("second gear's ratio times %g: %+v", factor, told)
		}
		if math.Abs(k(got, 2)/k(filed(4.06), 2)-1) > 0.01 {
			t.Errorf("second gear's ratio times %g leaves %.2f", factor, got.Gearbox.Ratios[1])
		}
	}
}
