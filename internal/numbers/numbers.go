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
