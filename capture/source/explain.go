package source

import (
	"fmt"
	"io"
	"os"

	"flywitness/capture/csvlog"
	"flywitness/drive"
)

// Explain tells how a log would be read, and why. A session file and a database need no explanation: the answer is nil.
func Explain(name string, opt Options) (*csvlog.Understanding, error) {
	if InDatabase(name) {
		return nil, nil
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
	if err != nil {
		return nil, err
	}
	if start, _ := text.Peek(4096); drive.IsSession(start) && sessionColumns(start) {
		return nil, nil
	}
	return csvlog.Explain(text, name, opt.Options)
}
