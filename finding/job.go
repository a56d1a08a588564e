package finding

// What is said of a job, and of a vehicle in a fleet.
const (
	NoLogAfter Code = "no_log_after"
	VINDiffers Code = "vin_differs"
	Excluded   Code = "excluded" // a recording that the job file leaves out

	NoFreeRevs  Code = "no_free_revs"  // of a plan
	FewFreeRevs Code = "few_free_revs" // of a plan

	LostCapacity  Code = "lost_capacity"
	SlipsSince    Code = "slips"
	InertiaDrifts Code = "inertia_drifts"
	FullLoadDue   Code = "full_load_due"
	NotTold       Code = "inconclusive"
	Overdue       Code = "overdue"

	// Why there is no margin.
	NoRating    Code = "no_rating"
	NoHeldSlips Code = "no_margin_slips"
	HeldUnknown Code = "held_unknown"
	MarginOdd   Code = "margin_no_number"
)

var ofJobs = language{
	NoLogAfter: {says: "There is no log from after the work."},
	VINDiffers: {says: "{{.file}} was recorded in a car of VIN {{.logged}}, the job file says {{.stated}}: is it " +
		"the right log?",
		example: []Value{Name("file", "a.csv"), Name("logged", "A..."), Name("stated", "B...")}},
	Excluded: {says: "{{.reason}}", example: []Value{Name("reason", "rain")}},

	NoFreeRevs: {says: "the log shows no free rev that can be used, so the plan takes the usual links"},
	FewFreeRevs: {says: "the log shows {{.runs}} free revs; with so few the usual scatter from run to run stands " +
		"in", example: []Value{Count("runs", 3)}},

	LostCapacity: {says: "The clutch held {{.held}} on {{.day}} and slips from {{.onset}} now, with the same parts.",
		example: []Value{Torque("held", 282), Name("day", "2026-05-09"), Torque("onset", 235)}},
	SlipsSince: {says: "The clutch slips under load since {{.day}} at the latest.",
		example: []Value{Name("day", "2026-05-09")}},
	InertiaDrifts: {says: "The rotating inertia changed by {{.change.Signed 1}} over {{.jobs}} jobs with the same " +
		"parts: something turns with the engine that did not, or the measurement changed.",
		example: []Value{Pct("change", 8.1), Count("jobs", 4)}},
	FullLoadDue: {says: "The clutch was still bedding in on {{.day}}: the pulls at full load are due.",
		example: []Value{Name("day", "2026-05-09")}},
	NotTold: {says: "Whether the clutch holds could not be told on {{.day}}.",
		example: []Value{Name("day", "2026-05-09")}},
	Overdue: {says: "The last job was on {{.day}}, {{.days}} days ago: a drive is due.",
		example: []Value{Name("day", "2026-05-09"), Count("days", 400)}},

	NoRating:    {says: "the vehicle file gives no torque_rating_nm of the clutch that is in the car"},
	NoHeldSlips: {says: "the clutch slips: no torque was seen to be held"},
	HeldUnknown: {says: "how much torque was held is not known"},
	MarginOdd:   {says: "the torque held or the rating is no number that can be"},
}
