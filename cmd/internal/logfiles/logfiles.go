// Package logfiles finds the logs that a command line names.
package logfiles

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"flywitness/capture/source"
	"flywitness/cmd/internal/cli"
	"flywitness/job"
)

// Expand resolves the globs that a shell left alone, and folders into the logs in them. Any other name, and that of a log in a database, stays as it
// is; a glob that finds nothing is an error.
func Expand(names []string) ([]string, error) {
	var out []string
	for _, name := range names {
		if source.InDatabase(name) {
			out = append(out, name)
			continue
		}
		if info, err := os.Stat(name); err == nil { // a name with brackets in it is a name first
			if !info.IsDir() {
				if strings.EqualFold(filepath.Ext(name), ".toml") {
					return nil, &cli.InputError{Err: fmt.Errorf("%s is a vehicle or job file, no log", name), Hint: "give it with --vehicle, or to fw-analyze job"}
				}
				out = append(out, name)
				continue
			}
			found, err := inFolder(name)
			if err != nil {
				return nil, err
			}
			out = append(out, found...)
			continue
		}
		if !strings.ContainsAny(name, "*?[") {
			out = append(out, name)
			continue
		}
		found, err := filepath.Glob(name)
		if err != nil {
			return nil, cli.Usagef("%q is not a pattern of file names: %v", name, err)
		}
		if len(found) == 0 {
			return nil, &cli.InputError{Err: fmt.Errorf("no file is called %s", name), Hint: "look at the folder and the spelling; a folder's name alone takes every log in it"}
		}
		out = append(out, found...)
	}
	return out, nil
}

// inFolder lists the logs of a folder in the order of their names.
func inFolder(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, fmt.Errorf("cannot read the folder: %w", err)
	}
	var found, archives, below []string
	for _, e := range entries {
		switch {
		case e.IsDir() && !strings.HasPrefix(e.Name(), "."):
			below = append(below, filepath.Join(dir, e.Name()))
		case !e.IsDir() && job.IsRecording(e.Name()):
			found = append(found, filepath.Join(dir, e.Name()))
		case !e.IsDir() && strings.EqualFold(filepath.Ext(e.Name()), ".zip"):
			archives = append(archives, filepath.Join(dir, e.Name()))
		}
	}
	switch {
	case len(found) > 0:
		return found, nil
	case len(archives) > 0: // beside logs, an archive may hold anything
		return archives, nil
	}
	hint := "name the folder that the recordings are in"
	if len(below) > 0 {
		hint += fmt.Sprintf("; there is %s", strings.Join(below[:min(len(below), 3)], ", "))
	}
	return nil, &cli.InputError{Err: fmt.Errorf("the folder %s holds no log (*.csv, *.tsv, *.log, also packed as .gz or .zip)", dir), Hint: hint}
}
