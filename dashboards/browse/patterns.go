package browse

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// patternsInside refuses a job whose names and globs lead out of the folder, before anybody looks for what they match.
func (s *Server) patternsInside(job string) error {
	f, err := s.open(job, 1<<20)
	if err != nil {
		return err
	}
	defer f.Close()
	data, err := io.ReadAll(f)
	if err != nil {
		return err
	}
	var tree map[string]any
	if toml.Unmarshal(data, &tree) != nil {
		return nil // whoever loads it says what is wrong, and looks for nothing
	}
	for _, p := range names(tree, false) {
		if !filepath.IsAbs(p) {
			p = filepath.Join(filepath.Dir(s.disk(job)), p)
		}
		if err := s.inside(fixed(filepath.Clean(p))); err != nil {
			return err
		}
	}
	return nil
}

// names collects the texts of a job file that name files: before, after, files, vehicle,
// vehicle_after and logo, at any depth.
func names(v any, wanted bool) (out []string) {
	switch x := v.(type) {
	case string:
		if wanted && x != "" {
			out = append(out, x)
		}
	case []any:
		for _, e := range x {
			out = append(out, names(e, wanted)...)
		}
	case map[string]any:
		for k, e := range x {
			is := k == "before" || k == "after" || k == "files" || k == "vehicle" || k == "vehicle_after" || k == "logo"
			out = append(out, names(e, is)...)
		}
	}
	return out
}

// fixed returns the part of a pattern that no match can leave: the path up to its first wildcard, or what of it exists.
func fixed(p string) string {
	if i := strings.IndexAny(p, `*?[\`); i >= 0 && filepath.Separator == '/' || i >= 0 && p[i] != '\\' {
		p = filepath.Dir(p[:i] + "x")
	}
	for {
		if _, err := os.Lstat(p); err == nil || filepath.Dir(p) == p {
			return p
		}
		p = filepath.Dir(p)
	}
}

// usable refuses what lies outside the folder and what is no regular file: a named pipe would be waited for without end.
func (s *Server) usable(p string) error {
	if err := s.inside(p); err != nil {
		return err
	}
	info, err := os.Stat(p)
	if err != nil {
		return err
	}
	if !info.Mode().IsRegular() {
		return fmt.Errorf("%s is not a regular file", filepath.Base(p))
	}
	return nil
}

// writable returns the folder that a run may write to, its links resolved. A link in the place of what would be written is refused:
// it may lead anywhere.
func (s *Server) writable(out string) (string, error) {
	parent, err := filepath.EvalSymlinks(filepath.Dir(s.disk(out)))
	if err != nil {
		return "", err
	}
	if err := s.inside(parent); err != nil {
		return "", err
	}
	folder := filepath.Join(parent, filepath.Base(out))
	for _, p := range []string{folder, filepath.Join(folder, "report.html"), filepath.Join(folder, "result.json")} {
		info, err := os.Lstat(p)
		if errors.Is(err, os.ErrNotExist) {
			continue
		}
		if err != nil {
			return "", err
		}
		if p == folder && !info.IsDir() || p != folder && !info.Mode().IsRegular() {
			return "", fmt.Errorf("%s is in the way of the report: it is a link or something else; remove it", filepath.Base(p))
		}
	}
	return folder, nil
}
