//go:build !linux

package influx

import (
	"testing"

	"flywitness/internal/influxd"
)

const diskFull = ""

// fillDisk ends the server: other systems do not let a test fill the disk of one process alone.
func fillDisk(_ *testing.T, db *influxd.Server) { db.Kill() }
