package finding

// What the readers say of a file: a session, a table, a drive from a database.
const (
	NoCheck      Code = "no_check"      // no check column: a change would go unnoticed
	HeaderCheck  Code = "header_check"  // the header was changed
	HeaderLine   Code = "header_line"   // a header line or "created" cannot be read
	SkippedLines Code = "skipped_lines" // lines that fail their check or cannot be read
	TornLine     Code = "torn_line"     // the last line broke off

	UnreadableCells   Code = "unreadable_cells"
	AbsurdValues      Code = "absurd_values"
	ImpossibleLeaps   Code = "impossible_leaps"
	DuplicateRows     Code = "duplicate_rows"
	FrozenRows        Code = "frozen_rows"
	FilledGaps        Code = "filled_gaps"
	CoarseStamps      Code = "coarse_stamps"
	SampleAndHold     Code = "sample_and_hold"
	DrawnLines        Code = "drawn_lines"
	SmoothedValues    Code = "smoothed_values"
	ClockRestarts     Code = "clock_restarts"
	ClockDigits       Code = "clock_digits" // 94103.25 is 9:41:03.25
	ClockTurns        Code = "clock_turns"  // a counter that is full begins again
	ClockSetBack      Code = "clock_set_back"
	ClockSetForward   Code = "clock_set_forward"
	BunchedStamps     Code = "bunched_stamps"
	StrayTimes        Code = "stray_times"
	ClocksApart       Code = "clocks_apart"
	DelayJumps        Code = "delay_jumps"
	ClocksDisagree    Code = "clocks_disagree"
	OutOfOrder        Code = "out_of_order"
	AssumedTime       Code = "assumed_time"
	AssumedTimeUnit   Code = "assumed_time_unit"
	AssumedUnit       Code = "assumed_unit"
	AmbiguousColumn   Code = "ambiguous_column"
	DoubtfulColumn    Code = "doubtful_column"
	SessionNeedsNoMap Code = "session_needs_no_map"

	DriveIncomplete Code = "drive_incomplete" // the database does not hold all of it
	DriveCut        Code = "drive_cut"        // the range ends within it
	JobFile         Code = "job_file"         // what is unlikely in a job or vehicle file
)

var ofLogs = language{
	NoCheck: {says: "{{.file}}: no check column: nobody can tell whether the values are the recorded ones",
		example: []Value{Name("file", "a.csv")}},
	HeaderCheck: {says: "{{.file}}: {{if .missing}}no header_check: nobody can tell whether the header is the " +
		"recorded one; the rows are checked" +
		"{{else}}the header or the column row was changed after the recording began: look whether they are " +
		"right{{end}}",
		example: []Value{Name("file", "a.csv"), Flag("missing", false)}},
	HeaderLine: {says: "{{.file}}{{with .created}}: created is {{quoted .}}, not a time like " +
		"2026-05-09T10:15:00Z; the date is unknown" +
		"{{else}}:{{.line}}: a header line is written \"# key: value\"; this one is passed over{{end}}",
		example: []Value{Name("file", "a.csv"), Count("line", 3), Name("created", "yesterday")}},
	SkippedLines: {says: "{{.file}}: {{.skipped}} of {{.rows}} lines left out: line {{.lines}}",
		example: []Value{Name("file", "a.csv"), Count("skipped", 2), Count("rows", 400),
			Name("lines", "7 fails its check, 9 fails its check")}},
	TornLine: {says: "{{.file}}: the last line broke off{{if .session}}, as when the power goes{{end}}: it is " +
		"left out",
		example: []Value{Name("file", "a.csv"), Flag("session", true)}},

	UnreadableCells: {says: "{{.channel}}: {{.cells}} of {{quoted .column}} are no numbers and left out, the " +
		"first: {{.first}}",
		example: []Value{Name("channel", "engine_speed_rpm"), Count("cells", 8), Name("column", "Engine RPM"),
			Name("first", `line 9 "abc"`)}},
	AbsurdValues: {says: "{{.channel}}: {{.cells}} of {{quoted .column}} cannot be and are left out, the first: " +
		"{{.first}}",
		example: []Value{Name("channel", "engine_speed_rpm"), Count("cells", 8), Name("column", "Engine RPM"),
			Name("first", `line 9 "99999"`)}},
	ImpossibleLeaps: {says: "{{.channel}}: {{.cells}} of {{quoted .column}} leap away and back as no car does and are left " +
		"out, the first after {{.first}}",
		example: []Value{Name("channel", "vehicle_speed_kmh"), Count("cells", 8), Name("column", "Speed"),
			Name("first", "12.4 s")}},
	DuplicateRows: {says: "{{.file}}: {{.rows}} rows are written twice and read once",
		example: []Value{Name("file", "a.csv"), Count("rows", 12)}},
	FrozenRows: {says: "{{.file}}: {{.rows}} rows ({{.lasting.Fixed 0}}) repeat one row while the car moves: the " +
		"link hung, and they are left out",
		example: []Value{Name("file", "a.csv"), Count("rows", 12), Duration("lasting", 11)}},
	FilledGaps: {says: "{{.file}}: {{.rows}} rows ({{.lasting.Fixed 0}}) lie on straight lines in every channel: they were " +
		"filled in where the recording paused, and are left out",
		example: []Value{Name("file", "a.csv"), Count("rows", 12), Duration("lasting", 6)}},
	CoarseStamps: {says: "{{.file}}: time stamps in steps of {{.step.Digits 6}}: the rows are spread over their " +
		"step, and times stay uncertain by a part of it",
		example: []Value{Name("file", "a.csv"), Duration("step", 1)}},
	SampleAndHold: {says: "{{.file}}: rows repeat old values: {{.fresh}} of {{.rows}} rows carry a fresh engine speed",
		example: []Value{Name("file", "a.csv"), Count("fresh", 310), Count("rows", 1310)}},
	DrawnLines: {says: "{{.file}}: {{.channels}}: the logger drew straight lines between values about {{.every.Digits 2}} " +
		"apart: only these {{.replies}} of {{.rows}} rows count",
		example: []Value{Name("file", "a.csv"), Name("channels", "engine_speed_rpm, vehicle_speed_kmh"), Duration("every", 0.5),
			Count("replies", 310), Count("rows", 3100)}},
	SmoothedValues: {says: "{{.file}}: {{.channels}}: the logger smoothed its values over about {{.over.Digits 2}}: those that " +
		"it had read are worked out again and taken instead",
		example: []Value{Name("file", "a.csv"), Name("channels", "engine_speed_rpm, vehicle_speed_kmh"), Duration("over", 0.45)}},
	ClockRestarts: {says: "{{.file}}: the clock begins again {{.times}} times: each part is put {{.gap.Fixed 0}} " +
		"behind the one before",
		example: []Value{Name("file", "a.csv"), Count("times", 2), Duration("gap", 60)}},
	ClockDigits: {says: "{{.file}}: the times are clock times written as numbers: 94103.25 is 9:41:03.25",
		example: []Value{Name("file", "a.csv")}},
	ClockTurns: {says: "{{.file}}: the clock begins again at zero every {{.turn.Digits 6}}, {{.times}} times here: it is " +
		"counted on", example: []Value{Name("file", "a.csv"), Count("times", 2), Duration("turn", 65.536)}},
	ClockSetBack: {says: "{{.file}}: the clock was set back {{.times}} times while the car drove on, by up to " +
		"{{.by.Digits 3}}: what follows is moved on to where it belongs",
		example: []Value{Name("file", "a.csv"), Count("times", 1), Duration("by", 1.4)}},
	ClockSetForward: {says: "{{.file}}: the clock was set forward {{.by.Digits 4}} while the engine ran on: what follows is moved back to where it belongs",
		example: []Value{Name("file", "a.csv"), Duration("by", 3600)}},
	StrayTimes: {says: "{{.file}}: {{.rows}} rows stand days away from those around them: they are left out",
		example: []Value{Name("file", "a.csv"), Count("rows", 1)}},
	BunchedStamps: {says: "{{.file}}: {{.bunched}} of {{.rows}} rows were stamped in bunches, as a buffer hands them on: " +
		"they are spread over the time since the row before, and stay uncertain by a part of it",
		example: []Value{Name("file", "a.csv"), Count("bunched", 400), Count("rows", 1310)}},
	ClocksApart: {says: "{{.file}}: the clocks of {{.channel}} and of engine speed run apart by {{.rate.Digits 2}}, " +
		"{{.apart.Digits 2}} over the log: both are put on that of engine speed; which one is right nobody can tell, and " +
		"accelerations, torques and inertias may be off by as much",
		example: []Value{Name("file", "a.csv"), Name("channel", "gps_speed_kmh"), Pct("rate", 0.1), Duration("apart", 1.2)}},
	DelayJumps: {says: "{{.file}}: from {{.at.Fixed 0}} on {{.channel}} comes {{.by.Digits 2}} {{if .later}}later{{else}}earlier{{end}} " +
		"beside engine speed than before: it is taken as late as before",
		example: []Value{Name("file", "a.csv"), Name("channel", "vehicle_speed_kmh"), Duration("at", 431), Duration("by", 0.6),
			Flag("later", true)}},
	ClocksDisagree: {says: "{{.file}}: what lasts {{.span.Digits 3}} by {{quoted .column}} lasts {{.span_other.Digits 3}} by " +
		"{{quoted .other}}: the first is taken, and accelerations, torques and inertias are wrong by as much as it is; " +
		"--time \"{{.other}}\" takes the other",
		example: []Value{Name("file", "a.csv"), Name("column", "Time (s)"), Name("other", "Clock"), Duration("span", 39.9),
			Duration("span_other", 41.7)}},
	OutOfOrder: {says: "{{.file}}: {{if .newest_first}}the newest row stands first: read from its end{{else}}the " +
		"time steps back in {{.places}} places: the rows are " +
		"sorted by time{{end}}", example: []Value{Name("file", "a.csv"), Flag("newest_first", false),
		Count("places", 3)}},
	AssumedTime: {says: "{{.file}}: {{quoted .column}} is taken for the time column" +
		"{{if .epoch}}, because it holds times since 1970{{end}}; --time changes it",
		example: []Value{Name("file", "a.csv"), Name("column", "t"), Flag("epoch", true)}},
	AssumedTimeUnit: {says: "{{.file}}: {{quoted .column}} has no unit and is read as " +
		"{{if .days}}days{{else if .micro}}microseconds{{else if .nano}}nanoseconds{{else}}milliseconds{{end}}, because its steps are about " +
		"{{.step.Digits 4}}; --time \"{{.column}}:s\" would say seconds",
		example: []Value{Name("file", "a.csv"), Name("column", "t"), Flag("days", false), Flag("micro", false),
			Flag("nano", false), Number("step", 100)}},
	AssumedUnit: {says: "{{.file}}: {{quoted .column}} has no unit and is read as km/h; if it is not, say so: " +
		"--map \"{{.channel}}={{.column}}:mph\"",
		example: []Value{Name("file", "a.csv"), Name("column", "Speed"), Name("channel", "vehicle_speed_kmh")}},
	AmbiguousColumn: {says: "{{.file}}: {{.channel}} is read from {{quoted .column}}{{with .others}} and not from " +
		"{{.}}; --map \"{{$.channel}}=...\" changes it" +
		"{{else}}, {{quoted .other}} would do too; --map \"{{.channel}}={{.other}}\" changes it{{end}}",
		example: []Value{Name("file", "a.csv"), Name("channel", "vehicle_speed_kmh"), Name("column", "Speed"),
			Name("others", `"GPS speed"`), Name("other", "GPS speed")}},
	DoubtfulColumn: {says: "{{.file}}: {{.channel}} is read from {{quoted .column}}, a heading with words that " +
		"are not known; --map settles it",
		example: []Value{Name("file", "a.csv"), Name("channel", "vehicle_speed_kmh"),
			Name("column", "Speed of the wind")}},
	SessionNeedsNoMap: {says: "{{.file}} is a session file, whose columns have fixed names: --map and --time do " +
		"nothing to it", example: []Value{Name("file", "a.csv")}},
	DriveIncomplete: {says: "{{.drive}} {{if .of}}has {{.values}} of its {{.of}} values in the " +
		"database{{else}}was not sent to its end yet{{end}}: " +
		"send {{.file}} again with fw-logger push --again",
		example: []Value{Name("drive", "influx:vehicle=Mule"), Name("file", "a.csv"), Count("values", 400),
			Count("of", 1310)}},
	DriveCut: {says: "{{.drive}}: the range holds only a part of {{.whole}}; its SHA-256 is that of the values in it",
		example: []Value{Name("drive", "influx:vehicle=Mule,from=A,to=B"), Name("whole", "influx:vehicle=Mule")}},
	JobFile: {says: "{{.text}}", example: []Value{Name("text", "job.toml: a mass of 6000 kg is unusual")}},
}
