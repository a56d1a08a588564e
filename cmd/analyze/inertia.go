package main

import (
	"errors"

	"flywitness/analysis"
	"flywitness/analysis/inertia"
	"flywitness/cmd/internal/cli"

	"github.com/spf13/cobra"
)

func newInertia() *cobra.Command {
	var in logFlags
	var out outputFlags
	var foot footFlag
	cmd := &cobra.Command{
		Use:   "inertia LOG...",
		Short: "What is the effective rotating inertia?",
		Long: `inertia measures the effective rotating inertia of one set of logs: all that turns with the crankshaft in neutral
with the foot off the clutch. It needs free revs, and off-throttle runs in second or third gear beside neutral
coasts; it lists each run with the reason where it was not used. Without a vehicle file the runs are judged and
the inertia stays unknown.`,
		Example: `  $ fw-analyze inertia testdata/demo/before/monday.csv testdata/demo/before/tuesday.csv --vehicle testdata/demo/mule.toml`,
		Args:    cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			set, err := in.set(cmd, args, out.lists())
			if err != nil {
				return err
			}
			done := cli.Working(cmd.Context(), func() string { return "measuring the inertia" })
			r := analysis.Inertia(set, inertia.Options{FootOnClutch: foot.value()})
			done()
			return out.print(cmd.Context(), r, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	in.add(cmd)
	out.add(cmd)
	out.addPictures(cmd)
	out.addCheck(cmd)
	foot.add(cmd)
	return cmd
}

// footFlag tells whether the foot was on the clutch in the free revs; not given is not told.
type footFlag struct{ text string }

func (f *footFlag) add(cmd *cobra.Command) {
	cmd.Flags().Var(f, "foot-on-clutch", "in the free revs: yes or no")
}

func (f *footFlag) String() string { return f.text }
func (f *footFlag) Type() string   { return "yes|no" }

// Set accepts yes or no.
func (f *footFlag) Set(s string) error {
	if s != "yes" && s != "no" {
		return errors.New("give yes or no")
	}
	f.text = s
	return nil
}

func (f *footFlag) value() *bool {
	if f.text == "" {
		return nil
	}
	on := f.text == "yes"
	return &on
}
