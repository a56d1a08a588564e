package flywitness_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// bareName is a command without the prefix that it is installed under: a reader who types it meets another program, or none.
var bareName = regexp.MustCompile("(?:^|[\\s(\"'`$])(?:analyze|logger) (?:learn|slip|inertia|compare|job|part|plan|serve|fleet|ports|record|import|emulate|push)\\b")

// A session file names its writer in a field that is read by other programs; it stays.
var notACommand = []string{`"tool: logger`, `Value: "logger import "`}

// roundedWithExponent writes 12345 as 1.2e+04, which nobody reads: figure.Significant and vehicle.Plain write it as people do.
var roundedWithExponent = regexp.MustCompile(`%\.\d+g`)

// TestWhatPeopleRead looks at every text that a person may copy a command or read a figure from.
func TestWhatPeopleRead(t *testing.T) {
	read := 0
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (strings.HasPrefix(d.Name(), ".") && path != "." || d.Name() == "node_modules" || d.Name() == "bin"):
			return fs.SkipDir
		case d.IsDir() || strings.HasSuffix(path, "_test.go"):
			return nil
		}
		switch filepath.Ext(path) {
		case ".go", ".md", ".html", ".txtar":
		default:
			return nil
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		read++
		for i, line := range strings.Split(string(data), "\n") {
			if filepath.Ext(path) == ".go" && roundedWithExponent.MatchString(line) && !strings.HasPrefix(path, "sim") {
				t.Errorf("%s:%d: %s: a figure may come out with an exponent", path, i+1, strings.TrimSpace(line))
			}
			if found := bareName.FindString(line); found != "" && !containsAny(line, notACommand) {
				t.Errorf("%s:%d: %q: the program is installed as fw-%s", path, i+1, line, strings.Fields(strings.TrimLeft(found, "(\"'`$ \t"))[0])
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if read < 50 {
		t.Errorf("only %d files read", read)
	}
}

func containsAny(s string, list []string) bool {
	for _, one := range list {
		if strings.Contains(s, one) {
			return true
		}
	}
	return false
}
