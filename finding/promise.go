package finding

// What is said of a promise: what was promised, what was seen, what follows.
const (
	Promise   Code = "promise" // in words, as a part of a sentence
	Promised  Code = "promised"
	Measured  Code = "measured"
	OneWay    Code = "one_way"    // an amount with its direction
	SeenAbout Code = "seen_about" // a torque with its interval

	PromiseExceeded   Code = "promise_exceeded"
	PromiseWithin     Code = "promise_within"
	PromiseNotShown   Code = "promise_not_shown"
	PromiseOtherWay   Code = "promise_other_way"
	PromiseHalfGone   Code = "promise_half_ruled_out"
	PromiseNotReached Code = "promise_not_reached"
	PromiseNothing    Code = "promise_or_nothing"
	NoSpanNamed       Code = "no_span_named"

	// Why nothing was measured for it.
	WaysContradictClaim Code = "nothing_against_promise"
	NoChangeMeasured    Code = "no_change_measured"
	NoRatioMeasured     Code = "no_ratio_measured"
	NoWorthMeasured     Code = "no_worth_measured"
	ScalesNeeded        Code = "scales_needed"
	GearUnknown         Code = "gear_unknown"
	ClaimNeedsMass      Code = "claim_needs_mass"
	ClaimNeedsPull      Code = "claim_needs_pull"
	PullsReach          Code = "pulls_reach"

	// Of a clutch.
	SlipsTorqueUnknown Code = "slips_torque_unknown"
	HeldTorqueUnknown  Code = "held_torque_unknown"
	SlipsFrom          Code = "slips_from"
	Carried            Code = "carried"
)

var exampleSeen = New(SeenAbout, Estimate("torque", NewtonMetres, about(282, 15)),
	Estimate("low", NewtonMetres, about(252, 15)),
	Estimate("high", NewtonMetres, about(312, 15)))

var ofPromises = language{
	Promise: {says: "{{if eq .kind \"torque_nm\" \"power_kw\"}}that the clutch holds " +
		"{{.amount.Stated}}{{with .at}} at {{.}}, that is {{$.torque.Stated}}{{end}}" +
		"{{else}}{{.amount.Stated}}" +
		"{{if eq .kind \"equivalent_mass_kg\"}} (as if the car were {{if .rise}}heavier{{else}}lighter{{end}})" +
		"{{else if eq .kind \"inertia_change_kgm2\" \"inertia_reduction_pct\"}} " +
		"{{if .rise}}more{{else}}less{{end}} rotating inertia" +
		"{{else if eq .kind \"acceleration_gain_pct\"}} more " +
		"acceleration{{else if eq .kind \"equivalent_power_kw\"}} more while accelerating" +
		"{{else if eq .kind \"saved_s\"}} sooner{{else}} off the parts{{end}}" +
		"{{with .gear}} in {{.Ordinal}}{{end}}{{with .at}} at {{.}}{{end}}{{with .to}} from {{$.from.Stated}} to " +
		"{{.Stated}}{{end}}{{end}}",
		example: []Value{Name("kind", "saved_s"), Quantity("amount", Seconds, 0.3), Flag("rise", false), Gear(2),
			EngineSpeed("at", 5500), Speed("from", 60), Speed("to", 100),
			Torque("torque", 260)}},
	Promised: {says: "Promised {{.what}}.", example: []Value{Saying("what", New(Promise,
		Name("kind", "mass_off_kg"), Mass("amount", 4)))}},
	Measured: {says: "Measured {{if .backwards}}{{.way}}, surely between {{.low_way}} and " +
		"{{.high_way}}{{else}}{{.measured.Measured}}, surely between " +
		"{{.low.MeasuredBare}} and {{.high.Measured}}{{end}}.",
		example: []Value{Flag("backwards", false), Estimate("measured", Kilograms, about(114, 9)),
			Estimate("low", Kilograms, about(96, 9)), Estimate("high", Kilograms, about(132, 9)),
			Saying("way", New(OneWay, Name("kind", "mass_off_kg"), Estimate("amount", Kilograms, about(4, 1)),
				Flag("gain", true))),
			Saying("low_way", New(OneWay, Name("kind", "saved_s"), Estimate("amount", Seconds, about(0.2, 0.1)),
				Flag("gain", false))),
			Saying("high_way", New(OneWay, Name("kind", "equivalent_power_kw"),
				Estimate("amount", Kilowatts, about(4, 1)), Flag("gain", true)))}},
	OneWay: {says: "{{.amount.Measured}} " +
		"{{if eq .kind \"equivalent_mass_kg\" \"mass_off_kg\"}}{{if .gain}}lighter{{else}}heavier{{end}}" +
		"{{else if eq .kind \"saved_s\"}}{{if .gain}}sooner{{else}}later{{end}}" +
		"{{else if eq .kind \"inertia_change_kgm2\" \"inertia_reduction_pct\"}}{{if .gain}}less{{else}}more{{end}}{{else}}{{if .gain}}more{{else}}less{{end}}{{end}}",
		example: []Value{Name("kind", "inertia_change_kgm2"), Estimate("amount", KgM2, about(0.054, 0.004)),
			Flag("gain", true)}},
	SeenAbout: {says: "{{.torque.Measured}}, surely between {{.low.MeasuredBare}} and {{.high.Measured}}",
		example: exampleSeen.Values},

	PromiseExceeded:   {says: "That is more than was promised."},
	PromiseWithin:     {says: "The promise lies within that, and at least half of it is sure."},
	PromiseNotShown:   {says: "The promise lies within that, but so does less than half of it: it is not shown."},
	PromiseOtherWay:   {says: "It went the other way."},
	PromiseHalfGone:   {says: "More than half of the promise is ruled out."},
	PromiseNotReached: {says: "That is less than was promised."},
	PromiseNothing:    {says: "No change at all fits as well."},
	NoSpanNamed: {says: "No span was named; this is over {{.from.Bare}} to {{.to}}, as far as the pulls go.",
		example: []Value{Speed("from", 40), Speed("to", 75)}},

	WaysContradictClaim: {says: "The ways to the inertia contradict each other, so nothing is set against the " +
		"promise."},
	NoChangeMeasured: {says: "The change of inertia could not be measured from these logs."},
	NoRatioMeasured:  {says: "The ratio of the inertias could not be measured from these logs."},
	NoWorthMeasured:  {says: "What the change is worth could not be measured from these logs."},
	ScalesNeeded: {says: "A drive cannot weigh a part: put the old one and the new one on scales. What the weight " +
		"does depends on how far from the middle it was taken off."},
	GearUnknown:    {says: "The gearing of gear {{.gear}} is not known.", example: []Value{Gear(6)}},
	ClaimNeedsMass: {says: "That needs the mass of the car in the vehicle file."},
	ClaimNeedsPull: {says: "That needs a full-load pull, from which the engine's torque is known."},
	PullsReach: {says: "The full-load pulls reach from {{.from.Bare}} to {{.to}} only; that needs others.",
		example: []Value{EngineSpeed("from", 2100), EngineSpeed("to", 4900)}},

	SlipsTorqueUnknown: {says: "It slips, but at which torque is not known without the mass of the car."},
	HeldTorqueUnknown: {says: "No slip was seen, but which torque was driven is not known without the mass of the " +
		"car."},
	SlipsFrom: {says: "It slips from {{.seen}}{{if .less}}: less than was promised{{else}}, which cannot be told " +
		"apart from the promise{{end}}.",
		example: []Value{Saying("seen", exampleSeen), Flag("less", true)}},
	Carried: {says: "It carried {{.seen}}, without slip{{if eq .outcome \"kept_and_more\"}}: more than was " +
		"promised{{else if eq .outcome \"within_not_shown\"}}: the promise lies " +
		"within that, but it is not shown{{else if ne .outcome \"kept\"}}, and more was never asked of it{{end}}.",
		example: []Value{Saying("seen", exampleSeen), Name("outcome", "within_not_shown")}},
}
