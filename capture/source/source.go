// Package source opens logs wherever they lie: a session file, any logger's table, the standard input, a database.
package source

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"flywitness/capture/csvlog"
	"flywitness/capture/influx"
	"flywitness/drive"
)

// Options are what opening a log may need beside its name.
type Options struct {
	csvlog.Options
	Stdin io.Reader // what "-" is read from
	// Database returns the database that names beginning with influx: are looked for in.
	Database func() (*influx.Server, error)
	Zone     *time.Location // of times without a zone in such a name; nil: the machine's
	Unsummed bool           // nobody asks for the checksums of files: Log.SHA256 stays empty
}

// Open opens what a name means: one log, or, where it names a range of time in a database, each drive in it as a log
// of its own.
func Open(ctx context.Context, name string, opt Options) ([]*drive.Log, error) {
	if influx.IsName(name) {
		return openInflux(ctx, name, opt)
	}
	l, err := openFile(ctx, name, opt)
	var several *csvlog.SeveralError
	if errors.As(err, &several) {
		return openMembers(name, several.Files, opt)
	}
	if err != nil {
		return nil, err
	}
	return []*drive.Log{l}, nil
}

// openFile opens a file, or the standard input.
func openFile(ctx context.Context, path string, opt Options) (*drive.Log, error) {
	if path == "-" {
		if opt.Stdin == nil {
			return nil, fmt.Errorf("-: there is no standard input to read from")
		}
		return opt.read(untilDone(ctx, opt.Stdin), path)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("cannot read the log: %w", err)
	}
	defer f.Close()
	if st, err := f.Stat(); err == nil && st.IsDir() {
		return nil, fmt.Errorf("%s is a folder: name the log files in it", path)
	} else if err == nil && st.Mode().IsRegular() {
		opt.Size = st.Size()
		l, err := opt.read(f, path)
		if at, e := f.Seek(0, io.SeekCurrent); err == nil && e == nil && at < opt.Size {
			return nil, fmt.Errorf("%s became shorter while it was read: read it again when nothing writes to it", path)
		}
		return l, err
	}
	return opt.read(untilDone(ctx, f), path)
}

// untilDone reads from a pipe, whose next byte may never come, until somebody stops the program.
func untilDone(ctx context.Context, in io.Reader) io.Reader {
	out, to := io.Pipe()
	stop := context.AfterFunc(ctx, func() { to.CloseWithError(errors.New("stopped before its end")) })
	go func() {
		_, err := io.Copy(to, in)
		stop()
		to.CloseWithError(err)
	}()
	return out
}

func openInflux(ctx context.Context, text string, opt Options) ([]*drive.Log, error) {
	zone := opt.Zone
	if zone == nil {
		zone = time.Local
	}
	name, err := influx.ParseName(text, zone)
	if err != nil {
		return nil, err
	}
	if opt.Database == nil {
		return nil, fmt.Errorf("%s lies in a database, and none can be named here", text)
	}
	db, err := opt.Database()
	if err != nil {
		return nil, err
	}
	logs, err := db.Open(ctx, name)
	if err != nil {
		return nil, err
	}
	for _, l := range logs {
		if err := needChannels(l); err != nil {
			return nil, err
		}
		noMapNeeded(l, opt.Options)
	}
	return logs, nil
}

// InDatabase tells whether a name means logs of a database.
func InDatabase(name string) bool { return influx.IsName(name) }
