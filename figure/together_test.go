package figure

import "testing"

// A number keeps its unit beside it in both systems; what only begins like a unit is left alone.
func TestTogether(t *testing.T) {
	for in, want := range map[string]string{
		"up to 282 N m in 3 pulls":              "up to 282_N_m in 3 pulls",
		"208 lbf ft, 1.31 lb ft² and 0.2 kg m²": "208_lbf_ft, 1.31_lb_ft² and 0.2_kg_m²",
		"0.2 kg m^2":                    "0.2_kg_m^2",
		"slowed by 1.2–2.8 m/s²: brake": "slowed by 1.2–2.8_m/s²: brake",
		"6.2 ft/s² at 40 mph (64 km/h)": "6.2_ft/s² at 40_mph (64_km/h)",
		"3.9 % lasting 1.5 s would":     "3.9_% lasting 1.5_s would",
		"311 miles, 90 °C, 150 rpm/s":   "311_miles, 90_°C, 150_rpm/s",
		"3 sessions of 10 kilograms":    "3 sessions of 10 kilograms",
		"no number kg":                  "no number kg",
		"":                              "",
	} {
		if got := Together(in, "_"); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}
