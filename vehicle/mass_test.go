package vehicle

import (
	"math"
	"testing"
)

// Without the wheels' inertia they count as 3 % of the car's mass (UN GTR 15, annex 4, from memory); with it as 4 J / r^2, which for 1 kg m^2
// a wheel on 0.30 m is 44.4 kg (hand calculation).
func TestInertialMassIncludesTheWheels(t *testing.T) {
	v := Vehicle{Mass: 1200}
	if m := v.InertialMass(); math.Abs(m-1236) > 1e-9 {
		t.Errorf("mass with usual wheels %.3f kg, want 1236", m)
	}
	v.RollingCircumference, v.WheelInertia = 2*math.Pi*0.30, 1
	if m := v.InertialMass(); math.Abs(m-1244.444) > 1e-3 {
		t.Errorf("mass with wheels of 1 kg m^2 %.3f kg, want 1244.444", m)
	}
}
