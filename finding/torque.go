package finding

// What is said of the torque through the clutch, and of what is behind a clutch that slips.
const (
	TorqueBasis       Code = "torque_basis"
	SlopeTold         Code = "slope_told"
	SlopeOpen         Code = "slope_open"
	RollersNoTorque   Code = "rollers_no_torque"
	NoVehicleNoTorque Code = "no_vehicle_no_torque"
	NoMassNoTorque    Code = "no_mass_no_torque"
	NoGearingNoTorque Code = "no_gearing_no_torque"
	NoTyreNoTorque    Code = "no_tyre_no_torque"

	HeatOfSlip       Code = "heat_of_slip"
	TorqueOfRating   Code = "torque_of_rating"
	SlipsBelowRating Code = "slips_below_rating"
	RatingNotTested  Code = "rating_not_tested"
	PeakNotTested    Code = "peak_not_tested"
	ChannelDiffers   Code = "torque_channel_differs"

	// The patterns of slip.
	AboveTorque Code = "above_torque"
	Everywhere  Code = "everywhere"
	WithHeat    Code = "with_heat"
	AfterShifts Code = "after_shifts"
	Unclear     Code = "unclear"

	ClampTooLow    Code = "clamp_too_low"
	LiningWorn     Code = "lining_worn"
	Contamination  Code = "contamination"
	NotLetGo       Code = "not_let_go_fully"
	WornToRivets   Code = "worn_to_rivets"
	LiningFades    Code = "lining_fades"
	HeatSoaked     Code = "heat_soaked"
	SlowEngagement Code = "slow_engagement"
	FootRests      Code = "foot_rests_on_clutch"
)

var ofTorque = language{
	TorqueBasis: {says: "Torque is worked out from mass and acceleration. " +
		"{{with .gearing}}Gearing is as the log shows it, ± {{.Digits 2}}, with the displayed speed. {{end}}" +
		"Road load is {{if .filed}}from the vehicle file{{else}}that of a common car of this mass{{end}}" +
		"{{with .coasted}}, corrected by {{.Fixed 0}} of rolling in neutral in the log{{end}}.",
		example: []Value{Pct("gearing", 1.5), Flag("filed", false), Duration("coasted", 42)}},
	SlopeTold: {says: "The slope of the road {{if .climbed}}was told from the receiver's height over {{.climbed}} of road" +
		"{{if .driven}} and {{else}}. {{end}}{{else}}is not logged; it was told {{end}}" +
		"{{if .driven}}from how the car pulls at equal engine speed and load over {{.driven}} of driving. {{end}}" +
		"That leaves ± {{.slope}} of slope under the pulls{{with .share}}, which is ± {{.Fixed 0}} of their " +
		"torque{{end}}.",
		example: []Value{Quantity("climbed", Kilometres, 12), Quantity("driven", Minutes, 14), Pct("slope", 0.6),
			Pct("share", 4)}},
	SlopeOpen: {says: "The slope of the road is not logged and {{if .blind}}no channel tells how hard the engine " +
		"worked, without which the log cannot tell it{{else}}the driving under load in the log does not tell it{{end}}: ± {{.slope.Fixed 0}} of slope, as of ordinary roads, is " +
		"allowed for under each pull" +
		"{{with .share}}, which is ± {{.Fixed 0}} of their torque{{end}}; drive both ways and record engine load, " +
		"or the height of a satellite receiver, to narrow it.",
		example: []Value{Flag("blind", true), Pct("slope", 2), Pct("share", 12)}},
	RollersNoTorque: {says: "On a rolling road the car's mass and the air say nothing of the force, so no torque " +
		"is given."},
	NoVehicleNoTorque: {says: "No vehicle file, so no torque: it needs mass, gear ratios and tyre size."},
	NoMassNoTorque:    {says: "The vehicle file gives no mass, so no torque."},
	NoGearingNoTorque: {says: "Neither the vehicle file nor the log gives the gearing, so no torque."},
	NoTyreNoTorque:    {says: "The vehicle file gives no tyre size, so no torque."},

	HeatOfSlip: {says: "{{.heat}}, enough to make {{.iron}} of iron, a flywheel and a pressure plate, hotter by " +
		"{{.rise}}",
		example: []Value{Quantity("heat", Kilojoules, 150), Mass("iron", 10), Quantity("rise", Kelvin, 33)}},
	TorqueOfRating: {says: "{{if .slips}}The torque at which it {{if .past}}let go was{{else}}lets go is{{end}}" +
		"{{else}}The torque held {{if .past}}was{{else}}is{{end}}{{end}} " +
		"{{with .rating_share}}{{.Fixed 0}} of the clutch's rating of {{$.rating}}{{if $.peak}} and {{end}}{{end}}" +
		"{{with .peak_share}}{{.Fixed 0}} of the engine's peak of {{$.peak}}{{end}}.",
		example: []Value{Flag("slips", false), Pct("rating_share", 83), Torque("rating", 340),
			Pct("peak_share", 104), Torque("peak", 270), Flag("past", false)}},
	SlipsBelowRating: {says: "the clutch slips from about {{.onset}}, below its rating of {{.rating}}",
		example: []Value{Torque("onset", 235), Torque("rating", 340)}},
	RatingNotTested: {says: "at most {{.held}} went through the clutch, so its rating of {{.rating}} was not put " +
		"to the test",
		example: []Value{Torque("held", 235), Torque("rating", 340)}},
	PeakNotTested: {says: "at most {{.held}} went through the clutch and the engine gives up to {{.peak}}, so the " +
		"clutch was not put to the whole test",
		example: []Value{Torque("held", 235), Torque("peak", 290)}},
	ChannelDiffers: {says: "the engine reports {{.off.Signed 0}} against the torque that the car's acceleration " +
		"shows; the acceleration stands (a remapped engine often reports a clipped or mis-scaled torque; mass and " +
		"tyre size matter too)",
		example: []Value{Pct("off", -22)}},

	AboveTorque: {says: "above a torque only"},
	Everywhere:  {says: "everywhere"},
	WithHeat:    {says: "growing with heat"},
	AfterShifts: {says: "after shifts only"},
	Unclear:     {says: "cannot tell which"},

	ClampTooLow: {says: "clamp load too low for this torque: a tired or wrong cover, or more engine torque than " +
		"the clutch {{if .past}}was{{else}}is{{end}} rated for" +
		"{{with .onset}} (it {{if $.past}}let{{else}}lets{{end}} go at about {{.}}){{end}}",
		example: []Value{Torque("onset", 235), Flag("past", false)}},
	LiningWorn:     {says: "a worn lining"},
	Contamination:  {says: "contamination: oil, grease, or rust-proofing oil left on the flywheel"},
	NotLetGo:       {says: "the clutch is not let go fully: release bearing, cable or hydraulics under pressure"},
	WornToRivets:   {says: "a lining worn to the rivets"},
	LiningFades:    {says: "a lining that fades when hot"},
	HeatSoaked:     {says: "a heat-soaked cover or flywheel after many pulls: let it cool and repeat once"},
	SlowEngagement: {says: "slow engagement: a sticking release or hydraulics that return late"},
	FootRests:      {says: "a foot that rests on the clutch pedal"},
}
