package finding

// What the reader says of a table of another logger that it had to make sense of.
const (
	BrokenOff        Code = "broken_off"
	RepeatedHeadings Code = "repeated_headings"
	AnotherTable     Code = "another_table"
	TableAbove       Code = "table_above"
	FilesLeftOut     Code = "files_left_out"
	DeadSpeed        Code = "dead_speed"
	ShareAsPercent   Code = "share_as_percent"
	PedalInPercent   Code = "pedal_in_percent"
	TorqueAsShare    Code = "torque_as_share"
	SpeedInMiles     Code = "speed_in_miles"
	UnitFromCar      Code = "unit_from_car"
	GearsOfNoCar     Code = "gears_of_no_car"
	SpeedBackwards   Code = "speed_backwards"
	NoValueMarks     Code = "no_value_marks"
	ThousandsMark    Code = "thousands_mark"
	ClockInMinutes   Code = "clock_in_minutes"
	SummaryRows      Code = "summary_rows"
	TimeNotUsed      Code = "time_not_used"
	ColumnLeftOut    Code = "column_left_out"
	IdleOption       Code = "option_without_effect"
	JoinedFiles      Code = "joined_files"
)

var ofTables = language{
	BrokenOff: {says: "{{.file}}: the packed file broke off: the {{.rows}} rows before that are read",
		example: []Value{Name("file", "a.csv.gz"), Count("rows", 1310)}},
	RepeatedHeadings: {says: "{{.file}}: the heading row stands again in {{.places}} places: passed over",
		example: []Value{Name("file", "a.csv"), Count("places", 2)}},
	AnotherTable: {says: "{{.file}}:{{.line}}: another table begins here ({{.headings}}): the rows above it are read; save it as a file " +
		"of its own",
		example: []Value{Name("file", "a.csv"), Count("line", 303), Name("headings", `"Time (s)", "Oil (C)"`)}},
	TableAbove: {says: "{{.file}}:{{.line}}: another table stands above these headings: its {{.rows}} rows are not read; save it as a file of its own",
		example: []Value{Name("file", "a.csv"), Count("line", 63), Count("rows", 60)}},
	FilesLeftOut: {says: "{{.file}}: {{.files}} files in the archive hold no log and are left out: {{.names}}",
		example: []Value{Name("file", "a.zip"), Count("files", 2), Name("names", `"notes.txt", "index.csv"`)}},
	ShareAsPercent: {says: "{{.file}}: {{quoted .column}} runs from 0 to 1 in fine steps: it is read as a share, 1 for 100 %; if it is per cent, " +
		"say so: --map \"{{.channel}}={{.column}}:%\"",
		example: []Value{Name("file", "a.csv"), Name("column", "Throttle"), Name("channel", "throttle_pct")}},
	PedalInPercent: {says: "{{.file}}: {{.channel}} ({{quoted .column}}) has no unit and reaches {{.top.Digits 3}}: it is read as per cent of the pedal's way",
		example: []Value{Name("file", "a.csv"), Name("channel", "clutch_switch"), Name("column", "Clutch pedal"), Number("top", 98)}},
	TorqueAsShare: {says: "{{.file}}: {{quoted .column}} has no unit and is read as per cent of the reference torque; if it is N m, write so in its heading",
		example: []Value{Name("file", "a.csv"), Name("column", "Engine torque")}},
	DeadSpeed: {says: "{{.file}}: {{.channel}} ({{quoted .column}}) is zero throughout while the car moves: it is left out",
		example: []Value{Name("file", "a.csv"), Name("channel", "gps_speed_kmh"), Name("column", "GPS speed")}},
	SpeedInMiles: {says: "{{.file}}: {{quoted .column}} has no unit, but all its values are whole km/h turned into mph: " +
		"it is read as mph; if it is not, say so: --map \"{{.channel}}={{.column}}:km/h\"",
		example: []Value{Name("file", "a.csv"), Name("column", "Speed"), Name("channel", "vehicle_speed_kmh")}},
	UnitFromCar: {says: "{{.file}}: {{quoted .column}} has no unit and cannot be {{.own}}: it is read as {{.unit}}, with which alone it " +
		"fits the rest of the log; if it is not, say so: --map \"{{.channel}}={{.column}}:{{.own}}\"",
		example: []Value{Name("file", "a.csv"), Name("column", "Speed"), Name("channel", "vehicle_speed_kmh"), Name("own", "km/h"), Name("unit", "m/s")}},
	GearsOfNoCar: {says: "{{.file}}: {{quoted .engine}} and {{quoted .speed}} go together as in no car, at {{.low.Digits 2}} to {{.high.Digits 3}} rpm per km/h: " +
		"check their units; --map gives another",
		example: []Value{Name("file", "a.csv"), Name("engine", "Engine (rpm)"), Name("speed", "Speed (km/h)"), Number("low", 115), Number("high", 473)}},
	SpeedBackwards: {says: "{{.file}}: {{.channel}} ({{quoted .column}}) is negative all the way: the sign is taken off",
		example: []Value{Name("file", "a.csv"), Name("channel", "vehicle_speed_kmh"), Name("column", "Speed")}},
	NoValueMarks: {says: "{{.channel}}: {{.cells}} of {{quoted .column}} hold a number that stands for no value, such as 9999, and are left out",
		example: []Value{Name("channel", "engine_speed_rpm"), Name("column", "RPM"), Count("cells", 12)}},
	ThousandsMark: {says: "{{.file}}: {{quoted .column}} goes on from 999 to 1.000: the point is taken for a thousands mark",
		example: []Value{Name("file", "a.csv"), Name("column", "RPM")}},
	ClockInMinutes: {says: "{{.file}}: {{quoted .column}} has no unit and is read as minutes: in seconds no tyre would speed the car up or slow it " +
		"down like that; --time \"{{.column}}:s\" would say seconds",
		example: []Value{Name("file", "a.csv"), Name("column", "Time")}},
	SummaryRows: {says: "{{.file}}: {{if eq .rows.Int 1}}the last row steps{{else}}the last {{.rows}} rows step{{end}} far back in time, as averages under a table do: left out",
		example: []Value{Name("file", "a.csv"), Count("rows", 2)}},
	TimeNotUsed: {says: "{{.file}}: rows are counted at {{.rate.Digits 6}} a second, as --rate says; the times in " +
		"{{quoted .column}} are not used",
		example: []Value{Name("file", "a.csv"), Name("column", "t"), Number("rate", 20)}},
	ColumnLeftOut: {says: "{{.why}}; until then it is left out",
		example: []Value{Name("file", "a.csv"), Name("why", `a.csv: gps_speed_kmh could be any of "GPS speed", `+
			`"GPS velocity": say which with --map "gps_speed_kmh=GPS speed"`)}},
	IdleOption: {says: "{{.option}} changes nothing: {{.file}} is read so without it",
		example: []Value{Name("file", "a.csv"), Name("option", `--time "Time:s"`)}},
	JoinedFiles: {says: "{{.file}}: {{.files}} files with a part of the channels each are joined by time into one drive",
		example: []Value{Name("file", "a.csv"), Count("files", 2)}},
}
