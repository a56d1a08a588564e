package drive

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"time"
)

// File is what a session is written to; *os.File is one.
type File interface {
	io.Writer
	Sync() error
	Close() error
}

// Cell is one value of a row: Channel is the index in the channel list that the writer was made with (see
// SessionWriter.Index), Value is in the unit of that channel's name.
type Cell struct {
	Channel int
	Value   float64
}

// SessionWriter writes one session file (docs/session-format.md). WriteRow and WriteNote are called from one goroutine;
// syncing runs beside it and never holds a row up.
//
// The first failed write or sync ends the file: every later call returns that error, and the recording has to go on in a new file.
type SessionWriter struct {
	f        File
	channels []string
	cells    []string // of the row being written, by channel
	line     []byte

	mu    sync.Mutex
	err   error
	dirty bool // lines were written since the last sync began

	stop chan struct{}
	done chan struct{}
}

// CreateSession makes the file at path and starts a session in it. A file that exists is never touched: errors.Is(err,
// fs.ErrExist) then tells so. The file and its folder are on disk when CreateSession returns.
func CreateSession(path string, meta []Field, channels []string) (*SessionWriter, error) {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, os.ErrExist) {
		return nil, fmt.Errorf("%s exists and a recording is never overwritten: give another name (%w)", path, os.ErrExist)
	}
	if err != nil {
		return nil, fmt.Errorf("cannot create the session file: %w", err)
	}
	w, err := NewSessionWriter(f, meta, channels)
	if err == nil {
		err = syncFolder(filepath.Dir(path))
	}
	if err != nil {
		f.Close()
		os.Remove(path) // ours, and without a row
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return w, nil
}

// Together lets rows reach the file many at a time, and at each Sync: for a session that is written from what is on disk
// already, so that nothing is lost with the program. It is called before the first row.
func (w *SessionWriter) Together() { w.f = &together{w.f, bufio.NewWriterSize(w.f, 1<<16)} }

// together is a file that is written to in large pieces.
type together struct {
	File
	pending *bufio.Writer
}

func (f *together) Write(b []byte) (int, error) { return f.pending.Write(b) }

func (f *together) Sync() error {
	if err := f.pending.Flush(); err != nil {
		return err
	}
	return f.File.Sync()
}

// syncFolder makes the new name itself survive a power loss. Windows has no such call and does not need it.
func syncFolder(dir string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Sync()
}

// NewSessionWriter writes the header and the column row to f in one write and syncs it. meta must hold "created" in RFC
// 3339 and neither "format" nor "header_check"; channels are column names, with Latency last or left out (it is then added). Both
// are copied. On error f is left open.
func NewSessionWriter(f File, meta []Field, channels []string) (*SessionWriter, error) {
	cols, err := sessionColumns(channels)
	if err != nil {
		return nil, err
	}
	header, err := sessionHeader(meta, cols)
	if err != nil {
		return nil, err
	}
	w := &SessionWriter{f: f, channels: cols, cells: make([]string, len(cols))}
	if err := w.write(header); err != nil {
		return nil, err
	}
	if err := w.Sync(); err != nil {
		return nil, err
	}
	return w, nil
}

// sessionColumns checks the channel names and adds Latency.
func sessionColumns(channels []string) ([]string, error) {
	cols := append([]string(nil), channels...)
	if len(cols) == 0 || cols[len(cols)-1] != Latency {
		cols = append(cols, Latency)
	}
	seen := map[string]bool{timeColumn: true, checkColumn: true}
	for i, c := range cols {
		if c == "" || c[0] == '#' || strings.ContainsAny(c, ",\n\r\"") || strings.TrimSpace(c) != c {
			return nil, fmt.Errorf("session file: channel %d has the name %q, which cannot head a column", i+1, c)
		}
		if seen[c] {
			return nil, fmt.Errorf("session file: two columns are called %s", c)
		}
		seen[c] = true
	}
	return cols, nil
}

// sessionHeader returns all bytes before the first row.
func sessionHeader(meta []Field, cols []string) ([]byte, error) {
	b := []byte(fmt.Sprintf("# %s: session %d\n", formatKey, sessionVersion))
	created := false
	for _, f := range meta {
		if f.Key == "" || f.Key == formatKey || f.Key == headerCheckKey ||
			strings.ContainsAny(f.Key, ":\n\r") || strings.TrimSpace(f.Key) != f.Key {
			return nil, fmt.Errorf("session file: %q cannot be a header key", f.Key)
		}
		if f.Key == createdKey {
			if _, err := time.Parse(time.RFC3339, f.Value); err != nil {
				return nil, fmt.Errorf("session file: created is %q, want a time like 2026-05-09T10:15:00Z", f.Value)
			}
			created = true
		}
		b = fmt.Appendf(b, "# %s: %s\n", f.Key, escapeValue(f.Value))
	}
	if !created {
		return nil, errors.New("session file: the header needs the key created, the time from which time_s counts")
	}
	row := timeColumn + "," + strings.Join(cols, ",") + "," + checkColumn
	sum := sessionCheck(append(b[:len(b):len(b)], row...))
	b = append(b, "# "+headerCheckKey+": "...)
	b = append(appendCheck(b, sum), '\n')
	return append(append(b, row...), '\n'), nil
}

// Index returns the index of a channel for Cell, -1 when the file has no such column.
func (w *SessionWriter) Index(name string) int {
	for i, c := range w.channels {
		if c == name {
			return i
		}
	}
	return -1
}

// WriteRow writes one row in one write: t in seconds since "created", kept to the microsecond, and the cells that this
// reply carried. A row that cannot be written as asked (no finite number, unknown or repeated channel) is refused and the file stays good;
// after any other error the file is at its end.
func (w *SessionWriter) WriteRow(t float64, cells []Cell) error {
	if math.IsNaN(t) || math.Abs(t) > 1e9 {
		return fmt.Errorf("session row: time %g s cannot be", t)
	}
	clear(w.cells)
	for _, c := range cells {
		if c.Channel < 0 || c.Channel >= len(w.cells) {
			return fmt.Errorf("session row: no channel %d, the file has %d", c.Channel, len(w.cells))
		}
		if w.cells[c.Channel] != "" {
			return fmt.Errorf("session row: two values for %s", w.channels[c.Channel])
		}
		if math.IsNaN(c.Value) || math.IsInf(c.Value, 0) {
			return fmt.Errorf("session row: %s is %g, leave the cell out", w.channels[c.Channel], c.Value)
		}
		w.cells[c.Channel] = formatNumber(c.Value)
	}
	w.line = append(w.line[:0], formatNumber(math.Round(t*1e6)/1e6)...)
	for _, c := range w.cells {
		w.line = append(append(w.line, ','), c...)
	}
	return w.writeLine()
}

// WriteNote writes a note: what happened at time t.
func (w *SessionWriter) WriteNote(t float64, text string) error {
	if math.IsNaN(t) || math.Abs(t) > 1e9 {
		return fmt.Errorf("session note: time %g s cannot be", t)
	}
	w.line = append(w.line[:0], "# "...)
	w.line = append(w.line, formatNumber(math.Round(t*1e6)/1e6)...)
	w.line = append(w.line, ' ')
	w.line = append(w.line, escapeValue(text)...)
	return w.writeLine()
}

// formatNumber writes the shortest decimal that reads back as v, with an exponent only where the digits would be many.
func formatNumber(v float64) string {
	if a := math.Abs(v); a != 0 && (a < 1e-6 || a >= 1e15) {
		return strconv.FormatFloat(v, 'e', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// writeLine adds the check to w.line and writes it.
func (w *SessionWriter) writeLine() error {
	sum := sessionCheck(w.line)
	w.line = append(appendCheck(append(w.line, ','), sum), '\n')
	if len(w.line) > maxSessionLine {
		return fmt.Errorf("session line: %d bytes, at most %d", len(w.line), maxSessionLine)
	}
	return w.write(w.line)
}

func (w *SessionWriter) write(b []byte) error {
	if err := w.Err(); err != nil {
		return err
	}
	n, err := w.f.Write(b)
	if err == nil && n < len(b) {
		err = io.ErrShortWrite
	}
	if err != nil {
		return w.fail(fmt.Errorf("cannot write to the session file: %w", err))
	}
	w.mu.Lock()
	w.dirty = true
	w.mu.Unlock()
	return nil
}

// fail keeps the first error: it is the one that tells what happened.
func (w *SessionWriter) fail(err error) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.err == nil {
		w.err = err
	}
	return w.err
}

// Err returns the error that ended the file, nil while it is good. It may be called from any goroutine.
func (w *SessionWriter) Err() error {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.err
}

// Sync brings every line written so far to the disk. It does nothing when there is none, and never tries again after a
// failure: a second fsync may report success for pages that the kernel has already thrown away.
func (w *SessionWriter) Sync() error {
	w.mu.Lock()
	err, dirty := w.err, w.dirty
	w.dirty = false
	w.mu.Unlock()
	if err != nil || !dirty {
		return err
	}
	if err := w.f.Sync(); err != nil {
		return w.fail(fmt.Errorf("cannot bring the session file to the disk, lines of the last second may be lost: %w", err))
	}
	return nil
}

// SyncOn syncs at every tick, in a goroutine of its own, until Close or a failure. A recorder passes the channel of a ticker
// of one second. It is called at most once.
func (w *SessionWriter) SyncOn(tick <-chan time.Time) {
	w.stop, w.done = make(chan struct{}), make(chan struct{})
	go func() {
		defer close(w.done)
		for {
			select {
			case <-w.stop:
				return
			case <-tick:
				if w.Sync() != nil {
					return
				}
			}
		}
	}()
}

// Close syncs what is left, ends the syncing goroutine and closes the file. It returns the error that ended the file, if any.
func (w *SessionWriter) Close() error {
	if w.stop != nil {
		close(w.stop)
		<-w.done
		w.stop = nil
	}
	err := w.Sync()
	if cerr := w.f.Close(); err == nil && cerr != nil {
		err = w.fail(fmt.Errorf("cannot close the session file: %w", cerr))
	}
	return err
}
