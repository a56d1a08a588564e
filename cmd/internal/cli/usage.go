package cli

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"

	"flywitness/vehicle/tomlfile"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// explainUsage makes every command of the tree say in the words of this project what is wrong with a command line, and
// what was probably meant. args is the whole command line.
func explainUsage(root *cobra.Command, args []string) {
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error { return flagError(cmd, err) })
	var visit func(cmd *cobra.Command)
	visit = func(cmd *cobra.Command) {
		if check := cmd.Args; check != nil {
			cmd.Args = func(c *cobra.Command, given []string) error {
				if check(c, given) == nil {
					return nil
				}
				return argumentError(c, given, args)
			}
		}
		for _, sub := range cmd.Commands() {
			visit(sub)
		}
	}
	visit(root)
}

// argumentError tells what is wrong with the words of a command that are no flags.
func argumentError(cmd *cobra.Command, given, line []string) error {
	if cmd.HasSubCommands() {
		return unknownCommand(cmd, given[0])
	}
	if len(given) == 0 {
		what := strings.Fields(cmd.Use + " LOG")[1]
		return Usagef("%s is missing: %s", what, cmd.UseLine())
	}
	stray := given[0]
	if cmd.Args(cmd, nil) != nil { // it takes one
		stray = given[min(1, len(given)-1)]
	}
	if flag := flagBefore(stray, line); flag != "" {
		return Usagef("%s stands by itself behind %s: a shell turns a pattern without quotes into several names, and a flag takes one; "+
			"write the pattern in quotes, such as %s 'before/*.csv', or name the folder", stray, flag, flag)
	}
	if commands := names(cmd.Root()); slices.Contains(commands, stray) {
		return Usagef("%q and %q are two commands; give one at a time", cmd.Name(), stray)
	}
	if _, err := os.Stat(stray); err == nil && cmd.Args(cmd, nil) == nil {
		return Usagef("%s takes no file by itself; give it to the flag that it is for", cmd.Name())
	}
	return Usagef("%q is one word too many: %s", stray, cmd.UseLine())
}

// flagBefore returns the flag whose value a stray word follows on the command line, with other files between them or
// none; "" where it follows none.
func flagBefore(stray string, line []string) string {
	for i := slices.Index(line, stray) - 1; i >= 0; i-- {
		if strings.HasPrefix(line[i], "--") {
			flag, _, _ := strings.Cut(line[i], "=")
			return flag
		}
		if _, err := os.Stat(line[i]); err != nil {
			return ""
		}
	}
	return ""
}

func unknownCommand(cmd *cobra.Command, name string) error {
	known := names(cmd)
	if best := tomlfile.Likely(name, known); best != "" {
		return Usagef("there is no command %q; did you mean %q?", name, best)
	}
	if _, err := os.Stat(name); err == nil {
		return Usagef("%s is a file or folder; say what to do with it: %s", name, strings.Join(known, ", "))
	}
	return Usagef("there is no command %q; there are %s", name, strings.Join(known, ", "))
}

// names lists the commands below one.
func names(cmd *cobra.Command) (out []string) {
	for _, c := range cmd.Commands() {
		if c.IsAvailableCommand() {
			out = append(out, c.Name())
		}
	}
	return out
}

// flagError tells what is wrong with a flag.
func flagError(cmd *cobra.Command, err error) error {
	var unknown *pflag.NotExistError
	var empty *pflag.ValueRequiredError
	var bad *pflag.InvalidValueError
	switch {
	case errors.As(err, &unknown):
		return unknownFlag(cmd, unknown)
	case errors.As(err, &empty):
		return Usagef("--%s needs a value behind it: --%s %s", empty.GetFlag().Name, empty.GetFlag().Name, kind(empty.GetFlag()))
	case errors.As(err, &bad):
		return badValue(bad)
	}
	return Usagef("%v", err)
}

func unknownFlag(cmd *cobra.Command, err *pflag.NotExistError) error {
	if letters := err.GetSpecifiedShortnames(); letters != "" {
		if cmd.Flags().Lookup(letters) != nil {
			return Usagef("-%s: a flag has two dashes: --%s", letters, letters)
		}
		if best := tomlfile.Likely(letters, flags(cmd)); best != "" && len(letters) > 1 {
			return Usagef("there is no flag -%s; did you mean --%s?", letters, best)
		}
		return Usagef("there is no flag -%s; flags are written out, with two dashes", letters)
	}
	name := err.GetSpecifiedName()
	for _, other := range cmd.Root().Commands() {
		if other.IsAvailableCommand() && other.Flags().Lookup(name) != nil {
			return Usagef("--%s is no flag of %s; it is one of %s", name, cmd.Name(), other.CommandPath())
		}
	}
	if best := tomlfile.Likely(name, flags(cmd)); best != "" {
		return Usagef("there is no flag --%s; did you mean --%s?", name, best)
	}
	return Usagef("%s has no flag --%s", cmd.Name(), name)
}

func flags(cmd *cobra.Command) (out []string) {
	cmd.Flags().VisitAll(func(f *pflag.Flag) { out = append(out, f.Name) })
	return out
}

func badValue(err *pflag.InvalidValueError) error {
	flag, value := err.GetFlag(), err.GetValue()
	switch flag.Value.Type() {
	case "float64":
		if advice := tomlfile.CommaAdvice(value); advice != "" {
			return Usagef("--%s: %s", flag.Name, advice)
		}
		return Usagef("--%s needs a number, not %q%s", flag.Name, value, bareNumber(value))
	case "int":
		return Usagef("--%s needs a whole number, not %q", flag.Name, value)
	case "bool":
		return Usagef("--%s stands alone, or with =true or =false; it is not %q", flag.Name, value)
	case "duration":
		return Usagef("--%s needs a length of time such as 90s or 10m, not %q", flag.Name, value)
	}
	return Usagef("--%s cannot be %q: %v", flag.Name, value, errors.Unwrap(err))
}

// bareNumber shows a number without the unit that was written behind it.
func bareNumber(value string) string {
	number := strings.TrimRight(value, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ /%")
	if number == "" || number == value || strings.ContainsAny(number, "eE") {
		return ""
	}
	return fmt.Sprintf("; the unit is in the flag's name: write %s", number)
}

// kind names the value of a flag as its help does.
func kind(f *pflag.Flag) string {
	name, _ := pflag.UnquoteUsage(f)
	switch name {
	case "", "string", "stringArray":
		return "VALUE"
	case "float", "int":
		return "NUMBER"
	}
	return name
}
