package influx

import (
	"context"
	"math"
	"strings"
	"testing"

	"golang.org/x/sys/unix"

	"flywitness/internal/influxd"
)

// TestDiskFullOnTheServer lets the server write no further byte to any file, which is to it what a full disk is, in
// the middle of a drive. Version 1.8 goes on refusing until it is started again with room.
func TestDiskFullOnTheServer(t *testing.T) {
	t.Parallel()
	db := influxd.Start(t)
	path := usual(t, "2026-05-09T08:00:00Z", "Mule", 20000)
	clock := &later{newQuick(), map[int]func(){}}
	full := false
	var said string
	s := &Sender{Server: open(t, db), Clock: clock}
	s.Tell = func(st State) {
		if st.Waiting != "" {
			said = st.Waiting
		}
		if st.Rows >= 10000 && !full {
			full = true
			limit := unix.Rlimit{Cur: 64, Max: math.MaxUint64}
			if err := unix.Prlimit(db.PID(), unix.RLIMIT_FSIZE, &limit, nil); err != nil {
				t.Fatal(err)
			}
			clock.at[len(clock.slept)+3] = func() { db.Kill(); db.Restart() }
		}
	}
	r, err := s.Send(context.Background(), path)
	if err != nil || r.Rows != 20000 || r.Refused != 0 || !strings.Contains(said, "file too large") {
		t.Errorf("%+v, %v, said %q", r, err, said)
	}
	allThere(t, db, path)
}
