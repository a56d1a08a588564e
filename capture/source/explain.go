package source

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"flywitness/capture/csvlog"
	"flywitness/drive"
)

// Explained is how a log would be read; How is nil for a session file and a database, which need no explanation.
type Explained struct {
	Name string
	How  *csvlog.Understanding
}

// Explain tells how what a name means would be read, and why: one log, or each in an archive.
func Explain(name string, opt Options) ([]Explained, error) {
	if InDatabase(name) {
		return []Explained{{Name: name}}, nil
	}
	in := opt.Stdin
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			return nil, fmt.Errorf("cannot read the log: %w", err)
		}
		defer f.Close()
		in = io.Reader(f)
	}
	if in == nil {
		return nil, fmt.Errorf("-: there is no standard input to read from")
	}
	text, err := csvlog.Text(in, name)
	var several *csvlog.SeveralError
	if errors.As(err, &several) {
		return explainMembers(name, several, opt)
	}
	if err != nil {
		return nil, err
	}
	how, err := explain(text, name, opt)
	return []Explained{{name, how}}, err
}

func explainMembers(archive string, several *csvlog.SeveralError, opt Options) (all []Explained, err error) {
	opt.Partial = true
	var notes []error // of files that hold no table
	for _, f := range several.Files {
		name := filepath.Join(archive, f.Name)
		text, err := csvlog.Member(f, name)
		var how *csvlog.Understanding
		if err == nil {
			how, err = explain(text, name, opt)
		}
		var none *csvlog.NoTableError
		switch {
		case errors.As(err, &none):
			notes = append(notes, err)
		case err != nil:
			return nil, err
		default:
			all = append(all, Explained{name, how})
		}
	}
	if len(all) == 0 {
		return nil, notes[0]
	}
	return all, nil
}

func explain(text *bufio.Reader, name string, opt Options) (*csvlog.Understanding, error) {
	if start, _ := text.Peek(4096); drive.IsSession(start) && sessionColumns(start) {
		return nil, nil
	}
	return csvlog.Explain(text, name, opt.Options)
}
