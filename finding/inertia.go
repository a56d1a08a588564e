package finding

// What is said of the inertia of one side.
const (
	NoEngineSpeed      Code = "no_engine_speed"
	NoAbsoluteInertia  Code = "no_absolute_inertia"
	PullsCrossCheck    Code = "pulls_cross_check"
	MethodsContradict  Code = "methods_contradict"
	MethodsDisagree    Code = "methods_disagree"
	ImplausibleInertia Code = "implausible_inertia"
	MassDoubted        Code = "mass_doubted"

	// Why there is no absolute inertia, and what to drive for one.
	OnRollers         Code = "on_rollers"
	NeedsMass         Code = "needs_mass"
	NeedsRuns         Code = "needs_runs"
	ThreeFreeRevs     Code = "three_free_revs"
	MoreFreeRevs      Code = "more_free_revs"
	SixFreeRevs       Code = "six_free_revs"
	RunsInGear        Code = "runs_in_gear"
	RunsOverSameSpeed Code = "runs_over_same_speeds"
	RunsNotBraked     Code = "runs_not_braked"
	RunsHeldBack      Code = "runs_held_back"
	NotSmoothed       Code = "engine_speed_not_smoothed"
)

var ofInertia = language{
	NoEngineSpeed: {says: "{{.file}}: too little engine speed to look for runs",
		example: []Value{Name("file", "a.csv")}},
	NoAbsoluteInertia: {says: "{{.why}}", example: []Value{Saying("why", New(NeedsMass))}},
	OnRollers: {says: "on a rolling road the car's mass does not move, so off-throttle runs give no absolute " +
		"inertia; the ratio of two sets of free revs stands"},
	NeedsMass: {says: "the absolute inertia needs the mass of the car: give a vehicle file with mass_kg"},
	NeedsRuns: {says: "the absolute inertia cannot be had from these logs: it needs {{.missing}}",
		example: []Value{Saying("missing", New(RunsInGear))}},
	PullsCrossCheck: {says: "pulls tell the inertia well only when first gear is among them, which is not asked " +
		"for: full load in first is hard on the car, and tyres or electronics often limit it"},
	MethodsContradict: {says: "{{if .opposite}}the free revs and the parts point in opposite directions: check " +
		"which side is which, and the figures of the parts" +
		"{{else if .ways}}the ways to the inertia contradict each other (p = {{.p.Digits 2}}), so they are not " +
		"combined: {{.ways}} of their own standard deviation off; check mass, ratios, tyre size and the figures " +
		"of the parts" +
		"{{else}}the methods contradict each other (chi-square {{.chi2.Fixed 1}} with {{.freedom}} degrees of " +
		"freedom), so they are not combined: check mass, tyre size and ratios{{end}}",
		example: []Value{Number("chi2", 14.2), Count("freedom", 1), Number("p", 0.0002), List("ways", New(WayOff,
			Flag("revs", true), Number("off", 2.4))), Flag("opposite", false)}},
	MethodsDisagree: {says: "{{if .ways}}the ways to the inertia differ by more than their errors explain (p = " +
		"{{.p.Fixed 3}}): {{.ways}} of their own standard deviation off" +
		"{{else}}the methods differ by more than their errors explain (p = {{.p.Fixed 3}}): check mass, tyre size " +
		"and ratios{{end}}",
		example: []Value{Number("p", 0.012), List("ways", New(WayOff, Flag("revs", true), Number("off", 2.4)))}},
	ImplausibleInertia: {says: "an inertia of {{.inertia.Fixed 3}} is {{.times.Fixed 1}} times what is usual for " +
		"such a car: check mass, tyre size, ratios and the units they are in",
		example: []Value{Inertia("inertia", 0.062), Number("times", 0.2)}},
	MassDoubted: {says: "the engine reports {{.off.Signed 0}} against the torque that a car of {{.mass}} needs in " +
		"its pulls: load or a trailer that is not in the mass, or a channel that is mis-scaled; the absolute " +
		"inertia goes with the mass, so its interval allows for it",
		example: []Value{Pct("off", 18), Mass("mass", 1285)}},

	ThreeFreeRevs: {says: "three free revs or more"},
	MoreFreeRevs:  {says: "more free revs"},
	SixFreeRevs: {says: "six free revs: at rest in neutral, foot off the clutch, rev to about 4000 rpm, let go at " +
		"once, let it fall to idle"},
	RunsInGear: {says: "off-throttle in gear: second or third gear, from 4500 down to 1500 rpm without braking, " +
		"twice in each direction"},
	RunsOverSameSpeed: {says: "off-throttle in gear and free revs over the same engine speeds, and neutral coasts " +
		"from the same road speed"},
	RunsNotBraked: {says: "off-throttle in gear, at least twice and without the foot brake: as driven the car slowed as if the " +
		"engine had {{.times.Fixed 1}} times the usual inertia, and no channel tells the brake; or mass, tyre size or ratios are wrong",
		example: []Value{Number("times", 3.1)}},
	RunsHeldBack: {says: "off-throttle in gear without the foot brake: beside engine and road, {{.by}} held the car back, alike at all " +
		"engine speeds, as a foot on the brake or a slope does",
		example: []Value{Acceleration("by", 1.2)}},
	NotSmoothed: {says: "engine speed that is not smoothed: after the free revs it takes {{.turn}} to turn from " +
		"rising to falling, where foot and throttle take 0.3",
		example: []Value{Duration("turn", 0.9)}},
}
