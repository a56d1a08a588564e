package influx

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"flywitness/drive"
)

// Names of the files beside a session file.
const (
	cursorSuffix   = ".sent"     // how far it was sent, and where to
	rejectedSuffix = ".rejected" // lines that the server will not take, with its reason
)

// place is how far a session file was sent to one database.
type place struct {
	File     string `json:"file"`     // tells one recording from another of the same name
	Bytes    int64  `json:"bytes"`    // of the file that the server holds
	Rejected int    `json:"rejected"` // rows that it refused
}

// cursor is the file beside a session file. It holds no secret. When it is lost or cannot be read, everything is sent
// again, which changes nothing: the same series, the same times, the same values.
type cursor struct {
	path   string
	target string
	place  place
}

// openCursor reads the place of a session in a database; another recording's place is none.
func openCursor(session, target, file string) *cursor {
	c := &cursor{path: session + cursorSuffix, target: target, place: place{File: file}}
	if p, ok := readPlaces(c.path)[target]; ok && p.File == file && p.Bytes >= 0 {
		c.place = p
	}
	return c
}

func readPlaces(path string) map[string]place {
	all := map[string]place{}
	data, err := os.ReadFile(path)
	if err != nil || json.Unmarshal(data, &all) != nil || all == nil {
		return map[string]place{}
	}
	return all
}

// save replaces the file in one step. It is not brought to the disk by force: an older place costs only time.
func (c *cursor) save() error {
	all := readPlaces(c.path)
	all[c.target] = c.place
	data, err := json.MarshalIndent(all, "", "  ")
	if err != nil {
		return err
	}
	tmp, err := os.CreateTemp(filepath.Dir(c.path), ".flywitness-*")
	if err != nil {
		return err
	}
	defer os.Remove(tmp.Name())
	_, err = tmp.Write(append(data, '\n'))
	err = errors.Join(err, tmp.Chmod(0o644), tmp.Close())
	if err != nil {
		return err
	}
	return os.Rename(tmp.Name(), c.path)
}

// fileID tells one recording from another: the checksum of its header and columns.
func fileID(l *drive.Log) string {
	h := sha256.New()
	for _, f := range l.Header {
		fmt.Fprintf(h, "%q %q\n", f.Key, f.Value)
	}
	for _, c := range l.Channels {
		fmt.Fprintf(h, "%q\n", c.Name)
	}
	return hex.EncodeToString(h.Sum(nil)[:16])
}

// reject adds lines to the file of what was refused, under the reason.
func reject(session, reason string, lines []string) error {
	path := session + rejectedSuffix
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o644)
	if err != nil {
		return fmt.Errorf("the server refused rows (%s), and they cannot be written to a file: %w", reason, err)
	}
	_, err = fmt.Fprintf(f, "# refused: %q\n", reason)
	for _, l := range lines {
		if err == nil {
			_, err = fmt.Fprintln(f, l)
		}
	}
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("cannot write %s: %w", path, err)
	}
	return nil
}

// forget removes the place and the refused lines of earlier attempts, to send everything again.
func (c *cursor) forget() error {
	c.place.Bytes, c.place.Rejected = 0, 0
	err := os.Remove(strings.TrimSuffix(c.path, cursorSuffix) + rejectedSuffix)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}
