package vehicle

import "flywitness/vehicle/tomlfile"

// suffixes tells by which endings of a key a quantity may be given, and which unit each one means; the first is what
// this project writes.
var suffixes = map[string][][2]string{
	"mass":     {{"kg", "kg"}, {"lb", "lb"}},
	"length":   {{"m", "m"}, {"mm", "mm"}, {"cm", "cm"}, {"in", "in"}, {"ft", "ft"}},
	"distance": {{"km", "km"}, {"mi", "mile"}},
	"force":    {{"n", "N"}, {"lbf", "lbf"}},
	"torque":   {{"nm", "N m"}, {"lbft", "lbf ft"}},
	"power":    {{"kw", "kW"}, {"hp", "hp"}, {"ps", "PS"}},
	"inertia":  {{"kgm2", "kg m^2"}, {"kgcm2", "kg cm^2"}, {"lbft2", "lb ft^2"}, {"lbin2", "lb in^2"}},
}

// QuantityKeys returns the keys by which a file may give a quantity of this kind (mass, length, distance, force, torque,
// power, inertia): QuantityKeys("mass", "mass") is mass_kg and mass_lb. The factors lead to the SI unit.
func QuantityKeys(stem, kind string) []tomlfile.Key {
	var keys []tomlfile.Key
	for _, s := range suffixes[kind] {
		u, _ := ParseUnit(s[1])
		keys = append(keys, tomlfile.Key{Name: stem + "_" + s[0], Factor: u.Factor})
	}
	return keys
}
