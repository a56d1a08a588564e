package drive

import (
	"io"
	"strings"
	"time"
)

// Row is one line behind the column row of a session: values with their time, or a note. Cells are valid until the
// next row.
type Row struct {
	T     float64 // s since the session's start
	Cells []Cell  // Channel indexes Log.Channels
	Note  *Note
	End   int64 // bytes of the file up to and with this line
}

// ScanSession reads a session file as ReadSession does, but hands out its rows one by one instead of keeping them, so
// that a drive of any length needs the same memory. head sees the log once its header and columns are known. An error
// of head or row ends the reading and comes back. The log that is returned counts and warns as ReadSession's does,
// and holds no value.
func ScanSession(r io.Reader, name string, head func(*Log) error, row func(Row) error) (*Log, error) {
	s := newSessionReader(r, name)
	if err := s.readHeader(); err != nil {
		return nil, err
	}
	if err := head(s.log); err != nil {
		return nil, err
	}
	s.take = row
	return s.readRows()
}

// SessionLog returns a log without values of which the header lines of a session are known.
func SessionLog(path string, header []Field) *Log {
	l := &Log{Path: path, Header: header, StampStep: highest(header, stampStepKey), Clocks: int(min(highest(header, clocksKey), maxClocks))}
	l.Created, _ = parseCreated(l.HeaderValue(createdKey))
	return l
}

func parseCreated(value string) (time.Time, error) {
	return time.Parse(time.RFC3339, strings.TrimSpace(value))
}

// highest is the highest number that the header says of the imported logs, 0 where it says none: their times are no
// better for standing in a session file.
func highest(header []Field, key string) (most float64) {
	for _, f := range header {
		if x, ok := ParseNumber([]byte(f.Value)); ok && strings.HasPrefix(f.Key, key) && x > most {
			most = x
		}
	}
	return most
}
