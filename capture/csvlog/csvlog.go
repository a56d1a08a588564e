// Package csvlog reads any logger's delimited text into a drive.Log.
//
// It finds the delimiter, the decimal mark, the heading row, the units, the clock and the columns by what they say, and reports as a
// warning whatever it had to assume. What it cannot settle safely is an error that names the candidates and the option that
// settles it. Values that a logger repeated until the next reply came are dropped (see sample_and_hold.go), and time stamps in whole seconds are
// spread over the rows of their second (see stamps.go), because both would otherwise pass for measurements.
package csvlog

// Options settle what a table does not say itself.
type Options struct {
	Map  []string // "engine_speed_rpm=Eng Spd", "vehicle_speed_kmh=VSpd:mph": channel, heading and unit
	Time string   // "Time:ms": heading and unit of the time column
	Rate float64  // rows a second, of a table without a time column; 0: it has one
	// Partial takes a table without engine speed or without road speed: another file holds the rest of the drive. Times that are no dates
	// then count from where the logger's do.
	Partial bool
	Size    int64 // bytes of the file, so that room is made once; 0: nobody knows
}

// IsRate tells whether a logger writes so many rows a second.
func IsRate(rate float64) bool { return rate >= 0.1 && rate <= 1000 }
