package finding

// What speaks against the free revs in what held the engine.
const (
	PressureInFalls Code = "fall_pressure_differs"
	ChargesOneSide  Code = "voltage_in_falls_differs"
	FuelCutDiffers  Code = "fuel_cut_differs_in_falls"
)

var ofDrag = language{
	PressureInFalls: {says: "{{.what}}", next: "{{.next}}",
		example: []Value{Name("what", "the pressure differs"), Name("next", "repeat it")}},
	ChargesOneSide: {says: "{{.what}}", next: "{{.next}}", example: []Value{Name("what", "the voltage differs"),
		Name("next", "repeat it")}},
	FuelCutDiffers: {says: "{{.what}}", next: "{{.next}}",
		example: []Value{Name("what", "fuel was cut on one side"), Name("next", "repeat it")}},
}
