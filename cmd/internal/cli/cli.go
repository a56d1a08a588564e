// Package cli is what every command of both programs shares: running a command line, its exit statuses and error
// lines, the rounding of numbers, the unit system, and the layout of text.
//
// A program is a function of its arguments and streams that returns an exit status, so tests call it as it is typed:
//
//	func analyze(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
//		return cli.Run(ctx, newRoot(), args, stdin, stdout, stderr)
//	}
//
// os.Exit stands once, in main.
package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"
)

// Version is set when a release is built: -ldflags "-X flywitness/cmd/internal/cli.Version=1.2.3".
var Version = "dev"

// Command is a whole program, or a part of one, as a function; what it returns is the exit status.
type Command func(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int

// The exit statuses. The last two are returned only where --check asks for them.
const (
	StatusDone         = 0
	StatusInput        = 1 // the input or the device failed
	StatusUsage        = 2 // the command line is wrong
	StatusSlips        = 3 // with --check: a finding that must be acted on
	StatusInconclusive = 4 // with --check: the data cannot tell
)

// UsageError is a command line that cannot be meant.
type UsageError struct{ Message string }

func (e *UsageError) Error() string { return e.Message }

// Usagef returns a UsageError.
func Usagef(format string, args ...any) error {
	return &UsageError{Message: fmt.Sprintf(format, args...)}
}

// InputError is a file, a device or data that failed: what and where in Err, what to do about it in Hint ("" when Err
// already says so).
type InputError struct {
	Err  error
	Hint string
}

func (e *InputError) Error() string {
	if e.Hint == "" {
		return e.Err.Error()
	}
	return e.Err.Error() + "; " + e.Hint
}

func (e *InputError) Unwrap() error { return e.Err }

// Found is returned by a command that ran well and whose --check must report a finding by the exit status alone.
type Found int

func (f Found) Error() string { return fmt.Sprintf("finding with exit status %d", int(f)) }

// Run runs root with args (without the program's name) and returns the exit status. An error that a command's RunE
// returns is the input's fault unless it is a UsageError; what cobra itself refuses is wrong usage. Each is told in one
// line on stderr. Where stderr is a terminal, an error with an Excerpt method also shows the place in its file.
func Run(ctx context.Context, root *cobra.Command, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	root.SilenceUsage, root.SilenceErrors = true, true
	root.Version = Version
	root.CompletionOptions.HiddenDefaultCmd = true
	root.AddCommand(manual())
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	if args == nil {
		args = []string{} // nil would make cobra read the arguments of the process
	}
	root.SetArgs(args)
	root.SetHelpFunc(func(cmd *cobra.Command, _ []string) { writeHelp(cmd.OutOrStdout(), cmd) })
	explainUsage(root, args)
	blameInput(root)
	cmd, err := root.ExecuteContextC(context.WithValue(ctx, statusKey{}, NewStatus(stderr)))
	return report(cmd, err, stderr)
}

// blameInput makes whatever a command returns after its flags were accepted an InputError.
func blameInput(cmd *cobra.Command) {
	if run := cmd.RunE; run != nil {
		cmd.RunE = func(c *cobra.Command, args []string) error { return asInput(run(c, args)) }
	}
	for _, sub := range cmd.Commands() {
		blameInput(sub)
	}
}

func asInput(err error) error {
	var usage *UsageError
	var input *InputError
	var found Found
	if err == nil || errors.As(err, &usage) || errors.As(err, &input) || errors.As(err, &found) {
		return err
	}
	return &InputError{Err: err}
}

func report(cmd *cobra.Command, err error, stderr io.Writer) int {
	var found Found
	var input *InputError
	switch {
	case err == nil:
		return StatusDone
	case errors.As(err, &found):
		return int(found)
	case errors.As(err, &input):
		fmt.Fprintf(stderr, "%s: %s\n", cmd.CommandPath(), OneLine(err.Error()))
		showExcerpt(stderr, err)
		return StatusInput
	default:
		fmt.Fprintf(stderr, "%s: %s\n", cmd.CommandPath(), OneLine(err.Error()))
		fmt.Fprintf(stderr, "Run '%s --help' for how it is used.\n", cmd.CommandPath())
		return StatusUsage
	}
}

func showExcerpt(stderr io.Writer, err error) {
	var place interface{ Excerpt() string }
	if _, ok := Terminal(stderr); ok && errors.As(err, &place) {
		fmt.Fprint(stderr, place.Excerpt())
	}
}

// OneLine joins the lines of a message and drops control characters, so that a hostile file name or cell cannot
// forge a line of output or steer the terminal.
func OneLine(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' || (r >= 0x7f && r < 0xa0) {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "?"))
	return strings.Join(strings.Fields(s), " ")
}

// WriteJSON writes v as indented JSON with a closing line end.
func WriteJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}
