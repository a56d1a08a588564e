package cli

import (
	"fmt"
	"io"
	"regexp"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// helpWidth is that of the narrowest terminal that people use.
const helpWidth = 80

// flagGroup is the annotation that puts a flag under a heading of its own, below those that everybody needs.
const flagGroup = "group"

// Group puts flags of a command under a heading in its help.
func Group(cmd *cobra.Command, heading string, names ...string) {
	for _, n := range names {
		// The error is for a flag that does not exist; the help would show it all the same.
		_ = cmd.Flags().SetAnnotation(n, flagGroup, []string{heading})
	}
}

// writeHelp writes what a command does, how it is called, and examples that can be copied.
func writeHelp(w io.Writer, cmd *cobra.Command) {
	width := min(LineWidth(w), helpWidth)
	var b strings.Builder
	long := cmd.Long
	if long == "" {
		long = cmd.Short
	}
	b.WriteString(paragraphs(long, width))
	use := cmd.UseLine()
	if cmd.HasAvailableSubCommands() {
		use = cmd.CommandPath() + " COMMAND"
	}
	b.WriteString("\nUsage:\n" + Wrap(use, width, "  "))
	if cmd.Example != "" {
		b.WriteString("\nExamples:\n")
		for line := range strings.Lines(cmd.Example) {
			b.WriteString(brokenCommand(strings.TrimSpace(line), width))
		}
	}
	writeCommands(&b, cmd, width)
	writeFlags(&b, cmd, width)
	if cmd.HasAvailableSubCommands() {
		fmt.Fprintf(&b, "\n%s COMMAND --help tells more of one.\n", cmd.CommandPath())
	}
	// What fails here is the terminal; there is nobody left to tell.
	_, _ = io.WriteString(w, b.String())
}

func writeCommands(b *strings.Builder, cmd *cobra.Command, width int) {
	if !cmd.HasAvailableSubCommands() {
		return
	}
	b.WriteString("\nCommands:\n")
	pad := 0
	for _, c := range cmd.Commands() {
		if c.IsAvailableCommand() {
			pad = max(pad, len(c.Name()))
		}
	}
	for _, c := range cmd.Commands() {
		if c.IsAvailableCommand() {
			indent := strings.Repeat(" ", pad+4)
			fmt.Fprintf(b, "  %-*s  %s", pad, c.Name(), strings.TrimPrefix(Wrap(c.Short, width, indent), indent))
		}
	}
}

// writeFlags writes the flags, those under a heading of their own last.
func writeFlags(b *strings.Builder, cmd *cobra.Command, width int) {
	var headings []string
	groups := map[string]*pflag.FlagSet{}
	cmd.LocalFlags().VisitAll(func(f *pflag.Flag) {
		heading := "Flags"
		if g := f.Annotations[flagGroup]; len(g) > 0 {
			heading = g[0]
		}
		if groups[heading] == nil {
			groups[heading] = pflag.NewFlagSet(heading, pflag.ContinueOnError)
			if heading == "Flags" {
				headings = append([]string{heading}, headings...)
			} else {
				headings = append(headings, heading)
			}
		}
		groups[heading].AddFlag(f)
	})
	for _, h := range headings {
		if usage := groups[h].FlagUsagesWrapped(width); usage != "" {
			b.WriteString("\n" + h + ":\n" + goTypes.ReplaceAllStringFunc(usage, plainType))
		}
	}
}

// goTypes finds the kinds of value that the flag library names as a programmer does.
var goTypes = regexp.MustCompile(`(?m)^ +(?:-\w, )?--[\w-]+ (?:float|string|int) `)

// plainType names a kind of value in as many letters, so that the columns stay.
func plainType(flag string) string {
	return strings.NewReplacer(" float ", " value ", " string ", " text   ", " int ", " n   ").Replace(flag)
}

// paragraphs wraps text that stands in paragraphs; a line that begins with a blank stays as it is.
func paragraphs(text string, width int) string {
	var b strings.Builder
	for i, p := range strings.Split(strings.TrimSpace(text), "\n\n") {
		if i > 0 {
			b.WriteByte('\n')
		}
		if strings.HasPrefix(p, " ") {
			b.WriteString(p + "\n")
		} else {
			b.WriteString(Wrap(p, width, ""))
		}
	}
	return b.String()
}

// brokenCommand breaks a command line that is too wide as a shell takes it, with a backslash at the end of each line.
func brokenCommand(line string, width int) string {
	const first, next = "  ", "      "
	var b strings.Builder
	column := 0
	for _, word := range shellWords(line) {
		switch {
		case column == 0:
			b.WriteString(first)
			column = len(first)
		case column+1+len(word)+len(` \`) > width:
			b.WriteString(" \\\n" + next)
			column = len(next)
		default:
			b.WriteByte(' ')
			column++
		}
		b.WriteString(word)
		column += len(word)
	}
	b.WriteByte('\n')
	return b.String()
}

// shellWords splits at blanks outside single quotes; a flag and its value stay together where they can.
func shellWords(line string) []string {
	var words []string
	quoted := false
	for _, w := range strings.Fields(line) {
		last := len(words) - 1
		value := last >= 0 && strings.HasPrefix(words[last], "--") && !strings.Contains(words[last], " ") && !strings.HasPrefix(w, "-")
		if quoted || value {
			words[last] += " " + w
		} else {
			words = append(words, w)
		}
		if strings.Count(w, "'")%2 == 1 {
			quoted = !quoted
		}
	}
	return words
}
