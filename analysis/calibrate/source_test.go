package calibrate

import (
	"testing"

	"flywitness/analysis/gearstate"
	"flywitness/drive"
	"flywitness/vehicle"
)

// What the creep in a log tells of its speed. Slip stiffness of tyres is 20 +- 8 per unit of slip, and six tenths
// of the weight lie on the driven axle (from memory): creep of an undriven source is 0.06 to 0.14 per unit of force
// over weight for a steep tyre, more for a soft one. The slope of the road, which only load tells from
// acceleration, takes up to half of it.
func TestSourceByCreep(t *testing.T) {
	blind, loaded := "", drive.EngineLoad
	for _, c := range []struct {
		name, load, told string
		creep, sd        float64
		want             string
	}{
		{"none, with load", loaded, "", 0, 0.005, "driven"},
		{"none, without load", blind, "", 0, 0.005, "driven"},
		{"a steep tyre's", loaded, "", 0.06, 0.005, "undriven"},
		{"half a steep tyre's", loaded, "", 0.035, 0.006, "undriven"},
		{"little, and told badly", loaded, "", 0.02, 0.02, "unknown"},
		{"what load would have shown whole", blind, "", 0.015, 0.008, "unknown"},
		{"little, but what is undriven shows more", loaded, "", 0.01, 0.005, "driven"},
		{"less than none, told badly", loaded, "", -0.025, 0.018, "unknown"},
		{"the stiffest tyre's", loaded, "", 0.025, 0.006, "unknown"},
		{"the file says driven and the log does not tell", loaded, "driven", 0.02, 0.02, "driven"},
		{"the file says driven and the log another thing", loaded, "driven", 0.06, 0.005, "undriven"},
		{"the file says undriven", loaded, "undriven", 0, 0.005, "undriven"},
		{"the file says GPS", loaded, "gps", 0, 0.005, "gps"},
	} {
		l := &learner{pool: &pool{channel: drive.VehicleSpeed}, cal: &Calibration{},
			veh: &vehicle.Vehicle{SpeedSource: vehicle.SpeedSource(c.told)}}
		l.cal.model.Load = gearstate.LoadScale{Channel: c.load}
		if got, _ := l.source(l.drivenNats(c.creep, c.sd)); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

// What a log tells short of certainty still counts: a creep of none within 0.014, where tyres have 0.04 to 0.08, is some
// ten to one for the driven wheels.
func TestHalfAnAnswerCounts(t *testing.T) {
	l := &learner{pool: &pool{channel: drive.VehicleSpeed}, cal: &Calibration{}}
	l.cal.model.Load.Channel = drive.EngineLoad
	got, nats := l.source(l.drivenNats(0.003, 0.014))
	if got != "unknown" || nats < 1 || nats > 3 {
		t.Errorf("%s by %.1f nats", got, nats)
	}
}

// However far a creep lies from any tyre's, there are tyres and logs that nobody thought of: one in some hundreds.
func TestNoLogTellsItsSourceForSure(t *testing.T) {
	l := &learner{pool: &pool{channel: drive.VehicleSpeed}, cal: &Calibration{}}
	if _, nats := l.source(l.drivenNats(0, 1e-4)); nats < 4 || nats > 8 { // ln 50 .. ln 3000
		t.Errorf("%.1f nats", nats)
	}
	if _, nats := l.source(l.drivenNats(0, 0.0149)); nats > 3 { // two standard deviations
		t.Errorf("%.1f nats of two standard deviations", nats)
	}
}
