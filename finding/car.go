package finding

// What is said of the car, its gearing and its signals.
const (
	NoSignals      Code = "no_signals"
	NothingDriven  Code = "nothing_to_learn"
	NoLadder       Code = "no_gear_ladder"
	RatiosRefused  Code = "ratios_do_not_fit"
	RatioOff       Code = "ratio_does_not_fit"
	RoundingOpen   Code = "rounding_unknown"
	SlowLink       Code = "slow_link"
	AveragedValues Code = "averaged_values"
	LagOpen        Code = "speed_lag_unknown"
	ScalesDiffer   Code = "speed_scales_differ"
	DelaysDiffer   Code = "speed_delays_differ"

	// What a vehicle file says.
	FactMass     Code = "fact_mass"
	FactName     Code = "fact_name"
	FactLength   Code = "fact_length"
	FactSpeed    Code = "fact_speed_source"
	FactRatios   Code = "fact_ratios"
	FactRoadLoad Code = "fact_road_load"
	FactTorque   Code = "fact_torque"

	GearingFromLog      Code = "gearing_from_log"
	GearingContradicted Code = "gearing_contradicted"
)

var ofCars = language{
	NoSignals: {says: "no log has both engine speed and road speed, so nothing can be learnt; record both channels"},
	NothingDriven: {says: "the car was driven above {{.above}} for {{.driven.Fixed 0}} only, so there is nothing " +
		"to learn: drive a few minutes through the gears and record that", example: []Value{Speed("above", 10),
		Duration("driven", 12)}},
	NoLadder: {says: "no gear stands out in {{.driven.Fixed 0}} of driving: outside hard pulls, where a clutch may " +
		"slip, the ratio of engine speed to road speed does not stay put for long. Drive each gear steadily for ten seconds; if the gearbox is an automatic or has a " +
		"converter, slip cannot be judged",
		example: []Value{Duration("driven", 240)}},
	RatiosRefused: {says: "the gears found in the log do not fit the ratios of the vehicle file, so the file's " +
		"ratios are not used for the gear ladder: check ratios and final drive"},
	RatioOff: {says: "the ratio of gear {{.gear}} in the vehicle file, {{.filed.Fixed 2}}, does not fit the log, " +
		"which shows {{.shown.Fixed 2}} beside the other gears; the log's gearing stands: check the file, torque " +
		"and equivalent mass in that gear rest on it",
		example: []Value{Gear(2), Number("filed", 2.4), Number("shown", 1.95)}},
	RoundingOpen: {says: "the log does not tell whether the displayed speed is rounded or cut off; gear constants " +
		"carry that error"},
	SlowLink: {says: "engine and road speed come only every {{.every}}{{if .stamps}} with time stamps in steps of " +
		"{{.stamps.Fixed 0}}{{else if .refresh}}, since the control " +
		"unit refreshes road speed no faster{{end}}: enough for the gears and for slips of several seconds, too slow for shorter ones",
		example: []Value{Duration("every", 0.9), Duration("stamps", 1), Flag("refresh", false)}},
	AveragedValues: {says: "the logger averaged its values over about {{.over.Digits 2}} before it wrote them: a slip " +
		"shows smaller and longer than it was, and they tell no more than one value in that time",
		example: []Value{Duration("over", 0.6)}},
	LagOpen: {says: "road speed fits engine speed at no delay between {{.from.Number 1}} and {{.to.Number 1}} s, so " +
		"nothing that needs both at one moment is judged: check the time stamps of the two channels",
		example: []Value{Duration("from", -0.5), Duration("to", 3)}},
	ScalesDiffer: {says: "{{.file}} shows {{.off.Signed 1}} engine speed per road speed against {{.other}}: each " +
		"log is judged by its own; check that both are of one car, and its tyres",
		example: []Value{Name("file", "b.csv"), Pct("off", 3.1), Name("other", "a.csv")}},
	DelaysDiffer: {says: "in {{.file}} road speed comes {{.later.Fixed 2}} later than in {{.other}}: each log is " +
		"judged by its own delay",
		example: []Value{Name("file", "b.csv"), Duration("later", 0.4), Name("other", "a.csv")}},

	FactMass: {says: "{{.mass}} ± {{.sd}}{{if .weighed}}, weighed{{end}}", example: []Value{Mass("mass", 1285),
		Mass("sd", 51), Flag("weighed", true)}},
	FactName:   {says: "{{.name}}", example: []Value{Name("name", "205/55R16")}},
	FactLength: {says: "{{.length.Fixed 3}}", example: []Value{Quantity("length", Metres, 1.927)}},
	FactSpeed: {says: "{{.source}}{{if .wheels}} wheels{{end}}", example: []Value{Name("source", "driven"),
		Flag("wheels", true)}},
	FactRatios: {says: "{{.ratios}}, final drive {{.final}}", example: []Value{Name("ratios", "3.42, 1.95"),
		Name("final", "4.06")}},
	FactRoadLoad: {says: "{{.f0.Stated}} + {{.f1.Stated}} v + {{.f2.Stated}} v²",
		example: []Value{Quantity("f0", Newtons, 140), Quantity("f1", NewtonsPerSpeed, 1.2),
			Quantity("f2", NewtonsPerSpeed2, 0.42)}},
	FactTorque: {says: "{{.torque}}", example: []Value{Torque("torque", 340)}},

	GearingFromLog: {says: "No vehicle file gives the gearing, so engine speed for road speed is as the log shows " +
		"it; that carries the error of the displayed speed, ± {{.error.Digits 2}}.",
		example: []Value{Pct("error", 1.5)}},
	GearingContradicted: {says: "The vehicle file contradicts the log: {{if .gear}}gear {{.gear}} has a ratio of " +
		"{{.filed.Fixed 2}}, and the log shows " +
		"{{.shown.Fixed 2}} beside the other gears. The log's is used; check it.{{else}}by ratios, final drive " +
		"and tyre the engine would turn {{.off.Fixed 0}} " +
		"{{if .faster}}faster{{else}}slower{{end}} for the road speed than it does. {{if .dial}}A dial that reads so " +
		"much too high does the same, and then the file is right. {{end}}The log's gearing is used" +
		"{{if .dial}}, and torques allow for either{{end}}; check the three.{{end}}",
		example: []Value{Gear(2), Number("filed", 2.4), Number("shown", 1.95), Pct("off", 21), Flag("faster", false),
			Flag("dial", false)}},
}
