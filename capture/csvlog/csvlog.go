// Package csvlog reads any logger's delimited text into a drive.Log.
//
// It finds the delimiter, the decimal mark, the heading row, the units, the clock and the columns by what they say, and reports as a
// warning whatever it had to assume. What it cannot settle safely is an error that names the candidates and the option that
// settles it. Values that a logger repeated until the next reply came are dropped (see held.go), and time stamps in whole seconds are
// spread over the rows of their second (see stamps.go), because both would otherwise pass for measurements.
package csvlog

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"
	"io"
	"os"
	"slices"
	"strings"

	"flywitness/drive"
)

// Options settle what a log does not say itself.
type Options struct {
	Map   []string  // "engine_speed_rpm=Eng Spd", "vehicle_speed_kmh=VSpd:mph": channel, heading and unit
	Time  string    // "Time:ms": heading and unit of the time column
	Stdin io.Reader // what Open reads for "-"
}

// Open reads the log at path, or opt.Stdin when path is "-".
func Open(path string, opt Options) (*drive.Log, error) {
	if path == "-" {
		if opt.Stdin == nil {
			return nil, fmt.Errorf("-: there is no standard input to read from")
		}
		return Read(opt.Stdin, path, opt)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("cannot read the log: %w", err)
	}
	defer f.Close()
	if st, err := f.Stat(); err == nil && st.IsDir() {
		return nil, fmt.Errorf("%s is a folder: name the log files in it", path)
	}
	return Read(f, path, opt)
}

// Read reads one log from r; name stands in messages. It takes session files, any delimited text, and both compressed with gzip.
// The log's SHA256 is that of the bytes of r as they come.
func Read(r io.Reader, name string, opt Options) (*drive.Log, error) {
	raw := &hashReader{r: r, sum: sha256.New()}
	text, err := openText(raw, name)
	if err != nil {
		return nil, err
	}
	var l *drive.Log
	start, _ := text.Peek(4096)
	if drive.IsSession(start) && sessionColumns(start) {
		l, err = drive.ReadSession(text, name)
		if err == nil {
			err = NeedChannels(l)
			l.Channels = slices.DeleteFunc(l.Channels, func(c *drive.Channel) bool { return c.Len() == 0 }) // polled, never answered
		}
		if err == nil && (len(opt.Map) > 0 || opt.Time != "") {
			l.Warnings = append(l.Warnings, NoMapNeeded(name))
		}
	} else {
		l, err = readTable(text, name, sizeOf(r), opt)
	}
	if err != nil {
		return nil, err
	}
	if _, err := io.Copy(io.Discard, raw); err != nil { // what follows a gzip stream is part of the file
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	l.SHA256 = hex.EncodeToString(raw.sum.Sum(nil))
	return l, nil
}

// sizeOf returns the bytes of a file, 0 of another reader.
func sizeOf(r io.Reader) int64 {
	if f, ok := r.(*os.File); ok {
		if st, err := f.Stat(); err == nil && st.Mode().IsRegular() {
			return st.Size()
		}
	}
	return 0
}

// sessionColumns tells whether the column row is that of a session file as written. A spreadsheet that saved one again with its own
// delimiter or quotes leaves a table like any other.
func sessionColumns(start []byte) bool {
	for line := range bytes.Lines(start) {
		if len(bytes.TrimSpace(line)) > 0 && line[0] != '#' {
			return bytes.HasPrefix(line, []byte("time_s,"))
		}
	}
	return true // the header is longer than the look at it
}

// NoMapNeeded is the warning that --map and --time do nothing to a session.
func NoMapNeeded(name string) drive.Warning {
	return drive.Warning{Code: "session_needs_no_map",
		Message: name + " is a session file, whose columns have fixed names: --map and --time do nothing to it"}
}

// NeedChannels refuses a session without a value of engine speed or of any speed.
func NeedChannels(l *drive.Log) error {
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
	return fmt.Errorf("%s: no %s was recorded (columns %s): both are needed; look at what the car answered when it was recorded", l.Path, what, strings.Join(names, ", "))
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
