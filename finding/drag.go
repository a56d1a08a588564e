package finding

// What is said of an engine held in neutral, and of the drag of a sitting that it tells.
const (
	// Of one hold.
	HoldShort    Code = "hold_too_short"
	HoldUnsteady Code = "hold_unsteady"
	HoldNoFlow   Code = "hold_without_flow"
	HoldCold     Code = "hold_cold"
	HoldEarly    Code = "hold_soon_after_start"
	HoldOpenLoop Code = "hold_open_loop"
	HoldRich     Code = "hold_mixture_commanded"
	HoldDrifts   Code = "hold_trim_drifts"
	HoldOdd      Code = "hold_differs_from_others"

	// Of both sides: why the correction is off.
	OneSideHeld       Code = "holds_on_one_side_only"
	NoCommonSpeed     Code = "holds_at_different_speeds"
	FlowReadOtherwise Code = "flow_read_differently"
	HoldsDisagree     Code = "holds_of_a_sitting_disagree"
	CoolantDiffers    Code = "coolant_differs"
	MetersDisagree    Code = "air_and_fuel_disagree"
	FlowTooDifferent  Code = "drag_too_different"
	SparkDiffers      Code = "spark_differs"
	SpeedsDisagree    Code = "hold_speeds_disagree"
	ChargesApart      Code = "voltage_differs_between_falls_and_holds"
	ConsumerOneSide   Code = "consumer_in_falls_differs"
	FuelNotCut        Code = "fuel_not_cut_in_falls"
	FlowPartsChanged  Code = "parts_change_flow"
	FlowNoAnswer      Code = "flow_does_not_answer_load"
	SittingsDisagree  Code = "sittings_agree_worse_corrected"
	IdleNoOil         Code = "idle_without_oil_temperature"
	IdleMissing       Code = "idle_missing"
	IdleSpeedDiffers  Code = "idle_speed_differs"

	// These speak against the free revs themselves: what they tell of is in the falls.
	PressureInFalls Code = "fall_pressure_differs"
	ChargesOneSide  Code = "voltage_in_falls_differs"
	FuelCutDiffers  Code = "fuel_cut_differs_in_falls"

	// What a ladder lacks.
	LadderFewRevs   Code = "ladder_few_free_revs"
	LadderFewRungs  Code = "ladder_few_rungs"
	LadderFlat      Code = "ladder_without_change"
	LadderUnleveled Code = "ladder_not_level"

	// What it comes to.
	HeldNothing      Code = "held_engine_corrects_nothing"
	HeldCorrects     Code = "held_engine_corrects"
	LadderDecides    Code = "corrected_decides_by_ladder"
	SittingsDecide   Code = "corrected_decides_by_sittings"
	CorrectedWider   Code = "corrected_decides_as_wider"
	UncorrectedWider Code = "uncorrected_decides_as_wider"
	NotOneDay        Code = "not_one_day"
	SameByHolding    Code = "to_show_same_by_holding"
	DriveLadder      Code = "drive_ladder"
)

// charge is what to do where a battery was charged in the falls.
const charge = "charge the battery and repeat"

var ofDrag = language{
	HoldShort:    {says: "held for only {{.lasting.Fixed 0}}", next: "hold it for 15 s, 10 at the least", example: []Value{Duration("lasting", 6)}},
	HoldUnsteady: {says: "engine speed wandered by {{.by}} to either side", next: "find a place where the foot rests, and wait until the engine is steady", example: []Value{EngineSpeed("by", 210)}},
	HoldNoFlow: {says: "there are too few values of what flows",
		next: "record air flow (parameter 10, or 0B or 04) beside engine speed, and the fuel trims (06, 07); of a diesel the fuel rate (5E)"},
	HoldCold: {says: "the coolant was at {{.at}}", next: "drive until it is warm", example: []Value{Temperature("at", 62)}},
	HoldEarly: {says: "it was held {{.after.Fixed 0}} after the engine was started", next: "wait three minutes: until then many engines burn late on purpose, to warm the catalyst",
		example: []Value{Duration("after", 80)}},
	HoldOpenLoop: {says: "the mixture was not controlled (fuel system status {{.status}})", next: "wait until the engine is warm, and hold the speed without moving the accelerator",
		example: []Value{Count("status", 1)}},
	HoldRich:   {says: "another mixture than the usual was commanded (lambda {{.lambda.Fixed 2}})", next: "wait a minute at idle and hold it again", example: []Value{Number("lambda", 0.93)}},
	HoldDrifts: {says: "the fuel trim moved by {{.by}} in the hold", next: "wait a minute at idle, for the tank's vapour to be burnt, and hold it again", example: []Value{Pct("by", 4.2)}},
	HoldOdd:    {says: "it differs by {{.off}} from the other holds at this speed", next: "something was switched on or off, a fan perhaps", example: []Value{Pct("off", 5.1)}},

	OneSideHeld: {says: "the engine was held on the {{if .after}}after{{else}}before{{end}} side only", next: "hold the same two speeds on both sides, before the falls and after them",
		example: []Value{Flag("after", true)}},
	NoCommonSpeed: {says: "the sittings share no engine speed at which it was held", next: "hold the same two speeds in every sitting of both sides"},
	FlowReadOtherwise: {says: "what flows was read in different ways ({{.before}} and {{.after}})", next: "record the same values on both sides",
		example: []Value{Name("before", "air"), Name("after", "pressure")}},
	HoldsDisagree: {says: "on the {{if .after}}after{{else}}before{{end}} side the holds at {{.at}} differ by {{.off}}", next: "hold that speed once more: the two that agree count",
		example: []Value{Flag("after", false), EngineSpeed("at", 2500), Pct("off", 3.4)}},
	CoolantDiffers: {says: "the coolant was at {{.before}} before and at {{.after}} after", next: "warm both sides alike", example: []Value{Temperature("before", 90), Temperature("after", 98)}},
	MetersDisagree: {says: "air and fuel tell changes that differ by {{.off}}: air meter, intake, a leak or the fuel changed",
		next: "find out what it was, then repeat one side with it as on the other", example: []Value{Pct("off", 6.1)}},
	FlowTooDifferent: {says: "the held engine took {{.by}} {{if .more}}more{{else}}less{{end}} after, which is more than a day does: late spark after a start, another tune, or something " +
		"switched on", next: "wait three minutes after the start, switch everything off, and repeat", example: []Value{Pct("by", 11.2), Flag("more", true)}},
	SparkDiffers: {says: "the held engine was fired {{.before}} before top dead centre on the before side and {{.after}} on the after side: it does not burn alike, so its air and fuel do not " +
		"tell the drag", next: "wait three minutes after the start and repeat; if it stays so, the tune changed: name it in also_changed",
		example: []Value{Quantity("before", Degrees, 27.5), Quantity("after", Degrees, 14)}},
	SpeedsDisagree: {says: "the two speeds tell changes that differ by {{.off}}", next: "hold both again, without a fan or a heater coming on", example: []Value{Pct("off", 4.8)}},
	ChargesApart: {says: "in the falls the voltage is {{.by.Fixed 2}} higher than in the holds: the battery is charged there, and the holds do not pay for it", next: charge,
		example: []Value{Quantity("by", Volts, 0.71)}},
	ConsumerOneSide: {says: "in the falls the voltage stands {{.by.Fixed 2}} further from that in the holds on one side than on the other: a fan or another consumer seems to have run in one " +
		"and not in the other", next: "wait until the fan rests, and repeat that side", example: []Value{Quantity("by", Volts, 0.09)}},
	FuelNotCut: {says: "fuel was not cut in the falls, on both sides", next: "warm up, and use revs in which the car cuts it; many do so only while rolling"},
	FlowPartsChanged: {says: "the job changed what the flow rests on ({{.parts}})", next: "the falls stand alone; several sittings a side or a pendulum tell more",
		example: []Value{Name("parts", "intake")}},
	FlowNoAnswer: {says: "on this car the drag changed by {{.times.Fixed 2}} times what the flow did, and engines lie between 0.8 and 1.6: its flow does not tell the drag",
		next: "the falls stand alone", example: []Value{Number("times", 0.3)}},
	SittingsDisagree: {says: "sittings of one side agree worse with the correction than without", next: "the falls stand alone"},
	IdleNoOil:        {says: "idle tells nothing of the drag without the oil's temperature", next: "hold the engine at two speeds"},
	IdleMissing: {says: "the {{if .after}}after{{else}}before{{end}} side has no five seconds of warm idle with what flows", next: "let it idle for twenty seconds before the falls and after them",
		example: []Value{Flag("after", true)}},
	IdleSpeedDiffers: {says: "it idled at {{.before}} before and at {{.after}} after", next: "warm both sides alike, consumers off",
		example: []Value{EngineSpeed("before", 800), EngineSpeed("after", 900)}},

	PressureInFalls: {says: "in the falls the manifold's pressure was {{.before.Fixed 1}} before and {{.after.Fixed 1}} after: the shut throttle, the cam or a leak changed",
		next: "swing the old and the new part on a pendulum; the falls are not comparable", example: []Value{Quantity("before", Kilopascals, 21.4), Quantity("after", Kilopascals, 24.8)}},
	ChargesOneSide: {says: "in the falls the voltage stands {{.by.Fixed 2}} further from that in the holds on one side than on the other: the battery was charged there",
		next: charge + " that side", example: []Value{Quantity("by", Volts, 0.71)}},
	FuelCutDiffers: {says: "fuel was cut in the falls of one side and not in those of the other", next: "repeat the side whose falls were fuelled, fully warm"},

	LadderFewRevs:   {says: "the ladder has too few free revs"},
	LadderFewRungs:  {says: "fewer than {{.needed}} free revs of the ladder lie between holds", example: []Value{Count("needed", 6)}},
	LadderFlat:      {says: "the drag changed too little over the ladder"},
	LadderUnleveled: {says: "the falls of the ladder do not come out level after correction"},

	HeldNothing: {says: "The held engine corrects nothing: {{.why}}.", example: []Value{Saying("why", New(SpeedsDisagree, Pct("off", 4.8)))}},
	HeldCorrects: {says: "Held in neutral the engine took {{.flow}} {{if .flow_more}}more{{else}}less{{end}} after the job than before, which is {{.drag}} " +
		"{{if .drag_more}}more{{else}}less{{end}} drag. With that taken out the inertia changed by {{.change.Signed 1}} ({{.low.Signed 1}} to {{.high.Signed 1}}), without by " +
		"{{.plain.Signed 1}} ({{.plain_low.Signed 1}} to {{.plain_high.Signed 1}}).",
		example: []Value{Pct("flow", 3.4), Flag("flow_more", false), Pct("drag", 2.6), Flag("drag_more", false), Pct("change", -4.6), Pct("low", -8.9), Pct("high", -0.1),
			Pct("plain", -4.7), Pct("plain_low", -10.6), Pct("plain_high", 1.5)}},
	LadderDecides: {says: "The corrected one decides: while this car warmed up its drag changed by {{.climb.Fixed 0}}, and {{.left}} of that was left after correction.",
		example: []Value{Pct("climb", 9), Pct("left", 0.7)}},
	SittingsDecide: {says: "The corrected one decides: this car's own sittings speak for it by {{.odds.Fixed 0}} to 1.", example: []Value{Number("odds", 24)}},
	CorrectedWider: {says: "The corrected one decides because it is the wider: this car has not shown yet that its flow tells its drag."},
	UncorrectedWider: {says: "The uncorrected one decides because it is the wider: this car has not shown yet that its flow tells its drag. A ladder while it warms up, or more " +
		"sittings a side, would show it."},
	NotOneDay: {says: "the recordings of both sides lie more than a day apart, so they are not taken as driven in one day"},
	SameByHolding: {says: "the same with the engine held at two speeds in every sitting, within {{.margin.Digits 3}}{{if .wider}}, if that margin is set before the drive{{end}}: " +
		"{{.sittings}} {{if eq .sittings.Int 1}}sitting{{else}}sittings{{end}} a side{{if .in_one_day}}, or one a side, both in one day{{end}}",
		example: []Value{Pct("margin", 5), Flag("wider", true), Count("sittings", 2), Flag("in_one_day", true)}},
	DriveLadder: {says: "a ladder: while the engine warms up from 60 to 95 C four free revs between holds, five times over; it shows whether this car's air and fuel tell its drag, so that the " +
		"corrected ratio may decide"},
}
