package flywitness_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// concurrent tells whether a file starts a goroutine: by a go statement, by the Go method of a group, or by giving
// its work to internal/blocks or internal/parts, which run it on all cores.
func concurrent(f *ast.File) bool {
	found := false
	for _, imp := range f.Imports {
		found = found || imp.Path.Value == `"flywitness/internal/blocks"` || imp.Path.Value == `"flywitness/internal/parts"`
	}
	ast.Inspect(f, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.GoStmt:
			found = true
		case *ast.CallExpr:
			if s, ok := n.Fun.(*ast.SelectorExpr); ok && s.Sel.Name == "Go" {
				found = true
			}
		}
		return !found
	})
	return found
}

// The Makefile runs the race detector over the packages that it names: those are all that start goroutines, and no
// others.
func TestEveryPackageWithGoroutinesIsRunWithTheRaceDetector(t *testing.T) {
	makefile, err := os.ReadFile("Makefile")
	if err != nil {
		t.Fatal(err)
	}
	list := regexp.MustCompile(`(?m)^CONCURRENT =((?:.*\\\n)*.*)$`).FindSubmatch(makefile)
	if list == nil {
		t.Fatal("the Makefile has no list CONCURRENT")
	}
	named := strings.Fields(strings.ReplaceAll(string(list[1]), "\\\n", " "))
	var found []string
	err = filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && path != "." && (strings.HasPrefix(d.Name(), ".") || d.Name() == "node_modules" || d.Name() == "bin"):
			return fs.SkipDir
		case d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_proof_test.go"):
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		if folder := "./" + filepath.ToSlash(filepath.Dir(path)); concurrent(f) && !slices.Contains(found, folder) {
			found = append(found, folder)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(found)
	slices.Sort(named)
	if !slices.Equal(found, named) {
		t.Errorf("the Makefile runs the race detector over\n%v, goroutines are started in\n%v", named, found)
	}
}
