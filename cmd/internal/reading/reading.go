// Package reading is the flags by which both programs are told how a table is to be read.
package reading

import (
	"flywitness/capture/csvlog"

	"github.com/spf13/cobra"
)

// Flags settle what a table does not say itself.
type Flags struct{ options csvlog.Options }

// Add adds the flags to a command.
func (f *Flags) Add(cmd *cobra.Command) {
	fl := cmd.Flags()
	fl.StringArrayVar(&f.options.Map, "map", nil, "`CHANNEL=COLUMN`: which column a channel is in, such as \"engine_speed_rpm=Eng Spd\" or \"vehicle_speed_kmh=VSpd:mph\"; #3 is the third column (repeats)")
	fl.StringVar(&f.options.Time, "time", "", "which `COLUMN` is the time, and its unit: \"Time:ms\"")
	fl.Float64Var(&f.options.Rate, "rate", 0, "`ROWS` a second, of a table that has no time column")
}

// Options returns what was said.
func (f *Flags) Options() csvlog.Options { return f.options }
