package compare

import (
	"strconv"
	"strings"
)

// Header keys of a session file by which two sides are known to be one car in one state (service 09 of the diagnostic
// standard, and service 01 parameter 31 for the distance since codes were cleared).
const (
	keyVIN         = "vin"
	keyCalibration = "calibration_id"
	keyDistance    = "distance_since_cleared_km"
)

// settledKm is how far a control unit must have driven since a reset before its idle and throttle values are learnt
// again; common practice, no source.
const settledKm = 50

// identity checks that both sides are the same car with the same tune. Another car ends the comparison; another
// calibration, or one that is still learning, takes the free revs their vote.
func (c *comparison) identity() {
	vin := [2]string{c.before.header(keyVIN), c.after.header(keyVIN)}
	if vin[0] != "" && vin[1] != "" && vin[0] != vin[1] {
		c.otherCar = true
		c.warn("different_vehicle", "error: the logs come from two cars (VIN "+vin[0]+" before, "+vin[1]+" after): compare logs of one car")
		return
	}
	cal := [2]string{c.before.header(keyCalibration), c.after.header(keyCalibration)}
	if cal[0] != "" && cal[1] != "" && cal[0] != cal[1] {
		c.blocked = "the control unit's calibration was changed between the sides (" + cal[0] + " before, " + cal[1] + " after), which moves the closed-throttle drag"
	}
	for k, s := range c.sides() {
		if km, ok := s.distance(); ok && km < settledKm {
			c.blocked = "the " + sideName[k] + " side was driven only " + strconv.FormatFloat(km, 'f', 0, 64) +
				" km after a reset of the control unit, which is still learning: drive 50 km and repeat the free revs"
		}
	}
	if c.blocked != "" {
		c.warn("calibration_differs", c.blocked)
	}
}

var sideName = [2]string{"before", "after"}

// header returns the first value of a key in the side's logs.
func (s *Side) header(key string) string {
	for _, l := range s.Logs {
		if v := strings.TrimSpace(l.HeaderValue(key)); v != "" {
			return v
		}
	}
	return ""
}

// distance returns the shortest distance since a reset that a log of the side records, km.
func (s *Side) distance() (km float64, ok bool) {
	for _, l := range s.Logs {
		v, err := strconv.ParseFloat(strings.TrimSpace(l.HeaderValue(keyDistance)), 64)
		if err == nil && v >= 0 && (!ok || v < km) {
			km, ok = v, true
		}
	}
	return km, ok
}
