package finding

// What is said of the clutch under load.
const (
	// Of one pull.
	EngineRanAway     Code = "engine_ran_away"
	SomethingElse     Code = "something_else_moved"
	SlipHidden        Code = "slip_would_not_have_shown"
	SlipWouldShow     Code = "slip_would_have_shown"
	FirstGearMaySpin  Code = "first_gear_may_spin"
	ExcessUnproven    Code = "excess_unproven"
	PullTooShortToSee Code = "pull_too_short_to_see"

	// Of a log that slips, or may.
	ClutchSlipped    Code = "clutch_slipped"
	DryAsTold        Code = "dry_as_told"
	NoFootOnClutch   Code = "no_foot_on_clutch"
	RollersLookAlike Code = "rollers_look_alike"
	FourWheelDrive   Code = "four_wheel_drive"
	SlipOrGearbox    Code = "slip_or_gearbox"
	SlipUnsure       Code = "slip_unsure"
	NotBeddedIn      Code = "not_bedded_in"
	NoFullLoadYet    Code = "no_full_load_yet"

	// Of a log that is not judged.
	GearboxSlips  Code = "gearbox_slips_by_design"
	GearboxLooks  Code = "gearbox_looks_designed"
	NoGearsShown  Code = "no_gears_shown"
	NoDelayFound  Code = "no_delay_found"
	LightLoadOdd  Code = "light_load_out_of_step"
	TooManyRatios Code = "too_many_ratios"

	// Of a log without slip: it holds, or why that is not shown.
	NoSlipSeen       Code = "no_slip_seen"
	CarriedAtLeast   Code = "carried_at_least"
	NothingAsked     Code = "nothing_asked"
	LoadNotRecorded  Code = "load_not_recorded"
	NeverFullLoad    Code = "never_full_load"
	LinkHidesSlip    Code = "link_hides_slip"
	RoadHidesSlip    Code = "road_hides_slip"
	NoLongPull       Code = "no_long_pull"
	RefreshTooSlow   Code = "refresh_too_slow"
	LinkTooSlow      Code = "link_too_slow"
	RanFree          Code = "ran_free_under_load"
	StoodAhead       Code = "stood_ahead_unproven"
	GapUnderLoad     Code = "gap_under_load"
	GearOnlyLoaded   Code = "gear_only_under_load"
	GearOffFile      Code = "gear_off_file"
	BriefDepartures  Code = "brief_departures"
	LooksLikeSlip    Code = "looks_like_slip"
	MaybeEngagement  Code = "maybe_engagement"
	MaybeWheelspin   Code = "maybe_wheelspin"
	MaybeCreep       Code = "maybe_tyre_creep"
	MaybeShift       Code = "maybe_shift"
	MaybePedal       Code = "maybe_pedal"
	MaybeNoForce     Code = "maybe_no_force"
	MaybeOtherGear   Code = "maybe_other_gear"
	MaybeSpeedSignal Code = "maybe_speed_signal"
	MaybeCarriedMore Code = "maybe_carried_more"
	MaybeShort       Code = "maybe_short"

	// What to drive.
	SayManual      Code = "say_manual"
	RepeatPull     Code = "repeat_pull"
	OneCoolPull    Code = "one_cool_pull"
	ThreePulls     Code = "three_pulls"
	BedInThenPulls Code = "bed_in_then_pulls"
	FasterLink     Code = "faster_link"
	EachGearLight  Code = "each_gear_light"
	LightFirst     Code = "each_gear_light_first"
	GearGently     Code = "gear_gently"
	CheckRatio     Code = "check_ratio_first"
	PullAgain      Code = "pull_again"
	PullWithoutGap Code = "pull_without_gap"
	PullDry        Code = "pull_dry_higher_gear"
	PullHeld       Code = "pull_held_in_gear"
	PullOffPedal   Code = "pull_foot_off_clutch"
	PullLowerFirst Code = "pull_lower_gears_first"
	PullQuicker    Code = "pull_quicker_link"
)

var ofSlip = language{
	EngineRanAway: {says: "the engine ran away from the road speed"},
	SomethingElse: {says: "something moved that may not be the clutch"},
	SlipHidden:    {says: "slip below {{.slip}} would not have shown", example: []Value{Pct("slip", 4.6)}},
	SlipWouldShow: {says: "{{.slip}} lasting {{.lasting.Digits 2}} would have shown",
		example: []Value{Pct("slip", 2.4), Duration("lasting", 0.5)}},
	FirstGearMaySpin:  {says: "first gear: the wheels may spin as well as the clutch"},
	ExcessUnproven:    {says: "the engine stood ahead by more than the log's own errors make, but not by enough to prove slip"},
	PullTooShortToSee: {says: "too short"},

	ClutchSlipped: {says: "The clutch slipped {{.events.Times}} under load, by up to {{.most.Fixed 0}}.",
		example: []Value{Count("events", 3), Pct("most", 12)}},
	NoFootOnClutch: {says: "No foot was on the clutch pedal, as its switch shows."},
	DryAsTold:      {says: "That the wheels did not spin instead rests on what was told: all roads were paved and dry."},
	RollersLookAlike: {says: "On a rolling road a tyre that slips on the roller or a loose strap looks the same: " +
		"watch both and repeat it once."},
	FourWheelDrive: {says: "four-wheel drive: no wheel is undriven, so wheelspin cannot be told from slip by the " +
		"speeds; drive on a dry road and see whether it slips there too"},
	SlipOrGearbox: {says: "The engine ran away from the road speed under load {{.events.Times}}, but the log does " +
		"not show whether the gearbox is manual: one that slips by design looks the same.",
		example: []Value{Count("events", 2)}},
	SlipUnsure: {says: "What looks like slip was seen {{.events.Times}}, and a single time does not prove it: " +
		"repeat the pull once after the clutch has cooled.",
		example: []Value{Count("events", 1)}},
	NotBeddedIn: {says: "Not yet: the clutch has run {{.driven}} of the {{.needed}} that bedding-in takes, and " +
		"before that neither slip nor grip proves anything.",
		example: []Value{Distance("driven", 62), Distance("needed", 500)}},
	NoFullLoadYet: {says: "Slip was seen: no more full load until then."},

	GearboxSlips: {says: "The gearbox is {{if .dual_clutch}}dual " +
		"clutch{{else if .cvt}}cvt{{else}}automatic{{end}}: it slips a little by design, so only a " +
		"manual gearbox is judged.", example: []Value{Flag("dual_clutch", true), Flag("cvt", false)}},
	GearboxLooks: {says: "The gearbox changes gear without a break of force, or the engine is not tied to the " +
		"wheels in easy driving: this looks like an automatic, dual-clutch or stepless gearbox, which slips by " +
		"design, so it is not judged. If it is manual, say so: --gearbox manual, or type = \"manual\" under " +
		"[gearbox] in the vehicle file."},
	NoGearsShown: {says: "The log does not show the gears: outside hard pulls, where a clutch may slip, engine speed " +
		"and road speed nowhere keep one ratio for long enough. Nothing can be said about the clutch."},
	NoDelayFound: {says: "By how much road speed comes late could not be found, and a wrong delay looks like slip " +
		"whenever the car speeds up: check the time stamps of the log."},
	LightLoadOdd: {says: "Engine speed and road speed do not keep step in this log even at light load, where no " +
		"clutch slips: the gears, the delay or the signals are not understood, so nothing smaller can be told."},
	TooManyRatios: {says: "The log shows {{.ratios}} ratios of engine speed to road speed, more than a manual " +
		"gearbox has gears: some of them may be slip of a constant size.", example: []Value{Count("ratios", 8)}},

	NoSlipSeen: {says: "{{with .held}}Carried at least {{.AtLeast}} without slip (best estimate {{.}}){{else}}No " +
		"slip seen{{end}} in " +
		"{{if eq .pulls.Int 1}}{{if .hardest}}the hardest pull of this log{{else}}one single full-load pull{{end}}" +
		"{{else}}{{if .hardest}}the {{.pulls}} hardest pulls of this log{{else}}{{.pulls}} full-load pulls{{end}}" +
		"{{end}}{{with .up_to}} up to {{.}}{{end}}{{if ne .pulls.Int 1}}{{if .hot}}, the last one hot{{else}}, none of them hot{{end}}{{end}}; {{.slip}} lasting " +
		"{{.lasting.Digits 2}} would have shown.",
		example: []Value{Estimate("held", NewtonMetres, about(282, 15)), Count("pulls", 3),
			Flag("hardest", false), EngineSpeed("up_to", 2540), Flag("hot", true), Pct("slip", 2.4),
			Duration("lasting", 0.5)}},
	CarriedAtLeast: {says: "Carried at least {{.held.AtLeast}} without slip (best estimate {{.held}})",
		example: []Value{Estimate("held", NewtonMetres, about(282, 15))}},
	NothingAsked: {says: "The engine was never asked for much in this log, so it shows nothing about the clutch."},
	LoadNotRecorded: {says: "No slip seen, but neither throttle nor load tells how hard the engine worked" +
		"{{with .most}}, and the hardest pull took {{.}} of the {{$.peak}} that the engine gives: the clutch was not " +
		"put to the test.{{else}} and no " +
		"pull was hard enough, so whether the clutch was put to the test is not known: record one of them, or give a " +
		"vehicle file with mass, tyre, ratios and the engine's peak torque.{{end}}",
		example: []Value{Torque("most", 98), Torque("peak", 195)}},
	NeverFullLoad: {says: "No slip seen, but no pull was held at full load above {{.above}}: the clutch was " +
		"not put to the test.",
		example: []Value{EngineSpeed("above", 2267)}},
	LinkHidesSlip: {says: "No slip seen, but with a value every {{.every}} one below {{.slip.Digits 2}} lasting " +
		"{{.lasting.Digits 2}} could not have been told in the full-load pulls: poll fewer channels, or use a " +
		"faster link, and pull for six seconds and longer.",
		example: []Value{Duration("every", 0.9), Pct("slip", 6.2), Duration("lasting", 6)}},
	RoadHidesSlip: {says: "No slip seen, but in the full-load pulls one below {{.slip.Digits 2}} could not have " +
		"been told from tyres, timing and the steps of road speed.", example: []Value{Pct("slip", 4)}},
	NoLongPull: {says: "No slip seen, but no pull was long and steady enough to show a small one."},
	RefreshTooSlow: {says: "No sure slip was seen, but the control unit refreshed road speed only every " +
		"{{.every}}, however often it was asked: too slow to prove that the clutch holds. A satellite receiver of " +
		"5 Hz or more does.",
		example: []Value{Duration("every", 2.4)}},
	LinkTooSlow: {says: "No sure slip was seen, but a value came only every {{.every}}: too slow to prove that " +
		"the clutch holds; poll fewer channels, or use a faster link.", example: []Value{Duration("every", 2.6)}},
	RanFree: {says: "No sure slip was seen, but from {{.from.Number 0}} to {{.to.Fixed 0}}{{with .log}} of {{.}}{{end}} " +
		"the engine ran under load with no gear that fits: a clutch that let go, or a gear that was missed.",
		example: []Value{Duration("from", 60), Duration("to", 64), Name("log", "monday.csv")}},
	StoodAhead: {says: "No sure slip was seen, but at {{.at.Fixed 0}}{{with .log}} of {{.}}{{end}}, at full load in " +
		"gear {{.gear}}, the engine stood ahead by more than the log's own errors make, and by less than proves slip.",
		example: []Value{Duration("at", 60), Gear(4)}},
	GapUnderLoad: {says: "No sure slip was seen, but at {{.at.Fixed 0}}{{with .log}} of {{.}}{{end}} values are missing under " +
		"load, and beside the gap the engine stood off its gear: a clutch that let go, or a gear change.",
		example: []Value{Duration("at", 60)}},
	GearOnlyLoaded: {says: "No sure slip was seen, but gear {{.gear}} was only driven under load, entered from a " +
		"taller gear without a break of force: slip of a constant size looks the same.", example: []Value{Gear(3)}},
	GearOffFile: {says: "No slip was seen against the log's own gearing, but gear {{.gear}} stands more than " +
		"{{.off.Fixed 0}} off its place in the vehicle file: a wrong ratio, or slip at any load.",
		example: []Value{Gear(3), Pct("off", 5)}},
	BriefDepartures: {says: "The engine ran ahead for less than a second {{.events.Times}}, locked before and " +
		"after: too short to be sure, too often to be chance.", example: []Value{Count("events", 3)}},
	LooksLikeSlip: {says: "What looks like slip was seen {{.events.Times}}, but not for sure: at {{.at.Fixed 0}}" +
		"{{with .log}} of {{.}}{{end}} the engine ran {{.ahead.Fixed 0}} ahead in gear {{.gear}} for {{.lasting}}, which {{.cause}} could have " +
		"made.",
		example: []Value{Count("events", 1), Duration("at", 60), Pct("ahead", 8), Gear(3),
			Duration("lasting", 1.2), Saying("cause", New(MaybeWheelspin))}},
	MaybeEngagement:  {says: "a clutch let in slowly, or a gear that the log does not show otherwise,"},
	MaybeWheelspin:   {says: "spinning wheels"},
	MaybeCreep:       {says: "tyres that creep on a loose road"},
	MaybeShift:       {says: "a late lift before a gear change"},
	MaybePedal:       {says: "a foot on the clutch pedal"},
	MaybeNoForce:     {says: "a gear change or a lift"},
	MaybeOtherGear:   {says: "another gear"},
	MaybeSpeedSignal: {says: "what this log shows at light load too, a delay or a dial,"},
	MaybeCarriedMore: {says: "something other than the clutch (that carried far more at another time)"},
	MaybeShort:       {says: "one late value"},

	SayManual: {says: "if the gearbox is manual, say so: --gearbox manual, or type = \"manual\" under [gearbox] " +
		"in the vehicle file"},
	OneCoolPull: {says: "to tell how it slips: with the clutch cool, one full-load pull in a high gear, begun five " +
		"seconds after the change of gear; lift at the first flare"},
	RepeatPull: {says: "one short full-load pull in the same gear, after ten minutes of easy driving; lift at the " +
		"first sign of slip"},
	ThreePulls: {says: "three full-load pulls in the highest legal gear from below the torque peak through it, " +
		"the last one hot"},
	BedInThenPulls: {says: "easy driving up to {{.needed}}, then three full-load pulls in the highest legal gear " +
		"from below the torque peak through it, the last one hot", example: []Value{Distance("needed", 500)}},
	FasterLink: {says: "poll fewer channels, or use a faster link"},
	EachGearLight: {says: "a drive with few channels on a quick link, some minutes of it at light throttle in " +
		"each gear"},
	LightFirst:     {says: "a few minutes at light throttle in each gear, recorded before the pulls"},
	GearGently:     {says: "gear {{.gear}} once gently, for ten seconds", example: []Value{Gear(3)}},
	CheckRatio:     {says: "nothing before the ratio in the vehicle file is checked"},
	PullAgain:      {says: "that pull again"},
	PullWithoutGap: {says: "that pull again, without a gap in the recording"},
	PullDry: {says: "that pull on a dry road in a higher gear{{if not .dry}}; if the road was paved and dry all the way, " +
		"say so: --dry-road, or dry_road = true in the job file{{end}}", example: []Value{Flag("dry", false)}},
	PullHeld:       {says: "that pull again, held in gear to its end"},
	PullOffPedal:   {says: "that pull again with the foot well off the pedal"},
	PullLowerFirst: {says: "the lower gears once gently, and that pull again with the foot well off the pedal"},
	PullQuicker:    {says: "that pull again on a quicker link"},
}
