package source

import (
	"archive/zip"
	"fmt"
	"path/filepath"
	"slices"

	"flywitness/drive"
)

// openMembers opens the logs in an archive, one after another. Files of one folder in it that hold a channel each are joined by time.
func openMembers(archive string, files []*zip.File, opt Options) ([]*drive.Log, error) {
	byName := map[string]*zip.File{}
	var names []string
	for _, f := range files {
		name := filepath.Join(archive, f.Name)
		byName[name] = f
		names = append(names, name)
	}
	open := func(name string, opt Options) (*drive.Log, error) {
		f := byName[name]
		in, err := f.Open()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		defer in.Close()
		opt.Size = int64(f.UncompressedSize64)
		return Read(in, name, opt.Options)
	}
	sets, errs := make([][]*drive.Log, len(names)), make([]error, len(names))
	for i, name := range names {
		l, err := open(name, opt)
		sets[i], errs[i] = []*drive.Log{l}, err
	}
	if err := joinParts(names, sets, errs, func(name string) (*drive.Log, error) {
		part := opt
		part.Partial = true
		return open(name, part)
	}); err != nil {
		return nil, err
	}
	return slices.Concat(sets...), nil
}
