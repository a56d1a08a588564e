package drive

import (
	"bytes"
	"errors"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"flywitness/finding"
	"flywitness/internal/numbers"
)

// disk is a file on a disk that loses power. Synced bytes stay; of the writes since the last sync each sector is, by the throw of the dice, written,
// dropped (holding what it held before: nothing, or zeros where the file grew), or filled with garbage. The test double is that of SQLite's crash tests.
type disk struct {
	sector  int
	synced  []byte // what is sure
	pending []byte // the whole file as the program sees it
	syncs   int
	crashAt int // the sync during which the power goes
}

var errPower = errors.New("the power went")

func (d *disk) Write(b []byte) (int, error) {
	if d.syncs >= d.crashAt {
		return 0, errPower
	}
	d.pending = append(d.pending, b...)
	return len(b), nil
}

func (d *disk) Sync() error {
	d.syncs++
	if d.syncs >= d.crashAt {
		return errPower
	}
	d.synced = slices.Clone(d.pending)
	return nil
}

func (d *disk) Close() error { return nil }

// afterCrash returns what lies on the disk when the power is back. tear tells that the disk also ruins the old bytes of a sector that it was
// rewriting; most do not ("powersafe overwrite" in SQLite's words, from memory).
func (d *disk) afterCrash(rng *rand.Rand, tear bool) []byte {
	size := len(d.synced) + rng.IntN(len(d.pending)-len(d.synced)+1) // the length in the directory may lag behind
	if rng.IntN(2) == 0 {
		size = len(d.pending)
	}
	out := make([]byte, size)
	copy(out, d.synced)
	for at := len(d.synced) / d.sector * d.sector; at < size; at += d.sector {
		lo, hi := max(at, len(d.synced)), min(at+d.sector, size)
		if tear {
			lo = at
		}
		switch rng.IntN(4) {
		case 0:
			copy(out[lo:hi], d.pending[lo:hi])
		case 1:
			for i := lo; i < hi; i++ {
				out[i] = byte(rng.Uint32())
			}
		case 2: // garbage that could pass for rows: what another line held
			copy(out[lo:hi], d.pending[rng.IntN(lo+1):])
		}
	}
	return out
}

// Whatever the power loss left of the last second, every synced line is read, and no line is read that was not written. Where the disk tears sectors, the
// synced lines of the sector that was being written may go too.
func TestPowerLoss(t *testing.T) {
	numbers.Only(t)
	rng := rand.New(rand.NewPCG(42, 42))
	for _, sector := range []int{1, 64, 512, 4096} {
		for round := range 400 {
			tear := round%2 == 1
			d := &disk{sector: sector, crashAt: 2 + rng.IntN(6)}
			written, sure := recordUntilCrash(t, d, rng)
			if tear {
				sure = rowsBefore(d.synced[:len(d.synced)/sector*sector])
			}
			l, err := ReadSession(bytes.NewReader(d.afterCrash(rng, tear)), "crashed")
			if err != nil && sure > 0 {
				t.Fatalf("sector %d, %d rows synced: %v", sector, sure, err)
			}
			if err != nil { // no row was sure, and none is left, or the header was in the torn sector
				continue
			}
			n := l.Channel(EngineSpeed)
			if n == nil { // a torn column row, and a warning that says so
				if sure > 0 || !hasCode(l, finding.HeaderCheck) && !hasCode(l, finding.NoCheck) {
					t.Fatalf("the column row changed unnoticed: %v", l.Warnings)
				}
				continue
			}
			if n.Len() < sure {
				t.Fatalf("sector %d: %d rows read, %d were synced", sector, n.Len(), sure)
			}
			for i, v := range n.V {
				k := int(v)
				if k >= written || n.T[i] != float64(k)/20 || i < sure && k != i {
					t.Fatalf("sector %d: row %d reads %g rpm at %g s and was never written", sector, i, v, n.T[i])
				}
			}
		}
	}
}

// rowsBefore counts the whole rows in the beginning of a file.
func rowsBefore(data []byte) int {
	return max(0, bytes.Count(data, []byte("\n"))-bytes.Count(data, []byte("#"))-1)
}

func hasCode(l *Log, code finding.Code) bool { return slices.Contains(codes(l), string(code)) }

// recordUntilCrash writes rows numbered by their engine speed, with a sync now and then, until the disk fails. It returns how many rows were
// written and how many of them had been synced.
func recordUntilCrash(t *testing.T, d *disk, rng *rand.Rand) (written, sure int) {
	t.Helper()
	w, err := NewSessionWriter(d, benchMeta, []string{EngineSpeed})
	if err != nil {
		t.Fatal(err)
	}
	for {
		for range 1 + rng.IntN(40) {
			if err := w.WriteRow(float64(written)/20, []Cell{{0, float64(written)}}); err != nil {
				t.Fatal(err)
			}
			written++
		}
		if err := w.Sync(); err != nil {
			if err := w.WriteRow(1, nil); !errors.Is(err, errPower) {
				t.Fatalf("after a failed sync a row was taken: %v", err)
			}
			return written, sure
		}
		sure = written
	}
}

// faulty is a File whose calls fail as told.
type faulty struct {
	memFile
	mu             sync.Mutex
	room           int // bytes until the disk is full; -1 for no end
	syncErr        error
	failed, silent int // syncs that failed; syncs tried after
}

func (f *faulty) Write(b []byte) (int, error) {
	if f.room >= 0 && len(b) > f.room {
		n, _ := f.memFile.Write(b[:f.room])
		f.room = 0
		return n, syscall.ENOSPC
	}
	if f.room >= 0 {
		f.room -= len(b)
	}
	return f.memFile.Write(b)
}

func (f *faulty) Sync() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.failed > 0 {
		f.silent++
	}
	if f.syncErr != nil {
		f.failed++
	}
	return f.syncErr
}

func TestFullDisk(t *testing.T) {
	f := &faulty{room: 600}
	w, err := NewSessionWriter(f, benchMeta, []string{EngineSpeed})
	if err != nil {
		t.Fatal(err)
	}
	rows := 0
	for ; rows < 100; rows++ {
		if err = w.WriteRow(float64(rows), []Cell{{0, 900}}); err != nil {
			break
		}
	}
	if !errors.Is(err, syscall.ENOSPC) || strings.Contains(err.Error(), "\n") {
		t.Fatalf("full disk: %v", err)
	}
	size := f.Len()
	if err := w.WriteRow(200, []Cell{{0, 900}}); !errors.Is(err, syscall.ENOSPC) || f.Len() != size {
		t.Fatalf("a row was written behind the torn one: %v", err)
	}
	if err := w.Close(); !errors.Is(err, syscall.ENOSPC) || !f.closed {
		t.Fatalf("Close: %v", err)
	}
	l, err := ReadSession(&f.Buffer, "full")
	if err != nil || l.Rows != rows || l.Skipped > 1 {
		t.Fatalf("%d rows of %d, %d skipped: %v", l.Rows, rows, l.Skipped, err)
	}
}

// A failed sync is told to the next row and is never tried again.
func TestFailedSync(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f := &faulty{room: -1}
		w, err := NewSessionWriter(f, benchMeta, []string{EngineSpeed})
		if err != nil {
			t.Fatal(err)
		}
		tick := time.NewTicker(time.Second)
		defer tick.Stop()
		w.SyncOn(tick.C)
		if err := w.WriteRow(0, nil); err != nil {
			t.Fatal(err)
		}
		f.mu.Lock()
		f.syncErr = syscall.EIO
		f.mu.Unlock()
		time.Sleep(1100 * time.Millisecond)
		synctest.Wait()
		if err := w.WriteRow(1, nil); !errors.Is(err, syscall.EIO) {
			t.Fatalf("row after a failed sync: %v", err)
		}
		time.Sleep(5 * time.Second)
		if err := w.Close(); !errors.Is(err, syscall.EIO) {
			t.Fatalf("Close: %v", err)
		}
		if f.failed != 1 || f.silent != 0 {
			t.Errorf("%d failed syncs, %d tried again", f.failed, f.silent)
		}
	})
}

// Rows that are written together reach a full disk late, and the session says so at its end at the latest.
func TestTogether(t *testing.T) {
	for _, room := range []int{-1, 600} {
		f := &faulty{room: room}
		w, err := NewSessionWriter(f, benchMeta, []string{EngineSpeed})
		if err != nil {
			t.Fatal(err)
		}
		header := len(f.Bytes())
		w.Together()
		for i := range 100 {
			if err := w.WriteRow(float64(i), []Cell{{0, 900}}); err != nil {
				t.Fatal(err)
			}
		}
		if n := len(f.Bytes()); n != header {
			t.Errorf("%d bytes reached the file before they had to", n-header)
		}
		err = w.Close()
		if rows := strings.Count(string(f.Bytes()[header:]), "\n"); room < 0 && (err != nil || rows != 100) {
			t.Errorf("%d rows: %v", rows, err)
		}
		if room >= 0 && !errors.Is(err, syscall.ENOSPC) {
			t.Errorf("a full disk: %v", err)
		}
	}
}

// Once a second, in a goroutine of its own, and only when there is something to sync.
func TestSyncsOnceASecond(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f := &faulty{room: -1, syncErr: nil}
		counted := &countSyncs{faulty: f}
		w, err := NewSessionWriter(counted, benchMeta, []string{EngineSpeed})
		if err != nil {
			t.Fatal(err)
		}
		tick := time.NewTicker(time.Second)
		defer tick.Stop()
		w.SyncOn(tick.C)
		for i := range 95 { // 9.5 s at 10 rows a second, then 5 s of silence
			if err := w.WriteRow(float64(i)/10, []Cell{{0, 900}}); err != nil {
				t.Fatal(err)
			}
			time.Sleep(100 * time.Millisecond)
		}
		time.Sleep(5 * time.Second)
		synctest.Wait()
		if n := counted.count(); n != 1+10 {
			t.Errorf("%d syncs in 14.5 s, want one for the header and ten", n)
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
	})
}

type countSyncs struct {
	*faulty
	n int
}

func (c *countSyncs) Sync() error {
	c.mu.Lock()
	c.n++
	c.mu.Unlock()
	return c.faulty.Sync()
}

func (c *countSyncs) count() int {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.n
}

func TestReadOnlyFolder(t *testing.T) {
	if os.Getuid() == 0 { // root writes anywhere: a folder that does not exist is refused in the same way
		_, err := CreateSession(filepath.Join(t.TempDir(), "none", "a.csv"), benchMeta, []string{EngineSpeed})
		if !errors.Is(err, fs.ErrNotExist) || strings.Contains(err.Error(), "\n") {
			t.Fatal(err)
		}
		return
	}
	dir := t.TempDir()
	if err := os.Chmod(dir, 0o555); err != nil {
		t.Fatal(err)
	}
	if _, err := CreateSession(filepath.Join(dir, "a.csv"), benchMeta, []string{EngineSpeed}); !errors.Is(err, fs.ErrPermission) {
		t.Fatal(err)
	}
}

// Parse, write, parse again: equal.
func FuzzSession(f *testing.F) {
	f.Add(shortSession(f, 6))
	f.Add([]byte("time_s,engine_speed_rpm\n0,850\n0.1,851\n"))
	f.Add([]byte("# format: session 1\n# created: 2026-05-09T10:15:00Z\n# note: a\\nb\ntime_s,a,b,check\n1,2,,00000000\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		l, err := ReadSession(bytes.NewReader(data), "fuzz")
		if err != nil {
			if strings.Contains(err.Error(), "\n") {
				t.Fatalf("error of several lines: %q", err)
			}
			return
		}
		again := rewrite(t, l)
		if again == nil {
			return
		}
		for i, c := range l.Channels {
			if c.Name != again.Channels[i].Name || !slices.Equal(c.V, again.Channels[i].V) {
				t.Fatalf("%s: %v was written as %v", c.Name, c.V, again.Channels[i].V)
			}
		}
		if again.Skipped > 0 || len(again.Warnings) > 0 {
			t.Fatalf("what was written is not read: %v", again.Warnings)
		}
	})
}

// rewrite writes a log again and reads it; nil when it holds a name or a time that no session file can have.
func rewrite(t *testing.T, l *Log) *Log {
	t.Helper()
	meta := []Field{{"created", "2026-05-09T10:15:00Z"}}
	for _, h := range l.Header {
		if h.Key != "created" && h.Key != "format" {
			meta = append(meta, h)
		}
	}
	var names []string
	for _, c := range l.Channels {
		names = append(names, c.Name)
	}
	var f memFile
	w, err := NewSessionWriter(&f, meta, names)
	if err != nil {
		return nil
	}
	for i, c := range l.Channels {
		for k := range c.T {
			if w.WriteRow(c.T[k], []Cell{{i, c.V[k]}}) != nil {
				return nil
			}
		}
	}
	again, err := ReadSession(&f.Buffer, "again")
	if err != nil {
		t.Fatal(err)
	}
	return again
}
