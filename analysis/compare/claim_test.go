package compare

import (
	"math"
	"strings"
	"testing"

	"flywitness/analysis/promise"
	"flywitness/analysis/stats"
)

// promised judges a promise on a small car whose change, inertia and torque are known.
func promised(t *testing.T, p promise.Promise) *Claim {
	t.Helper()
	c := &comparison{finding: &Finding{Change: stats.Normal(-0.05, 0.0015), InertiaAfter: stats.Normal(0.17, 0.005),
		Ratio: stats.Normal(1.294, 0.02)},
		after: Side{Vehicle: smallCar()}, opt: Options{Claim: &p}}
	car := c.car()
	car.usual.Inertia = [2]float64{0.22, 0.17}
	car.curve = level(t, &car.usual, 180)
	c.worth = c.worthOf(car)
	c.judgeClaim()
	return c.finding.Claim
}

// Every promise is set against the quantity that it names, worked by hand for a car of 1236 kg with its wheels,
// first gear 13.6, rolling radius 0.3024 m, efficiency 0.95: k = 44.975 rad/s per m/s, so 0.05 kg m^2 are
// 101.14 kg; 0.95 * 101.14 / (1236 + 0.95 * 2022.8 * 0.17) = 6.15 %.
func TestEveryPromiseIsSetAgainstItsOwnQuantity(t *testing.T) {
	for _, c := range []struct {
		promise promise.Promise
		want    float64
	}{
		{promise.Promise{Kind: promise.Mass, Amount: 95, Gear: 1}, 101.14},
		{promise.Promise{Kind: promise.Acceleration, Amount: 6, Gear: 1}, 6.15},
		{promise.Promise{Kind: promise.Inertia, Amount: -0.05}, -0.05},
		{promise.Promise{Kind: promise.InertiaPct, Amount: 20}, 100 * (1 - 1/1.294)},
		// m a v = -dI w alpha: 0.05 * 523.6 rad/s * 44.975 * a, and a by hand is (0.95 * 44.975 * 180 - road load) / 1562.7.
		{promise.Promise{Kind: promise.Power, Amount: 5, Gear: 1, AtRPM: 5000},
			0.05 * 523.599 * 44.975 * (0.95*44.975*180 - 0.012*1200*9.81 - 0.39*135.5) / 1562.7 / 1000},
	} {
		got := promised(t, c.promise)
		if got == nil || got.Measured == nil || math.Abs(got.Measured.Value/c.want-1) > 0.01 {
			t.Errorf("%s: %+v, by hand %.4g", c.promise.Kind, got.Measured, c.want)
		}
		if got.Stated[string(c.promise.Kind)] != c.promise.Amount || got.Outcome == "" ||
			!strings.HasPrefix(got.Reason.String(), "Promised ") || !strings.Contains(got.Reason.String(), "surely between") {
			t.Errorf("%s: %+v", c.promise.Kind, got)
		}
	}
	if s := promised(t, promise.Promise{Kind: promise.Seconds, Amount: 0.1, Gear: 1}); s.Measured == nil ||
		s.Measured.Value < 0.05 || !strings.Contains(s.Reason.String(), "No span was named") || s.Stated["to_kmh"] != 0 {
		t.Errorf("%+v", s)
	}
}

// What the drive does not reach is open, with the reason.
func TestAPromiseBeyondTheDriveIsOpen(t *testing.T) {
	for what, p := range map[string]promise.Promise{
		"reach from 1500 to 6300 rpm only": {Kind: promise.Power, Amount: 5, Gear: 1, AtRPM: 7000},
		"that needs others":                {Kind: promise.Seconds, Amount: 0.1, Gear: 2, FromKmh: 5, ToKmh: 80},
		"The gearing of gear 6":            {Kind: promise.Mass, Amount: 5, Gear: 6},
		"cannot weigh a part":              {Kind: promise.PartMass, Amount: 5},
	} {
		if c := promised(t, p); c.Outcome != promise.Undecided || c.Measured != nil ||
			!strings.Contains(c.Reason.String(), what) {
			t.Errorf("%s: %+v", what, c)
		}
	}
}
