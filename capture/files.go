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
	place *place  // of the file in use, nil where it is not on a disk
	next  float64 // s, when to look whether it is still there
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
	f.place = newPlace(path)
	return nil
}

// Names returns the files written, in order.
func (f *Files) Names() []string { return append([]string(nil), f.names...) }

// Index is drive.SessionWriter's.
func (f *Files) Index(channel string) int { return f.w.Index(channel) }

// WriteRow writes a row, in a new file if need be.
func (f *Files) WriteRow(t float64, cells []drive.Cell) error {
	return f.write(t, func() error { return f.w.WriteRow(t, cells) })
}

// WriteNote writes a note, in a new file if need be.
func (f *Files) WriteNote(t float64, text string) error {
	return f.write(t, func() error { return f.w.WriteNote(t, text) })
}

// lookEvery is how often it is looked whether the file is still there, s.
const lookEvery = 1.0

func (f *Files) write(t float64, do func() error) error {
	var err error
	if t >= f.next {
		f.next = t + lookEvery
		err = f.rescue()
	}
	if err == nil {
		if err = do(); err == nil || f.w.Err() == nil {
			return err
		}
	}
	if moved := f.goOn(err); moved != nil {
		return f.ended(err)
	}
	if again := do(); again != nil && f.w.Err() != nil { // there is room for a file, but not for a row
		_ = f.close()
		last := len(f.names) - 1
		os.Remove(f.names[last]) // ours, and without a row
		f.names = f.names[:last]
		return f.ended(err)
	} else if again != nil {
		return again
	}
	return nil
}

// ended says where the recording is that could not go on, and what to do.
func (f *Files) ended(err error) error {
	return fmt.Errorf("%w; what was recorded before is in %s: make room on the disk, or give --out on another one, and start again",
		err, strings.Join(f.names, ", "))
}

// rescue brings a file that was deleted under the recording back to its place. The error then says so, and the recording has to go on in
// a new file: nothing may be added to a copy.
func (f *Files) rescue() error {
	if f.place == nil || f.place.there() {
		return nil
	}
	syncErr := f.w.Sync()
	name, err := f.place.restore()
	if err = errors.Join(syncErr, err); err != nil {
		return fmt.Errorf("%s was deleted or moved while it was recorded, and cannot be restored: %w", f.place.path, err)
	}
	f.names[len(f.names)-1] = name
	return fmt.Errorf("%s was deleted or moved while it was recorded; what it held is in %s", f.place.path, name)
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
	err := f.w.Close()
	if f.place != nil {
		f.place.close()
		f.place = nil
	}
	return err
}

// Close ends the recording on disk.
func (f *Files) Close() error {
	if err := f.rescue(); err != nil && f.notice != nil {
		f.notice(err.Error())
	}
	return f.close()
}

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
