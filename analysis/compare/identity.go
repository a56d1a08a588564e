package compare

import (
	"slices"
	"strconv"
	"strings"

	"flywitness/finding"
)

// Header keys of a session file by which two sides are known to be one car in one state (service 09 of the diagnostic
// standard, and service 01 parameter 31 for the distance since codes were cleared).
const (
	keyVIN          = "vin"
	keyCalibration  = "calibration_id"
	keyVerification = "calibration_verification"
	keyDistance     = "distance_since_cleared_km"
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
		c.warn(finding.DifferentVehicle, finding.Name("vins", strings.Join(vins, ", ")), finding.Flag("error", true))
		return
	}
	for _, key := range []string{keyVerification, keyCalibration} {
		if cals := distinct(c.sides(), key); len(cals) > 1 {
			c.block(finding.CalibrationDiffers, finding.Name("calibrations", strings.Join(cals, ", ")))
		}
	}
	for k, s := range c.sides() {
		if km, ok := s.distance(); ok && km < settledKm {
			c.block(finding.StillLearning, finding.Flag("before", k == 0), finding.Distance("driven", km),
				finding.Distance("needed", settledKm))
		}
	}
}

// block takes the free revs their vote, and says so.
func (c *comparison) block(code finding.Code, values ...finding.Value) {
	f := finding.New(code, values...)
	c.blocked = &f
	c.warnings = append(c.warnings, f)
}

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
