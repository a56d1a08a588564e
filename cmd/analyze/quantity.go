package main

import (
	"strings"

	"flywitness/cmd/internal/cli"
	"flywitness/vehicle"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// flagSuffixes are the endings by which a flag may give a quantity; the first is what help shows first.
var flagSuffixes = map[string][][2]string{
	"mass":   {{"kg", "kg"}, {"lb", "lb"}},
	"length": {{"mm", "mm"}, {"in", "in"}},
	"road":   {{"m", "m"}, {"ft", "ft"}},
	"force":  {{"n", "N"}, {"lbf", "lbf"}},
	"torque": {{"nm", "N m"}, {"lbft", "lbf ft"}},
	"speed":  {{"kmh", "km/h"}, {"mph", "mph"}},
}

// quantityFlag is one quantity that is given by any one of several flags, such as --mass-kg and --mass-lb.
type quantityFlag struct {
	flags *pflag.FlagSet
	stem  string
	kind  string
	given []float64
}

// addQuantity adds a flag for each unit of the kind.
func addQuantity(cmd *cobra.Command, stem, kind, usage string) *quantityFlag {
	q := &quantityFlag{flags: cmd.Flags(), stem: stem, kind: kind, given: make([]float64, len(flagSuffixes[kind]))}
	for i, s := range flagSuffixes[kind] {
		text := "the same in " + s[1]
		if i == 0 {
			text = usage + ", " + s[1]
		}
		q.flags.Float64Var(&q.given[i], stem+"-"+s[0], 0, text)
	}
	return q
}

// name is the first flag of the quantity.
func (q *quantityFlag) name() string { return "--" + q.stem + "-" + flagSuffixes[q.kind][0][0] }

// value returns the quantity in SI units and whether it was given; twice is wrong usage.
func (q *quantityFlag) value() (x float64, given bool, err error) {
	first := ""
	for i, s := range flagSuffixes[q.kind] {
		flag := q.stem + "-" + s[0]
		if !q.flags.Changed(flag) {
			continue
		}
		if first != "" {
			return 0, false, cli.Usagef("--%s and --%s give the same thing; keep one of them", first, flag)
		}
		unit, _ := vehicle.ParseUnit(s[1])
		first, x = flag, unit.ToSI(q.given[i])
	}
	return x, first != "", nil
}

// reader collects the first fault while several quantities are read.
type reader struct{ err error }

// need reads a quantity that must be given.
func (r *reader) need(q *quantityFlag) float64 {
	x, given, err := q.value()
	if err == nil && !given {
		err = cli.Usagef("%s is missing", q.name())
	}
	if r.err == nil {
		r.err = err
	}
	return x
}

// or reads a quantity, or takes what stands for it.
func (r *reader) or(q *quantityFlag, otherwise float64) float64 {
	x, given, err := q.value()
	if r.err == nil {
		r.err = err
	}
	if !given {
		return otherwise
	}
	return x
}

// given tells whether a quantity was given.
func (r *reader) given(q *quantityFlag) bool {
	_, given, err := q.value()
	if r.err == nil {
		r.err = err
	}
	return given
}

// wrong makes a value that cannot be on a command line wrong usage.
func wrong(err error) error {
	if err == nil {
		return nil
	}
	return cli.Usagef("%s", strings.TrimSpace(err.Error()))
}
