package job

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
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
	files, missing := f.look(t, key)
	if missing != nil {
		t.Refuse(key, "%v", missing)
		return nil
	}
	return files
}

// side returns the files of a side. A side whose folder is there and still empty is one that was not driven yet: it has no
// files, and missing says what was looked for.
func (f *finder) side(t *tomlfile.Table, key Side) (files []string, missing *noMatch) {
	files, missing = f.look(t, string(key))
	if missing != nil && (len(files) > 0 || !missing.folder) {
		t.Refuse(string(key), "%v", missing)
		return nil, nil
	}
	return files, missing
}

// look returns what was found, and the first pattern that found nothing. Any other fault is complained of at once.
func (f *finder) look(t *tomlfile.Table, key string) (files []string, missing *noMatch) {
	for _, pattern := range t.Texts(key) {
		found, err := f.match(pattern)
		var none *noMatch
		switch {
		case errors.As(err, &none):
			if missing == nil {
				missing = none
			}
			continue
		case err != nil:
			t.Refuse(key, "%v", err)
			return nil, nil
		}
		for _, file := range found {
			if !slices.Contains(files, file) {
				files = append(files, file)
			}
		}
		if len(files) > maxRecordings {
			t.Refuse(key, "names more than %d files", maxRecordings)
			return nil, nil
		}
	}
	return files, missing
}

// noMatch is a pattern that finds no file. folder tells whether the folder that it looks in is there.
type noMatch struct {
	pattern, full string
	folder        bool
}

func (e *noMatch) Error() string {
	if e.folder && !strings.ContainsAny(e.pattern, "*?[") {
		return fmt.Sprintf("%q holds no recording (*.csv, *.tsv, *.log, also packed as .gz or .zip); looked in %s", e.pattern, e.full)
	}
	text := fmt.Sprintf("%q matches no file; looked for %s", e.pattern, e.full)
	if !e.folder {
		text += ", and that folder is not there"
	}
	return text
}

// match returns the files of a name, of a folder (the logs in it) or of a pattern, in the order of their names.
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
	info, err := os.Stat(full)
	switch {
	case err == nil && !info.IsDir(): // a name with brackets in it is a name first
		return []string{full}, nil
	case err == nil:
		return logsIn(pattern, full)
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
		info, err := os.Stat(filepath.Dir(full))
		folder := err == nil && info.IsDir() || strings.ContainsAny(filepath.Dir(full), "*?[")
		return nil, &noMatch{pattern, full, folder && strings.ContainsAny(pattern, "*?[")}
	}
	slices.Sort(found)
	return found, nil
}

// logsIn lists the logs in a folder.
func logsIn(pattern, full string) (found []string, err error) {
	entries, err := os.ReadDir(full)
	if err != nil {
		return nil, fmt.Errorf("names the folder %s, which cannot be read: %v", full, err)
	}
	for _, e := range entries { // in the order of their names
		if !e.IsDir() && IsRecording(e.Name()) {
			found = append(found, filepath.Join(full, e.Name()))
		}
	}
	if len(found) == 0 {
		return nil, &noMatch{pattern, full, true}
	}
	return found, nil
}

// inDatabase tells whether a recording lies in a database, where no glob reaches.
func inDatabase(name string) bool { return strings.HasPrefix(name, "influx:") }

// readRecordings puts every recording on its side and into its session: an [[exclude]] takes files out and keeps them
// listed, a [[session]] groups files, any other file is a session of its own.
func (j *Job) readRecordings(root *tomlfile.Table, f *finder) {
	loose, missing := map[Side][]string{}, map[Side]*noMatch{}
	for _, side := range []Side{Before, After} {
		loose[side], missing[side] = f.side(root, side)
	}
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
	for _, side := range []Side{Before, After} {
		switch none := missing[side]; {
		case none == nil:
		case len(j.Before)+len(j.After) == 0:
			root.Refuse(string(side), "%v", none)
			return
		default:
			root.Warn(string(side), "%v: the job is run without that side; put its recordings there when they are driven", none)
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
