package source

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"slices"
	"strings"

	"flywitness/capture/csvlog"
	"flywitness/drive"
	"flywitness/finding"
)

// Read reads one log from r; name stands in messages. It takes session files, any logger's table, and both compressed
// with gzip. The log's SHA256 is that of the bytes of r as they come.
func Read(r io.Reader, name string, opt csvlog.Options) (*drive.Log, error) {
	raw := &hashReader{r: r, sum: sha256.New()}
	l, err := readWhole(raw, name, opt)
	if err != nil {
		return nil, err
	}
	l.SHA256 = hex.EncodeToString(raw.sum.Sum(nil))
	return l, nil
}

// read is Read, without the checksum where nobody asks for it.
func (o Options) read(r io.Reader, name string) (*drive.Log, error) {
	if o.Unsummed {
		return readWhole(r, name, o.Options)
	}
	return Read(r, name, o.Options)
}

// readWhole reads a log from r, and r to its end.
func readWhole(r io.Reader, name string, opt csvlog.Options) (*drive.Log, error) {
	text, err := csvlog.Text(r, name)
	if err != nil {
		return nil, err
	}
	l, err := readText(text, name, opt)
	if err != nil {
		return nil, err
	}
	if _, err := io.Copy(io.Discard, r); err != nil { // what follows a gzip stream is part of the file
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return l, nil
}

// readText reads a session file or a table.
func readText(text *bufio.Reader, name string, opt csvlog.Options) (*drive.Log, error) {
	start, _ := text.Peek(4096)
	if drive.IsSession(start) && sessionColumns(start) {
		return readSession(text, name, opt)
	}
	return csvlog.Read(text, name, opt)
}

// readSession reads a session file; channels that were polled and never answered are left out.
func readSession(r io.Reader, name string, opt csvlog.Options) (*drive.Log, error) {
	whole := &untilBroken{r: r}
	l, err := drive.ReadSessionOf(whole, name, opt.Size)
	if err != nil {
		return nil, err
	}
	if whole.broken {
		l.Warnings = append(l.Warnings, finding.New(finding.BrokenOff, finding.Name("file", name), finding.Count("rows", l.Rows)))
	}
	if err := needChannels(l); err != nil {
		return nil, err
	}
	l.Channels = slices.DeleteFunc(l.Channels, func(c *drive.Channel) bool { return c.Len() == 0 })
	noMapNeeded(l, opt)
	return l, nil
}

// sessionColumns tells whether the column row is that of a session file as written. A spreadsheet that saved one
// again with its own delimiter or quotes leaves a table like any other.
func sessionColumns(start []byte) bool {
	for line := range bytes.Lines(start) {
		if len(bytes.TrimSpace(line)) > 0 && line[0] != '#' {
			return bytes.HasPrefix(line, []byte("time_s,"))
		}
	}
	return true // the header is longer than the look at it
}

// noMapNeeded warns that --map and --time do nothing to a session.
func noMapNeeded(l *drive.Log, opt csvlog.Options) {
	if len(opt.Map) > 0 || opt.Time != "" {
		l.Warnings = append(l.Warnings, finding.New(finding.SessionNeedsNoMap, finding.Name("file", l.Path)))
	}
}

// needChannels refuses a session without a value of engine speed or of any speed.
func needChannels(l *drive.Log) error {
	has := func(name string) bool { c := l.Channel(name); return c != nil && c.Len() > 0 }
	if has(drive.EngineSpeed) && (has(drive.VehicleSpeed) || has(drive.GPSSpeed) || has(drive.UndrivenSpeed)) {
		return nil
	}
	var names []string
	for _, c := range l.Channels {
		names = append(names, c.Name)
	}
	what := "engine speed"
	if has(drive.EngineSpeed) {
		what = "road speed"
	}
	return fmt.Errorf("%s: no %s was recorded (columns %s): both are needed; look at what the car answered when it was recorded",
		l.Path, what, strings.Join(names, ", "))
}

// hashReader sums up what is read through it.
type hashReader struct {
	r   io.Reader
	sum hash.Hash
}

func (h *hashReader) Read(b []byte) (int, error) {
	n, err := h.r.Read(b)
	h.sum.Write(b[:n])
	return n, err
}

// untilBroken ends where packed text broke off.
type untilBroken struct {
	r      io.Reader
	broken bool
}

func (u *untilBroken) Read(b []byte) (int, error) {
	n, err := u.r.Read(b)
	if errors.Is(err, csvlog.ErrBrokenOff) {
		u.broken, err = true, io.EOF
	}
	return n, err
}
