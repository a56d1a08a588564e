package cli

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

// manual is the hidden command that make install calls: it writes the man pages and the completions of the program below
// a folder, each where an installation looks for it.
func manual() *cobra.Command {
	return &cobra.Command{
		Use:    "manual DIR",
		Short:  "Writes the man pages and completions below DIR",
		Hidden: true,
		Args:   cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return writeManual(cmd.Root(), args[0])
		},
	}
}

// writeManual writes man/man1, bash-completion/completions, zsh/site-functions and fish/vendor_completions.d below dir.
func writeManual(root *cobra.Command, dir string) error {
	name := root.Name()
	completions := []struct {
		file  string
		write func(path string) error
	}{
		{"bash-completion/completions/" + name, func(p string) error { return root.GenBashCompletionFileV2(p, true) }},
		{"zsh/site-functions/_" + name, root.GenZshCompletionFile},
		{"fish/vendor_completions.d/" + name + ".fish", func(p string) error { return root.GenFishCompletionFile(p, true) }},
	}
	for _, c := range completions {
		path := filepath.Join(dir, c.file)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return fmt.Errorf("cannot make the folder for the completions: %w", err)
		}
		if err := c.write(path); err != nil {
			return fmt.Errorf("cannot write the completions: %w", err)
		}
	}
	man := filepath.Join(dir, "man/man1")
	if err := os.MkdirAll(man, 0o755); err != nil {
		return fmt.Errorf("cannot make the folder for the man pages: %w", err)
	}
	root.DisableAutoGenTag = true // the date of the build would make each build another one
	head := &doc.GenManHeader{Section: "1", Source: "Flywitness " + Version, Manual: "Flywitness"}
	if err := doc.GenManTree(root, head, man); err != nil {
		return fmt.Errorf("cannot write the man pages: %w", err)
	}
	return nil
}
