// Command logger records engine speed, road speed and what else the car tells through a serial diagnostic adapter into a
// session file.
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
	signal.Ignore(syscall.SIGPIPE) // a reader of the output that has gone must not end a recording
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	status := logger(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(status)
}

// logger runs a command line and returns its exit status.
func logger(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	return cli.Run(ctx, newRoot(), args, stdin, stdout, stderr)
}

func newRoot() *cobra.Command { return rootIn(outside()) }

// rootIn returns the commands as they run in those surroundings.
func rootIn(in surroundings) *cobra.Command {
	root := &cobra.Command{
		Use:   "fw-logger",
		Short: "Records a drive from the car's diagnostic socket",
		Long: `fw-logger records engine speed, road speed and what else the car tells through a serial diagnostic adapter. Each
value gets the best estimate of the moment at which the car took it; every reply is on disk at once.

Exit status: 0 done; 1 the device or a file failed; 2 wrong usage.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.AddCommand(newPorts(), newRecord(in), newImport(time.Now), newEmulate(), newPush())
	return root
}
