package analysis

import (
	"fmt"
	"strings"

	"flywitness/vehicle"
)

// describeVehicle lists the values of a vehicle file that the findings rest on, as people read them; nil
// without a file.
func describeVehicle(v *vehicle.Vehicle) *VehicleInfo {
	if v == nil {
		return nil
	}
	info := &VehicleInfo{Name: v.Name, Path: v.Path, SHA256: v.SHA256}
	add := func(name, format string, args ...any) {
		info.Facts = append(info.Facts, [2]string{name, fmt.Sprintf(format, args...)})
	}
	if v.Mass > 0 {
		how := ""
		if v.Weighed {
			how = ", weighed"
		}
		add("mass", "%.0f kg ± %.0f kg%s", v.Mass, v.MassSD, how)
	}
	if v.Tyre != "" {
		add("tyre", "%s", v.Tyre)
	}
	if v.RollingCircumference > 0 {
		add("rolling circumference", "%.3f m", v.RollingCircumference)
	}
	add("road speed taken from", "%s wheels", v.SpeedSource)
	if v.SpeedSource == vehicle.SourceGPS || v.SpeedSource == vehicle.SourceUnknown {
		info.Facts[len(info.Facts)-1][1] = string(v.SpeedSource)
	}
	g := v.Gearbox
	add("gearbox", "%s", g.Type)
	if len(g.Ratios) > 0 {
		ratios := make([]string, len(g.Ratios))
		for i, r := range g.Ratios {
			ratios[i] = fmt.Sprintf("%g", r)
		}
		add("ratios", "%s, final drive %g", strings.Join(ratios, ", "), g.FinalDrive)
		add("gearbox efficiency", "%g", g.Efficiency)
	}
	if r := v.RoadLoad; r != nil {
		add("road load", "%g N + %g N/(m/s) v + %g N/(m/s)^2 v^2", r.F0, r.F1, r.F2)
	}
	if c := v.Clutch; c != nil && c.TorqueRating > 0 {
		add("clutch rating", "%.0f N m", c.TorqueRating)
		rating := c.TorqueRating
		info.TorqueRating = &rating
	}
	return info
}
