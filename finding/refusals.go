package finding

// Why a run is not used. What stands behind each is in the table of package practice.
const (
	VehicleMoving     Code = "vehicle_moving"
	PeakTooLow        Code = "peak_too_low"
	RoseAgain         Code = "rose_again"
	CutShort          Code = "cut_short"
	TooFewSamples     Code = "too_few_samples"
	SpanTooSmall      Code = "span_too_small"
	Gap               Code = "gap"
	RateImplausible   Code = "rate_implausible"
	ThrottleOpen      Code = "throttle_open"
	ThrottleHeldByCar Code = "throttle_held_by_car"
	KeptFuelling      Code = "kept_fuelling"
	DiffersFromOthers Code = "differs_from_others"
	FootMixed         Code = "foot_on_clutch_mixed"
	WholeSeconds      Code = "whole_second_stamps"
	ThrottleByWire    Code = "throttle_by_wire"
	PictureOnly       Code = "picture_only"
	Braked            Code = "braked"
	Pushed            Code = "pushed"
	TooShort          Code = "too_short"
	PullSpanTooSmall  Code = "pull_span_too_small"
	PullTooShort      Code = "pull_too_short"
	NotRepeated       Code = "not_repeated"
	TorqueByGear      Code = "torque_differs_between_gears"
)

// What a set of logs, or both sides, cannot tell.
const (
	SoftLimitMet       Code = "soft_limit"
	EngineStopped      Code = "engine_stopped"
	FootDiffers        Code = "foot_on_clutch_differs"
	DifferentVehicle   Code = "different_vehicle"
	CalibrationDiffers Code = "calibration_differs"
	StillLearning      Code = "still_learning"
	NoBefore           Code = "no_before"
	NoAfter            Code = "no_after"
)

var ofRuns = language{
	VehicleMoving: {says: "the car was moving ({{.speed}})", next: "stand still in neutral for free revs",
		example: []Value{Speed("speed", 12)}},
	PeakTooLow: {says: "revved only to {{.peak}}", next: "rev to about 4000 rpm, hold it for a moment, then let " +
		"go at once",
		example: []Value{EngineSpeed("peak", 2600)}},
	RoseAgain: {says: "engine speed rose again at {{.at}}",
		next: "let it fall to idle without touching the throttle", example: []Value{EngineSpeed("at", 2300)}},
	CutShort: {says: "the record of the fall stops at {{.at}}",
		next:    "let it fall to idle before anything else, and let the recording run on",
		example: []Value{EngineSpeed("at", 2300)}},
	TooFewSamples: {says: "only {{.samples}} samples in the fall",
		next: "record engine speed alone for free revs, or rev higher", example: []Value{Count("samples", 2)}},
	SpanTooSmall: {says: "too little of the fall is left ({{.from.Bare}} to {{.to}})",
		next:    "rev higher and let it fall to idle",
		example: []Value{EngineSpeed("from", 2100), EngineSpeed("to", 1550)}},
	Gap: {says: "a gap of {{.lasting}} in the record of the fall",
		next:    "check the adapter, close other apps on the link, and repeat",
		example: []Value{Duration("lasting", 1.4)}},
	RateImplausible: {says: "engine speed fell at {{.rate}}, which no free engine does",
		next:    "put the lever in neutral and take the foot off the throttle at once",
		example: []Value{Quantity("rate", RPMPerSecond, 150)}},
	ThrottleOpen: {says: "the throttle was still {{.above.Fixed 0}} above closed in the fall",
		next:    "lift the foot off at once and fully, then let it fall to idle",
		example: []Value{Pct("above", 6)}},
	ThrottleHeldByCar: {says: "you lifted, the car kept the throttle open for {{.lasting}}",
		next:    "rev some hundred rpm higher, so that the part below is clean",
		example: []Value{Duration("lasting", 0.8)}},
	KeptFuelling: {says: "the engine kept fuelling in this fall and not in others",
		next: "repeat with the engine fully warm"},
	DiffersFromOthers: {says: "fell {{.off.Fixed 0}} {{if .faster}}faster{{else}}slower{{end}} than the other " +
		"runs (throttle not shut, clutch, or a consumer switched on)",
		next: "switch consumers off and repeat it like the others", example: []Value{Pct("off", 12),
			Flag("faster", false)}},
	NotRepeated: {says: "the falls differ by {{.off.Fixed 0}} from one to the next, so something beside the " +
		"engine's own drag moves it (anti-lag, a mild hybrid, a foot on the accelerator)",
		next:    "switch it off, and repeat the free revs",
		example: []Value{Pct("off", 30)}},
	FootMixed: {says: "the foot was {{if .on}}on{{else}}off{{end}} the clutch in this run and not in the others",
		next:    "keep the foot off the clutch in every free rev",
		example: []Value{Flag("on", true)}},
	WholeSeconds: {says: "time stamps are whole seconds and there are only {{.rate.Number 1}} samples a second",
		next:    "use a recorder that stamps finer, or one that samples at least four times a second",
		example: []Value{Quantity("rate", PerSecond, 1)}},
	ThrottleByWire: {says: "the rise shows what the control unit did with the throttle; it is a picture beside " +
		"the falls", next: "nothing to do"},
	PictureOnly: {says: "the rise shows how the throttle was opened; it is a picture beside the falls",
		next: "nothing to do"},
	Braked: {says: "slowed by {{.slowing}}, more than rolling does", next: "keep off the brake from start to end",
		example: []Value{Acceleration("slowing", 1.9)}},
	Pushed: {says: "slowed by only {{.slowing}}, less than the others: downhill, or a foot on the accelerator",
		next:    "level road, foot right off",
		example: []Value{Acceleration("slowing", 0.3)}},
	TooShort: {says: "too short ({{.lasting}})", next: "let it run longer with a steady foot",
		example: []Value{Duration("lasting", 3.2)}},
	PullSpanTooSmall: {says: "the pull covers only {{.from.Bare}} to {{.to}}",
		next:    "start below the torque peak and keep the foot down to near the limit",
		example: []Value{EngineSpeed("from", 2600), EngineSpeed("to", 3100)}},
	PullTooShort: {says: "a pull of {{.lasting}} has too few samples",
		next:    "record engine and road speed only, or use a higher gear",
		example: []Value{Duration("lasting", 1.3)}},
	TorqueByGear: {says: "at equal engine speed the engine gave {{.off.Fixed 0}} " +
		"{{if .more}}more{{else}}less{{end}} than in gear {{.gear}}",
		next:    "pull from lower down, so that the boost is there, or use the next higher gears",
		example: []Value{Pct("off", 9), Flag("more", false), Gear(3)}},
}

var ofSets = language{
	SoftLimitMet: {says: "the revs all end near {{.at}}, where the car seems to hold the standing engine; the " +
		"window follows what was reached",
		next:    "lift as soon as the limit is reached; rev before and after to the same speed",
		example: []Value{EngineSpeed("at", 3950)}},
	EngineStopped: {says: "the engine stopped after a free rev", next: "switch it off before you begin"},
	FootDiffers: {says: "the foot was on the clutch on one side and off on the other, so disc, input shaft and " +
		"gearbox drag are in one and not in the other",
		next: "repeat the free revs of one side with the foot as on the other"},
	DifferentVehicle: {says: "{{if .error}}error: {{end}}the logs come from different cars (VIN {{.vins}})",
		next:    "compare logs of one car",
		example: []Value{Name("vins", "A..., B..."), Flag("error", false)}},
	CalibrationDiffers: {says: "the control unit's calibration changed between the logs ({{.calibrations}}), " +
		"which moves the closed-throttle drag",
		next: "swing the old and the new part on a pendulum, or record off-throttle in gear and neutral coasts on " +
			"both sides, which do not depend on the drag",
		example: []Value{Name("calibrations", "A, B")}},
	StillLearning: {says: "the {{if .before}}before{{else}}after{{end}} side was driven only {{.driven}} after a " +
		"reset of the control unit, which is still learning",
		next:    "drive {{.needed}} and repeat the free revs",
		example: []Value{Flag("before", false), Distance("driven", 12), Distance("needed", 50)}},
	NoBefore: {says: "there is no log from before the job, so a drive can no longer show a change",
		next: "swing the old parts beside the new ones on a pendulum, which still could"},
	NoAfter: {says: "there is no log from after the job, so a change is not known yet",
		next: "drive the same runs after the job"},
}
