package influx

import (
	"math"
	"testing"

	"flywitness/internal/influxd"

	"golang.org/x/sys/unix"
)

// diskFull is what the server then says.
const diskFull = "file too large"

// fillDisk lets the server write no further byte to any file, which is to it what a full disk is.
func fillDisk(t *testing.T, db *influxd.Server) {
	limit := unix.Rlimit{Cur: 64, Max: math.MaxUint64}
	if err := unix.Prlimit(db.PID(), unix.RLIMIT_FSIZE, &limit, nil); err != nil {
		t.Error(err)
	}
}
