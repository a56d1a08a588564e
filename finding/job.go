package finding

// What is said of a job and its promise.
const (
	NoLogAfter Code = "no_log_after"
	Excluded   Code = "excluded" // a recording that the job file leaves out
)

var ofJobs = language{
	NoLogAfter: {says: "There is no log from after the work."},
	Excluded:   {says: "{{.reason}}", example: []Value{Name("reason", "rain")}},
}
