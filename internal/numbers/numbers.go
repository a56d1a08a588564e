// Package numbers reads, for tests, the numbers of a general-purpose library that stand in a package's testdata beside the script that made them.
package numbers

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
)

// Read fills into from testdata/file (JSON). It ends the test where there is no such file or it cannot be read.
func Read(t *testing.T, file string, into any) {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("testdata", file))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, into); err != nil {
		t.Fatal(err)
	}
}

// Only skips a test of numbers in the short run, which looks for races (make test): what it asserts holds without the
// race detector, which takes ten times as long, and other tests of its package run the same goroutines.
func Only(t testing.TB) {
	t.Helper()
	if testing.Short() {
		t.Skip("a test of numbers, in a run that looks for races")
	}
}
