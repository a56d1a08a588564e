package finding

// What is said of the car, its gearing and its signals.
const (
	GearingFromLog      Code = "gearing_from_log"
	GearingContradicted Code = "gearing_contradicted"
)

var ofCars = language{
	GearingFromLog: {says: "No vehicle file gives the gearing, so engine speed for road speed is as the log shows it; that carries the error of the displayed " +
		"speed, ± {{.error.Digits 2}}.", example: []Value{Pct("error", 1.5)}},
	GearingContradicted: {says: "The vehicle file contradicts the log: {{if .gear}}gear {{.gear}} has a ratio of {{.filed.Fixed 2}}, and the log shows " +
		"{{.shown.Fixed 2}} beside the other gears. The log's is used; check it.{{else}}by ratios, final drive and tyre the engine would turn {{.off.Fixed 0}} " +
		"{{if .faster}}faster{{else}}slower{{end}} for the road speed than it does. The log's gearing is used; check the three.{{end}}",
		example: []Value{Gear(2), Number("filed", 2.4), Number("shown", 1.95), Pct("off", 21), Flag("faster", false)}},
}
