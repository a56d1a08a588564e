package analysis

import (
	"encoding/json"
	"strconv"
	"strings"

	"flywitness/finding"
	"flywitness/vehicle"
)

// Fact is a value of the vehicle file: its name, and the value as people read it. JSON has them in a pair.
type Fact struct {
	Name  string
	Value finding.Text
}

// MarshalJSON writes the pair.
func (f Fact) MarshalJSON() ([]byte, error) { return json.Marshal([2]string{f.Name, f.Value.String()}) }

// UnmarshalJSON reads the pair.
func (f *Fact) UnmarshalJSON(data []byte) error {
	var pair [2]string
	if err := json.Unmarshal(data, &pair); err != nil {
		return err
	}
	*f = Fact{pair[0], finding.Say(finding.Told("", pair[1]))}
	return nil
}

// describeVehicle lists the values of a vehicle file that the findings rest on, as people read them; nil
// without a file.
func describeVehicle(v *vehicle.Vehicle) *VehicleInfo {
	if v == nil {
		return nil
	}
	info := &VehicleInfo{Name: v.Name, Path: v.Path, SHA256: v.SHA256}
	add := func(name string, code finding.Code, values ...finding.Value) {
		info.Facts = append(info.Facts, Fact{name, finding.Say(finding.New(code, values...))})
	}
	if v.Mass > 0 {
		add("mass", finding.FactMass, finding.Mass("mass", v.Mass), finding.Mass("sd", v.MassSD),
			finding.Flag("weighed", v.Weighed))
	}
	if v.Tyre != "" {
		add("tyre", finding.FactName, finding.Name("name", v.Tyre))
	}
	if v.RollingCircumference > 0 {
		add("rolling circumference", finding.FactLength, finding.Quantity("length", finding.Metres, v.RollingCircumference))
	}
	add("road speed taken from", finding.FactSpeed, finding.Name("source", string(v.SpeedSource)),
		finding.Flag("wheels", v.SpeedSource != vehicle.SourceGPS && v.SpeedSource != vehicle.SourceUnknown))
	g := v.Gearbox
	add("gearbox", finding.FactName, finding.Name("name", string(g.Type)))
	if len(g.Ratios) > 0 {
		ratios := make([]string, len(g.Ratios))
		for i, r := range g.Ratios {
			ratios[i] = plain(r)
		}
		add("ratios", finding.FactRatios, finding.Name("ratios", strings.Join(ratios, ", ")),
			finding.Name("final", plain(g.FinalDrive)))
		add("gearbox efficiency", finding.FactName, finding.Name("name", plain(g.Efficiency)))
	}
	if r := v.RoadLoad; r != nil {
		add("road load", finding.FactRoadLoad, finding.Quantity("f0", finding.Newtons, r.F0),
			finding.Quantity("f1", finding.NewtonsPerSpeed, r.F1),
			finding.Quantity("f2", finding.NewtonsPerSpeed2, r.F2))
	}
	if c := v.Clutch; c != nil && c.TorqueRating > 0 {
		add("clutch rating", finding.FactTorque, finding.Torque("torque", c.TorqueRating))
		rating := c.TorqueRating
		info.TorqueRating = &rating
	}
	return info
}

// plain writes a number as it stands in a file.
func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
