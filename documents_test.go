package flywitness_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// named are files of this project as its documents name them; madeByUse are those that only exist once somebody ran a command.
var (
	named     = regexp.MustCompile("`([a-zA-Z0-9_./-]+\\.(?:go|py|toml|md|txt|json|csv))`")
	madeByUse = map[string]bool{"result.json": true}
)

// A file that a document names is in the tree.
func TestDocumentsNameFilesThatAreThere(t *testing.T) {
	var tree []string
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err == nil && d.IsDir() && path != "." && (strings.HasPrefix(d.Name(), ".") || d.Name() == "node_modules") {
			return fs.SkipDir
		}
		tree = append(tree, "/"+filepath.ToSlash(path))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	all := strings.Join(tree, "\n") + "\n"
	documents, err := filepath.Glob("docs/*.md")
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, doc := range append(documents, "DEVELOPERS.md", "README.md") {
		text, err := os.ReadFile(doc)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range named.FindAllStringSubmatch(string(text), -1) {
			seen++
			if !madeByUse[m[1]] && !strings.Contains(all, "/"+m[1]+"\n") {
				t.Errorf("%s names %s, which is not there", doc, m[1])
			}
		}
	}
	if seen < 20 {
		t.Errorf("only %d files named", seen)
	}
}
