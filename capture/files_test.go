package capture

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"flywitness/drive"
)

// disk is a file that fails after so many bytes, as a full disk does.
type disk struct {
	bytes.Buffer
	room   int
	unsync bool
}

func (d *disk) Write(b []byte) (int, error) {
	if d.Len()+len(b) > d.room {
		n, _ := d.Buffer.Write(b[:max(0, d.room-d.Len())])
		return n, syscall.ENOSPC
	}
	return d.Buffer.Write(b)
}

func (d *disk) Sync() error {
	if d.unsync && d.Len() > 400 {
		return syscall.EIO
	}
	return nil
}

func (d *disk) Close() error { return nil }

// filesOn returns Files whose n-th file is disks[n]; a missing one cannot be created.
func filesOn(t *testing.T, disks map[string]*disk, tick chan time.Time) (*Files, *[]string) {
	t.Helper()
	var notices []string
	f := &Files{path: "d/drive.csv", meta: []drive.Field{{Key: "created", Value: "2026-05-09T10:15:00Z"}}, channels: []string{drive.EngineSpeed},
		ticker: func() (<-chan time.Time, func()) { return tick, func() {} }, notice: func(s string) { notices = append(notices, s) },
		create: func(path string, meta []drive.Field, channels []string) (*drive.SessionWriter, error) {
			if path == "d/drive-2.csv" && disks[path] == nil && disks["d/drive-3.csv"] != nil {
				return nil, fmt.Errorf("%s: %w", path, os.ErrExist)
			}
			if disks[path] == nil {
				return nil, syscall.EROFS
			}
			return drive.NewSessionWriter(disks[path], meta, channels)
		}}
	if err := f.open(f.path, f.meta); err != nil {
		t.Fatal(err)
	}
	return f, &notices
}

// rowsOf counts the rows of a file that can be read.
func rowsOf(t *testing.T, d *disk) (rows int, log *drive.Log) {
	t.Helper()
	l, err := drive.ReadSession(bytes.NewReader(d.Bytes()), "x")
	if err != nil {
		t.Fatal(err)
	}
	return l.Rows, l
}

func TestGoesOnInAnotherFile(t *testing.T) {
	for name, first := range map[string]*disk{"full": {room: 1000}, "cannot sync": {room: 1 << 20, unsync: true}} {
		second := &disk{room: 1 << 20}
		disks := map[string]*disk{"d/drive.csv": first, "d/drive-3.csv": second} // drive-2.csv is somebody's
		tick := make(chan time.Time)
		f, notices := filesOn(t, disks, tick)
		const n = 200
		for i := 0; i < n; i++ {
			if i%50 == 25 {
				select {
				case tick <- time.Now():
				case <-time.After(200 * time.Millisecond): // the syncing has ended with a failure
				}
				time.Sleep(5 * time.Millisecond)
			}
			if err := f.WriteRow(float64(i), []drive.Cell{{Channel: 0, Value: 800}}); err != nil {
				t.Fatalf("%s: row %d: %v", name, i, err)
			}
		}
		_ = f.Close()
		a, _ := rowsOf(t, first)
		b, l := rowsOf(t, second)
		if a+b != n || a == 0 || b == 0 || l.HeaderValue("part") != "2" || len(*notices) != 1 || len(f.Names()) != 2 {
			t.Errorf("%s: %d + %d rows, header %v, notices %q, files %v", name, a, b, l.Header, *notices, f.Names())
		}
	}
}

func TestNowhereToGoOn(t *testing.T) {
	first := &disk{room: 1000}
	f, _ := filesOn(t, map[string]*disk{"d/drive.csv": first}, make(chan time.Time))
	var err error
	rows := 0
	for ; err == nil && rows < 1000; rows++ {
		err = f.WriteRow(float64(rows), []drive.Cell{{Channel: 0, Value: 800}})
	}
	if !errors.Is(err, syscall.ENOSPC) || !strings.Contains(err.Error(), "is in d/drive.csv") {
		t.Errorf("%v", err)
	}
	if got, _ := rowsOf(t, first); got != rows-1 {
		t.Errorf("%d rows of %d are there", got, rows-1)
	}
}

// A file that is deleted under the recording is brought back, and the recording goes on beside it; so with its whole folder.
func TestDeletedFileIsBroughtBack(t *testing.T) {
	for _, what := range []string{"file", "folder", "replaced"} {
		dir := filepath.Join(t.TempDir(), "sub")
		path := filepath.Join(dir, "drive.csv")
		if err := os.Mkdir(dir, 0o755); err != nil {
			t.Fatal(err)
		}
		var notices []string
		f, err := CreateFiles(path, []drive.Field{{Key: "created", Value: "2026-05-09T10:15:00Z"}}, []string{drive.EngineSpeed},
			func() (<-chan time.Time, func()) { return nil, func() {} }, func(s string) { notices = append(notices, s) })
		if err != nil {
			t.Fatal(err)
		}
		const n = 100
		for i := range n {
			if i == 40 {
				if what == "folder" {
					err = os.RemoveAll(dir)
				} else {
					err = os.Remove(path)
				}
				if what == "replaced" {
					err = os.WriteFile(path, []byte("somebody's\n"), 0o644)
				}
				if err != nil {
					t.Fatal(err)
				}
			}
			if err := f.WriteRow(float64(i)/4, []drive.Cell{{Channel: 0, Value: 800}}); err != nil {
				t.Fatal(err)
			}
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
		rows := 0
		for _, name := range f.Names() {
			file, err := os.Open(name)
			if err != nil {
				t.Fatal(err)
			}
			l, err := drive.ReadSession(file, name)
			file.Close()
			if err != nil || l.Skipped > 0 {
				t.Fatalf("%s: %v", name, err)
			}
			rows += l.Rows
		}
		if rows != n || len(f.Names()) != 2 || len(notices) != 1 || !strings.Contains(notices[0], "was deleted or moved") {
			t.Errorf("%s: %d rows in %q, %q", what, rows, f.Names(), notices)
		}
		if data, _ := os.ReadFile(path); what == "replaced" && string(data) != "somebody's\n" {
			t.Error("somebody's file was overwritten")
		}
	}
}

// A disk that has room for the beginning of a new file and for no row: no empty part is left behind.
func TestNoEmptyPartIsLeft(t *testing.T) {
	head := &disk{room: 1000}
	if _, err := drive.NewSessionWriter(head, []drive.Field{{Key: "created", Value: "2026-05-09T10:15:00Z"}, {Key: "part", Value: "2"}}, []string{drive.EngineSpeed}); err != nil {
		t.Fatal(err)
	}
	first, second := &disk{room: 1000}, &disk{room: head.Len() + 10}
	f, _ := filesOn(t, map[string]*disk{"d/drive.csv": first, "d/drive-2.csv": second}, make(chan time.Time))
	var err error
	for i := 0; err == nil && i < 1000; i++ {
		err = f.WriteRow(float64(i), []drive.Cell{{Channel: 0, Value: 800}})
	}
	if !errors.Is(err, syscall.ENOSPC) || !strings.Contains(err.Error(), "make room") || len(f.Names()) != 1 || second.Len() == 0 {
		t.Errorf("%v, files %q, second has %d bytes", err, f.Names(), second.Len())
	}
}
