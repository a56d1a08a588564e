package capture

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"flywitness/drive"
)

// Files is a recording on disk. When its file can no longer be written or synced, the recording goes on in a new one
// beside it, NAME-2.csv and so on; what was written stays as it is.
type Files struct {
	path     string
	meta     []drive.Field
	channels []string
	ticker   func() (tick <-chan time.Time, stop func())
	notice   func(string)
	create   func(path string, meta []drive.Field, channels []string) (*drive.SessionWriter, error)

	w     *drive.SessionWriter
	stop  func()
	names []string
}

// SyncEverySecond is the ticker of a recording in a car.
func SyncEverySecond() (<-chan time.Time, func()) {
	t := time.NewTicker(time.Second)
	return t.C, t.Stop
}

// CreateFiles makes the file at path, which must not exist. ticker says when to sync; notice is told of a change of file, and may be nil.
func CreateFiles(path string, meta []drive.Field, channels []string, ticker func() (<-chan time.Time, func()), notice func(string)) (*Files, error) {
	f := &Files{path: path, meta: meta, channels: channels, ticker: ticker, notice: notice, create: drive.CreateSession}
	if err := f.open(path, meta); err != nil {
		return nil, err
	}
	return f, nil
}

func (f *Files) open(path string, meta []drive.Field) error {
	w, err := f.create(path, meta, f.channels)
	if err != nil {
		return err
	}
	tick, stop := f.ticker()
	w.SyncOn(tick)
	f.w, f.stop = w, stop
	f.names = append(f.names, path)
	return nil
}

// Names returns the files written, in order.
func (f *Files) Names() []string { return append([]string(nil), f.names...) }

// Index is drive.SessionWriter's.
func (f *Files) Index(channel string) int { return f.w.Index(channel) }

// WriteRow writes a row, in a new file if need be.
func (f *Files) WriteRow(t float64, cells []drive.Cell) error {
	return f.write(func() error { return f.w.WriteRow(t, cells) })
}

// WriteNote writes a note, in a new file if need be.
func (f *Files) WriteNote(t float64, text string) error {
	return f.write(func() error { return f.w.WriteNote(t, text) })
}

func (f *Files) write(do func() error) error {
	err := do()
	if err == nil || f.w.Err() == nil {
		return err
	}
	if moved := f.goOn(err); moved != nil {
		return fmt.Errorf("%w; what was recorded before is in %s", err, strings.Join(f.names, ", "))
	}
	return do()
}

// goOn leaves a file that failed and starts the next.
func (f *Files) goOn(why error) error {
	_ = f.close() // its error is why
	ext := filepath.Ext(f.path)
	stem := strings.TrimSuffix(f.path, ext)
	for n := len(f.names) + 1; ; n++ {
		next := fmt.Sprintf("%s-%d%s", stem, n, ext)
		meta := append(append([]drive.Field(nil), f.meta...), drive.Field{Key: "part", Value: fmt.Sprint(len(f.names) + 1)})
		err := f.open(next, meta)
		if errors.Is(err, os.ErrExist) {
			continue
		}
		if err == nil && f.notice != nil {
			f.notice(fmt.Sprintf("%v; the recording goes on in %s", why, next))
		}
		return err
	}
}

func (f *Files) close() error {
	f.stop()
	return f.w.Close()
}

// Close ends the recording on disk.
func (f *Files) Close() error { return f.close() }

// SHA256 returns the checksum of a file in hexadecimal.
func SHA256(path string) (string, error) {
	file, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer file.Close()
	h := sha256.New()
	if _, err := io.Copy(h, file); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}
