package main

import (
	"bytes"
	"fmt"
	"os"
	"strings"

	"flywitness/capture"
	"flywitness/cmd/internal/cli"
)

// fileJSON is one file in the result of record --json.
type fileJSON struct {
	Path   string `json:"path"`
	SHA256 string `json:"sha256,omitempty"`
	Error  string `json:"error,omitempty"`
}

// report prints the summary and the checksums of the files that are there. Where nobody can read it any more, because the
// terminal was closed, it is written beside the recording.
func (r *recording) report(sum capture.Summary, names []string) error {
	var text bytes.Buffer
	var missing error
	var files []fileJSON
	for _, name := range names {
		hash, err := capture.SHA256(name)
		f := fileJSON{Path: name, SHA256: hash}
		if err != nil {
			f.Error = err.Error()
			missing = fmt.Errorf("%s cannot be read back: %w", name, err)
		}
		files = append(files, f)
	}
	if r.flags.asJSON {
		if err := cli.WriteJSON(&text, map[string]any{"tool": tool(), "command": "record", "files": files, "record": sum}); err != nil {
			return err
		}
	} else {
		writeReport(&text, sum, files)
	}
	if _, err := r.stdout.Write(text.Bytes()); err == nil {
		return missing
	}
	liveSession := r.flags.out + ".summary.txt"
	return os.WriteFile(liveSession, text.Bytes(), 0o644)
}

func writeReport(text *bytes.Buffer, sum capture.Summary, files []fileJSON) {
	sum.Print(text)
	for _, f := range files {
		if f.Error != "" {
			fmt.Fprintf(text, "file         %s\n             cannot be read back: %s\n", f.Path, f.Error)
			continue
		}
		fmt.Fprintf(text, "file         %s\nSHA-256      %s\n", f.Path, f.SHA256)
	}
	fmt.Fprint(text, strings.TrimSpace(`
Write the SHA-256 on the sheet before the work starts: it shows that the file is unchanged since.`)+"\n")
}
