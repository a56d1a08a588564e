package capture

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
)

// place is where a file of a recording is on the disk. It holds the file open, so that what it held can be read when somebody has
// deleted it.
type place struct {
	path string
	info os.FileInfo
	open *os.File
}

// newPlace returns the place of a file that is there, nil otherwise.
func newPlace(path string) *place {
	open, err := os.Open(path)
	if err != nil {
		return nil
	}
	info, err := open.Stat()
	if err != nil {
		open.Close()
		return nil
	}
	return &place{path: path, info: info, open: open}
}

// there tells whether the file is still in its place. When that cannot be told it counts as there.
func (p *place) there() bool {
	now, err := os.Stat(p.path)
	if err != nil {
		return !errors.Is(err, os.ErrNotExist)
	}
	return os.SameFile(now, p.info)
}

// restore writes what the file held to its place again, or beside what is there now, and returns the name.
func (p *place) restore() (name string, err error) {
	if err := os.MkdirAll(filepath.Dir(p.path), 0o755); err != nil {
		return "", err
	}
	ext := filepath.Ext(p.path)
	var to *os.File
	for _, name = range []string{p.path, strings.TrimSuffix(p.path, ext) + "-restored" + ext} {
		if to, err = os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644); !errors.Is(err, os.ErrExist) {
			break
		}
	}
	if err != nil {
		return "", err
	}
	_, err = p.open.Seek(0, io.SeekStart)
	if err == nil {
		_, err = io.Copy(to, p.open)
	}
	if err == nil {
		err = to.Sync()
	}
	return name, errors.Join(err, to.Close())
}

func (p *place) close() { p.open.Close() }
