package slip

import (
	"math"
	"testing"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/stats"
	"flywitness/vehicle"
)

// By how much a speed is displayed too high is told by the learnt gearing beside the file's, the median of the gears.
func TestDisplayedSpeed(t *testing.T) {
	veh := &vehicle.Vehicle{RollingCircumference: 1.9,
		Gearbox: vehicle.Gearbox{Ratios: []float64{3.5, 2, 1.4, 1}, FinalDrive: 4}}
	cal := &calibrate.Calibration{}
	for g := 2; g <= 4; g++ {
		cal.Gears = append(cal.Gears, calibrate.Gear{Gear: g, RPMPerKmh: stats.Normal(veh.RPMPerKmh(g)/1.03, 0.05)})
	}
	if got := display(veh, cal); math.Abs(got-1.03) > 1e-9 {
		t.Errorf("displayed %.4f of the true speed, want 1.03", got)
	}
	if display(veh, &calibrate.Calibration{}) != 1 || display(nil, cal) != 1 {
		t.Error("corrected without a learnt gear or a file")
	}
}
