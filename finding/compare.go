package finding

// What is said of a change of inertia, and of what it is worth.
const (
	// The verdict's reason.
	TwoCars           Code = "two_cars"
	RevsMayNotDecide  Code = "free_revs_may_not_decide"
	WaysContradict    Code = "ways_contradict"
	InertiaSame       Code = "inertia_same"
	InertiaFell       Code = "inertia_fell"
	InertiaRose       Code = "inertia_rose"
	ChangeOpen        Code = "change_open"
	PartsTookOff      Code = "parts_took_off"
	PartsAdded        Code = "parts_added"
	PartsOpen         Code = "parts_open"
	RevsMissing       Code = "free_revs_missing"
	NoRatio           Code = "no_ratio"
	TooFewRevs        Code = "too_few_free_revs"
	RevsOfOtherKind   Code = "free_revs_of_other_kind"
	RecordedBackwards Code = "recorded_backwards"
	LessWasExpected   Code = "less_was_expected"

	// Warnings.
	SidesSwapped     Code = "sides_swapped"
	NotCombined      Code = "not_combined"
	WayOff           Code = "way_off"
	LateRelease      Code = "late_release"
	TopTrim          Code = "top_trim"
	MaySmooth        Code = "smoothing_allowed_for"
	CommonWindow     Code = "common_window"
	TemperatureFixed Code = "temperature_corrected"
	DragDrifts       Code = "drag_drifts"
	FootNotTold      Code = "foot_on_clutch_not_told"
	NoWorthByGear    Code = "no_worth_by_gear"
	NoPower          Code = "no_equivalent_power"

	// What to do.
	CheckAndRepeat Code = "check_and_repeat"
	SwingOrRevs    Code = "swing_or_free_revs"
	MoreSessions   Code = "more_sessions"
	MoreRevs       Code = "more_free_revs_a_side"
	KeepChecklist  Code = "keep_checklist"
	ToShowSame     Code = "to_show_same"
)

const swapped = " If before and after are swapped, everything below holds the other way round."

var ofCompare = language{
	TwoCars: {says: "The logs come from two different cars."},
	RevsMayNotDecide: {says: "The free revs may not decide: {{.why}}.",
		example: []Value{Saying("why", New(FootDiffers).Fact())}},
	WaysContradict: {says: "The ways to the inertia contradict each other, so none is believed; the warning names " +
		"them."},
	InertiaSame: {says: "The inertia is the same within {{.margin}}: any change is smaller than {{.below.Fixed 0}}.",
		example: []Value{Pct("margin", 3), Pct("below", 3)}},
	InertiaFell: {says: "The effective inertia fell by {{.change}} (95 % sure of {{.from.Bare}} to {{.to}}).",
		example: []Value{Pct("change", 23.1), Pct("from", 19.2), Pct("to", 26.4)}},
	InertiaRose: {says: "The effective inertia rose by {{.change}} (95 % sure of {{.from.Bare}} to {{.to}}).",
		example: []Value{Pct("change", 23.1), Pct("from", 19.2), Pct("to", 26.4)}},
	ChangeOpen: {says: "The runs do not tell a change from none: between {{.less}} less and {{.more}} more " +
		"inertia fits them; any change is smaller than {{.below.Fixed 0}}.",
		example: []Value{Pct("less", 9.2), Pct("more", 3.1), Pct("below", 10)}},
	PartsTookOff: {says: "The parts that were swapped took {{.change}} off (95 % sure of {{.from.Bare}} to " +
		"{{.to.Bare}}); that is from the parts, not from driving ({{.why}}).",
		example: []Value{Inertia("change", 0.055), Inertia("from", 0.051), Inertia("to", 0.059),
			Saying("why", New(RevsMissing))}},
	PartsAdded: {says: "The parts that were swapped added {{.change}} (95 % sure of {{.from.Bare}} to " +
		"{{.to.Bare}}); that is from the parts, not from driving ({{.why}}).",
		example: []Value{Inertia("change", 0.055), Inertia("from", 0.051), Inertia("to", 0.059),
			Saying("why", New(RevsMissing))}},
	PartsOpen: {says: "The parts are not known well enough to tell a change from none, and {{.why}}.",
		example: []Value{Saying("why", New(RevsMissing))}},
	RevsMissing: {says: "the free revs are missing or may not decide"},
	NoRatio:     {says: "No ratio: {{.why}}.", example: []Value{List("why", New(NoBefore).Fact())}},
	TooFewRevs: {says: "{{if .after}}after{{else}}before{{end}} has {{.usable}} usable free revs of the " +
		"{{.needed}} needed",
		example: []Value{Flag("after", true), Count("usable", 1), Count("needed", 3)}},
	RevsOfOtherKind: {says: "the free revs of the sides are of different kinds or cannot be fitted together"},
	RecordedBackwards: {says: "The recordings of the side before the job were made after those of the other " +
		"side." + swapped},
	LessWasExpected: {says: "The drive shows more rotating inertia after the job, where less was fitted or " +
		"promised." + swapped},

	SidesSwapped: {says: "{{.why}}", example: []Value{Saying("why", New(RecordedBackwards))}},
	NotCombined:  {says: "the ways to the inertia could not be brought together; the ratio stands alone"},
	WayOff: {says: "{{if .revs}}free revs{{else if .parts}}known parts{{else}}{{.method}} " +
		"{{if .after}}after{{else}}before{{end}}{{end}} {{.off.Signed 1}}",
		example: []Value{Flag("revs", false), Flag("parts", false), Name("method", "overrun"),
			Flag("after", true), Number("off", 2.4)}},
	LateRelease: {says: "the falls begin late: the throttle shuts slowly or the engine speed is shown late; what " +
		"that leaves in them was fitted with them"},
	TopTrim: {says: "the answer depended on the first moments after the release, so {{.trim}} of each fall were " +
		"left out (throttle or sensor lag)",
		example: []Value{Duration("trim", 0.5)}},
	MaySmooth: {says: "engine speed is slow to turn from rising to falling in the free revs, as where a logger smooths it" +
		"{{if .two}}, and two loggers recorded the sides{{end}}: {{.error}} is allowed for in the ratio",
		next:    "record both sides with one logger that does not smooth engine speed, and lift off at once",
		example: []Value{Pct("error", 6.1), Flag("two", true)}},
	CommonWindow: {says: "the sides were revved to different speeds; only {{.from.Bare}} to {{.to}}, which both " +
		"reach, was used",
		example: []Value{EngineSpeed("from", 1500), EngineSpeed("to", 3200)}},
	TemperatureFixed: {says: "the {{if .oil}}oil{{else}}coolant{{end}} was {{.difference}} " +
		"{{if .warmer}}warmer{{else}}colder{{end}} after the job; the drag was corrected for it, " +
		"with its uncertainty", example: []Value{Flag("oil", true), Quantity("difference", Kelvin, 8),
		Flag("warmer", true)}},
	DragDrifts: {says: "the drag changed by {{.change}} over the free revs of session {{.session}} of the " +
		"{{if .after}}after{{else}}before{{end}} side: drive 20 minutes before " +
		"measuring", example: []Value{Pct("change", -6.1), Count("session", 1), Flag("after", false)}},
	FootNotTold: {says: "nobody told whether the foot was on the clutch in the free revs: on it on one side alone would " +
		"move the ratio by up to {{.by.Fixed 0}}; say --foot-on-clutch yes or no, or foot_on_clutch in the job file",
		example: []Value{Pct("by", 10)}},
	NoWorthByGear: {says: "what the change is worth in each gear needs the gearing: drive through the gears, or " +
		"give ratios, final drive and tyre in the vehicle file"},
	NoPower: {says: "{{if .mass}}what the change is worth in acceleration, power and time needs the mass of the " +
		"car in the vehicle file" +
		"{{else}}the power that the change is worth needs a full-load pull from which the engine's torque is " +
		"known: in third or fourth, from below the torque peak to " +
		"near the limit{{end}}", example: []Value{Flag("mass", false)}},

	CheckAndRepeat: {says: "check mass, tyre size, ratios and the figures of the parts, then repeat the runs that " +
		"stand out"},
	SwingOrRevs: {says: "swing old and new part on a pendulum, or six free revs a side"},
	MoreSessions: {says: "{{.sessions}} sessions a side, each from its own start and warm-up, to show a change of " +
		"{{.change.Fixed 0}}",
		example: []Value{Count("sessions", 4), Pct("change", 10)}},
	MoreRevs: {says: "{{.revs}} free revs a side, to show a change of {{.change.Fixed 0}}",
		example: []Value{Count("revs", 14), Pct("change", 10)}},
	KeepChecklist: {says: "keep the checklist (consumers off, battery charged, 20 minutes driven, equal oil " +
		"temperature) and record that you did"},
	ToShowSame: {says: "to show that nothing changed within the margin of {{.margin.Digits 3}}: " +
		"{{if .needed}}about {{.needed}} sittings a side of {{.revs}} free revs, each from " +
		"its own start{{else}}more than {{.most}} sittings a side, which nobody drives{{end}}; " +
		"{{if eq .sessions.Int 1}}one sitting{{else}}{{.sessions}} sittings{{end}} a side can " +
		"show it within about {{.within.Fixed 0}}, if that margin is set before the drive",
		example: []Value{Pct("margin", 3), Count("needed", 9), Count("most", 30), Count("revs", 6),
			Count("sessions", 1), Pct("within", 16)}},
}
