package detect

import (
	"math"
	"testing"
)

// Two readings of one torque count by their certainty, and what they have in common does not average out.
func TestReadingsOfOneTorque(t *testing.T) {
	a, b := &reading{value: 200, own: 10, common: 8}, &reading{value: 220, own: 5, common: 8}
	c := a.and(b)
	if math.Abs(c.value-216) > 1e-9 || math.Abs(c.own-math.Sqrt(20)) > 1e-9 || math.Abs(c.common-8) > 1e-9 {
		t.Errorf("%+v, by hand 216, 4.472, 8", *c)
	}
	var none *reading
	if none.and(b) != b || a.and(none) != a || none.and(none) != nil || none.estimate() != nil || none.atEnd() != nil || none.times(2, 0) != nil {
		t.Error("a missing reading counts for something")
	}
	if e := (&reading{value: 100, rise: 20, own: 3, common: 1}).atEnd(); e.value != 120 || math.Abs(e.own-math.Hypot(12, 10)) > 1e-9 {
		t.Errorf("at the end %+v", *e)
	}
}
