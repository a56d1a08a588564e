package job

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"flywitness/vehicle/tomlfile"
)

func sum(data []byte) string {
	h := sha256.Sum256(data)
	return hex.EncodeToString(h[:])
}

// maxRecordings is the most files of one job.
const maxRecordings = 1000

// finder resolves globs against the job file's folder.
type finder struct{ dir string }

// find returns the files of the patterns in order, each once, as paths that can be opened; complaints go to the key.
func (f *finder) find(t *tomlfile.Table, key string) []string {
	var files []string
	for _, pattern := range t.Texts(key) {
		found, err := f.match(pattern)
		if err != nil {
			t.Refuse(key, "%v", err)
			return nil
		}
		for _, file := range found {
			if !slices.Contains(files, file) {
				files = append(files, file)
			}
		}
		if len(files) > maxRecordings {
			t.Refuse(key, "names more than %d files", maxRecordings)
			return nil
		}
	}
	return files
}

func (f *finder) match(pattern string) ([]string, error) {
	if strings.TrimSpace(pattern) == "" {
		return nil, fmt.Errorf("holds an empty name; name a recording such as \"before/*.csv\"")
	}
	if inDatabase(pattern) {
		return []string{pattern}, nil
	}
	full := filepath.Clean(pattern)
	if !filepath.IsAbs(pattern) {
		full = filepath.Join(f.dir, pattern)
	}
	if info, err := os.Stat(full); err == nil { // a name with brackets in it is a name first
		if info.IsDir() {
			return nil, fmt.Errorf("names the folder %s; name its recordings: %q", full, filepath.Join(pattern, "*.csv"))
		}
		return []string{full}, nil
	}
	found, err := filepath.Glob(full)
	if err != nil {
		return nil, fmt.Errorf("%q is no pattern: %v", pattern, err)
	}
	found = slices.DeleteFunc(found, func(p string) bool {
		info, err := os.Stat(p)
		return err != nil || info.IsDir()
	})
	if len(found) == 0 {
		return nil, fmt.Errorf("%q matches no file; looked for %s", pattern, full)
	}
	slices.Sort(found)
	return found, nil
}

// inDatabase tells whether a recording lies in a database, where no glob reaches.
func inDatabase(name string) bool { return strings.HasPrefix(name, "influx:") }

// readRecordings puts every recording on its side and into its session: an [[exclude]] takes files out and keeps them
// listed, a [[session]] groups files, any other file is a session of its own.
func (j *Job) readRecordings(root *tomlfile.Table, f *finder) {
	loose := map[Side][]string{Before: f.find(root, "before"), After: f.find(root, "after")}
	taken := map[string]Side{} // files that stand already; "" for an excluded one
	for _, t := range root.Tables("exclude") {
		e := Exclusion{Files: f.find(t, "files"), Reason: t.Text("reason")}
		if !t.Has("files") || e.Reason == "" {
			t.Refuse("", "an [[exclude]] needs files and a reason")
		}
		for _, file := range e.Files {
			taken[file] = ""
		}
		j.Excluded = append(j.Excluded, e)
	}
	for i, t := range root.Tables("session") {
		j.readSession(t, f, taken, i+1)
	}
	for _, side := range []Side{Before, After} {
		for _, file := range loose[side] {
			on, stands := taken[file]
			switch {
			case !stands:
				taken[file] = side
				j.add(side, Session{Name: filepath.Base(file), Files: []string{file}})
			case on != "" && on != side:
				root.Refuse(string(side), "names %s, which stands on the %s side too; a recording stands on one", file, on)
				return
			}
		}
	}
	if len(loose[Before])+len(loose[After])+len(taken) == 0 {
		root.Refuse("", "no recordings: give before, after, or both, such as before = [\"before/*.csv\"]")
	} else if len(j.Before)+len(j.After) == 0 {
		root.Refuse("exclude", "takes out every recording; at least one must be left")
	}
}

func (j *Job) readSession(t *tomlfile.Table, f *finder, taken map[string]Side, number int) {
	s := Session{Name: t.Text("name"), Grouped: true}
	if s.Name == "" {
		s.Name = fmt.Sprintf("session %d", number)
	}
	if !t.Has("side") || !t.Has("files") {
		t.Refuse("", "a [[session]] needs side = \"before\" or \"after\", and files")
	}
	side := Side(t.Choice("side", string(Before), string(After)))
	for _, file := range f.find(t, "files") {
		on, stands := taken[file]
		if stands && on != "" {
			t.Refuse("files", "names %s, which another [[session]] names too", file)
			return
		}
		if !stands {
			s.Files = append(s.Files, file)
		}
	}
	for _, file := range s.Files {
		taken[file] = side
	}
	if len(s.Files) > 0 {
		j.add(side, s)
	}
}

func (j *Job) add(side Side, s Session) {
	if side == Before {
		j.Before = append(j.Before, s)
	} else {
		j.After = append(j.After, s)
	}
}
