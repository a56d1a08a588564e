// Package reading is the flags by which both programs are told how a table is to be read.
package reading

import (
	"errors"
	"strconv"

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
	fl.Var((*rate)(&f.options.Rate), "rate", "`ROWS` a second, of a table that has no time column")
}

// Options returns what was said.
func (f *Flags) Options() csvlog.Options { return f.options }

// rate is a flag of rows a second: where it is given, none is a mistake.
type rate float64

func (r *rate) String() string { return strconv.FormatFloat(float64(*r), 'g', -1, 64) }
func (r *rate) Type() string   { return "rate" }

func (r *rate) Set(text string) error {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || !csvlog.IsRate(v) {
		return errors.New("want rows a second from 0.1 to 1000, with a decimal point")
	}
	*r = rate(v)
	return nil
}
