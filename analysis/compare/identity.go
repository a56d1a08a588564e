package compare

import (
	"slices"
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
	vins := distinct(c.sides(), keyVIN)
	if len(vins) > 1 {
		c.otherCar = true
		c.warn("different_vehicle", "error: the logs come from different cars (VIN "+strings.Join(vins, ", ")+"): compare logs of one car")
		return
	}
	if cals := distinct(c.sides(), keyCalibration); len(cals) > 1 {
		c.blocked = "the control unit's calibration changed between the logs (" + strings.Join(cals, ", ") + "), which moves the closed-throttle drag"
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

// distinct returns the different values of a header key in the logs of both sides, in order of appearance.
func distinct(sides [2]*Side, key string) []string {
	var out []string
	for _, s := range sides {
		for _, l := range s.Logs {
			if v := strings.ToUpper(strings.TrimSpace(l.HeaderValue(key))); v != "" && !slices.Contains(out, v) {
				out = append(out, v)
			}
		}
	}
	return out
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
