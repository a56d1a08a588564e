// Package golden, for tests, holds what a package makes against a file in the tree, and writes that file anew on
// demand: go test ./the/package -update.
package golden

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"testing"
)

// Update tells that the files are to be written anew.
var Update = flag.Bool("update", false, "write the files anew that results are held against")

// Same fails the test where got is not what stands in the file at path, as seen from the package.
func Same(t *testing.T, path string, got []byte) {
	t.Helper()
	if *Update {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s would change; run this package's tests with -update, and look at what did", path)
	}
}
