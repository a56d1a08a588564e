// Command analyze tells from recorded drives whether a clutch slips under load and what a part swap did to the engine's
// rotating inertia.
package main

import (
	"context"
	"io"
	"os"
	"os/signal"
	"syscall"
	"time"

	"flywitness/cmd/internal/cli"

	"github.com/spf13/cobra"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := analyze(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(status)
}

// analyze runs a command line and returns its exit status.
func analyze(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	return cli.Run(ctx, newRoot(), args, stdin, stdout, stderr)
}

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "fw-analyze",
		Short: "Does the clutch hold, and what did the part swap do to the rotating inertia?",
		Long: `fw-analyze tells from recorded drives (engine speed and road speed) whether a clutch slips under load, what the
engine's effective rotating inertia is, and what a part swap did to it. Where the data cannot tell, it says so
and what to drive instead. A job begins with fw-analyze job --new FOLDER.

Exit status: 0 done; 1 an input failed; 2 wrong usage; with --check 3 when the clutch slips, 4 when the data cannot tell.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.AddCommand(newLearn(), newSlip(), newInertia(), newCompare(), newJob(), newPart(), newPlan(), newServe(), newFleet(time.Now))
	return root
}
