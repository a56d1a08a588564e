package figure

import (
	"math"
	"testing"
)

func TestEstimateRoundsToItsUncertainty(t *testing.T) {
	for _, c := range []struct {
		value, sd float64
		want      string
	}{
		{0.16607, 0.0061, "0.166 ± 0.006 kg m^2 (95 %: 0.154 to 0.178)"},
		{0.16607, 0.0123, "0.166 ± 0.012 kg m^2 (95 %: 0.142 to 0.190)"},
		{-0.00004, 0.01, "0.000 ± 0.010 kg m^2 (95 %: -0.020 to 0.020)"},
		{114.4, 9.2, "114 ± 9 kg m^2 (95 %: 96 to 132)"},
		{12345, 1200, "12300 ± 1200 kg m^2 (95 %: 10000 to 14700)"},
		{1, 0.00967, "1.000 ± 0.010 kg m^2 (95 %: 0.981 to 1.019)"},
		{12.3456, 0, "12.3 kg m^2"},
	} {
		if got := Metric.Estimate(&Estimate{c.value, c.sd, [2]float64{c.value - 1.96*c.sd, c.value + 1.96*c.sd}}, "kg m^2"); got != c.want {
			t.Errorf("%g ± %g: got %q, want %q", c.value, c.sd, got, c.want)
		}
	}
	if got := Metric.Estimate(nil, "kg"); got != "cannot be had" {
		t.Errorf("nil: %q", got)
	}
}

func TestDecimals(t *testing.T) {
	for _, c := range []struct {
		sd   float64
		want int
	}{{0.827, 1}, {0.119, 2}, {0.354, 2}, {0.355, 1}, {0.967, 1}, {35.4, 0}, {120, -1}, {0, 3}, {math.NaN(), 3}, {math.Inf(1), 3}} {
		if got := decimals(c.sd); got != c.want {
			t.Errorf("Decimals(%g) = %d, want %d", c.sd, got, c.want)
		}
	}
}

func TestSignificant(t *testing.T) {
	for _, c := range []struct {
		x    float64
		n    int
		want string
	}{{0.12345, 3, "0.123"}, {99.97, 3, "100"}, {1234567, 3, "1230000"}, {0, 3, "0"}, {-0.00099995, 3, "-0.00100"}} {
		if got := Significant(c.x, c.n); got != c.want {
			t.Errorf("Significant(%g, %d) = %q, want %q", c.x, c.n, got, c.want)
		}
	}
}

func TestUnitSystem(t *testing.T) {
	e := &Estimate{Value: 100, SD: 10, CI95: [2]float64{80, 120}}
	if got := US.Estimate(e, "kg"); got != "220 ± 22 lb (95 %: 176 to 265)" {
		t.Errorf("mass: %q", got)
	}
	if got := Metric.Estimate(e, "kg"); got != "100 ± 10 kg (95 %: 80 to 120)" {
		t.Errorf("metric mass: %q", got)
	}
	if got := US.Uncertain(e, "kg"); got != "220 ± 22 lb" {
		t.Errorf("without its interval: %q", got)
	}
	if got := Metric.Uncertain(&Estimate{Value: 12.3456}, "kg"); got != "12.3 kg" {
		t.Errorf("without a deviation: %q", got)
	}
	if got := Metric.Uncertain(nil, "kg"); got != "cannot be had" {
		t.Errorf("nil: %q", got)
	}
	if got := US.Number(100, 1, "C"); got != "212.0 F" {
		t.Errorf("temperature: %q", got)
	}
	if x, unit := US.In(30, "rpm per km/h"); math.Abs(x-48.28032) > 1e-9 || unit != "rpm per mph" {
		t.Errorf("gearing: %g %s", x, unit)
	}
	if x, unit := US.In(4000, "rpm"); x != 4000 || unit != "rpm" {
		t.Errorf("rpm: %g %s", x, unit)
	}
	for metric, us := range usUnits {
		if x, unit := US.In(1, metric); unit != us || x == 1 {
			t.Errorf("%s: %g %s", metric, x, unit)
		}
	}
}
