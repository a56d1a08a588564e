package source

import (
	"archive/zip"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"flywitness/capture/csvlog"
	"flywitness/drive"
	"flywitness/finding"
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
		return opt.read(in, name)
	}
	sets, errs := make([][]*drive.Log, len(names)), make([]error, len(names))
	for i, name := range names {
		l, err := open(name, opt)
		sets[i], errs[i] = []*drive.Log{l}, err
	}
	notes := dropNotes(names, sets, errs)
	if err := joinParts(names, sets, errs, func(name string) (*drive.Log, error) {
		part := opt
		part.Partial = true
		return open(name, part)
	}); err != nil {
		return nil, err
	}
	logs := slices.Concat(sets...)
	if len(notes) > 0 && len(logs) > 0 {
		logs[0].Warnings = append(logs[0].Warnings, finding.New(finding.FilesLeftOut, finding.Name("file", archive), finding.Count("files", len(notes)),
			finding.Name("names", strings.Join(notes, ", "))))
	}
	return logs, nil
}

// dropNotes lets go of the files that hold no table, or one of other things than a drive, where others hold logs, and returns their names.
func dropNotes(names []string, sets [][]*drive.Log, errs []error) (notes []string) {
	var at []int
	for i, err := range errs {
		var none *csvlog.NoTableError
		var missing *csvlog.MissingError
		if errors.As(err, &none) || errors.As(err, &missing) && missing.Both {
			at = append(at, i)
			notes = append(notes, fmt.Sprintf("%q", filepath.Base(names[i])))
		}
	}
	if len(at) == len(names) {
		return nil
	}
	for _, i := range at {
		sets[i], errs[i] = nil, nil
	}
	return notes
}
