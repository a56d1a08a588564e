package source

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"runtime"
	"slices"
	"sync"

	"flywitness/capture/csvlog"
	"flywitness/drive"
	"flywitness/finding"
)

// OpenAll opens what each name means, side by side. Files of one folder that hold a channel each are joined by time, in the place of the first
// of them. Ask Idle once all logs of a command are open.
func OpenAll(ctx context.Context, names []string, opt Options, done func()) ([][]*drive.Log, error) {
	sets, errs := make([][]*drive.Log, len(names)), make([]error, len(names))
	var wg sync.WaitGroup
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i, name := range names {
		wg.Go(func() {
			slots <- struct{}{}
			sets[i], errs[i] = Open(ctx, name, opt)
			<-slots
			done()
		})
	}
	wg.Wait()
	part := opt
	part.Partial = true
	if err := joinParts(names, sets, errs, func(name string) (*drive.Log, error) { return openFile(ctx, name, part) }); err != nil {
		return nil, err
	}
	return sets, nil
}

// joinParts joins the files that could not be opened because they hold a part of the channels, folder by folder, and returns the first error
// that is left. open opens such a part.
func joinParts(names []string, sets [][]*drive.Log, errs []error, open func(name string) (*drive.Log, error)) error {
	folders := map[string][]int{}
	for i, err := range errs {
		var missing *csvlog.MissingError
		if errors.As(err, &missing) && names[i] != "-" {
			dir := filepath.Dir(names[i])
			folders[dir] = append(folders[dir], i)
		}
	}
	for i, err := range errs {
		if err == nil {
			continue
		}
		parts := folders[filepath.Dir(names[i])]
		if len(parts) < 2 || parts[0] != i {
			if len(parts) >= 2 && slices.Contains(parts, i) {
				sets[i] = nil // joined in the place of the first
				continue
			}
			return err
		}
		joined, ok := join(names, parts, open)
		if !ok {
			return err
		}
		sets[i] = []*drive.Log{joined}
	}
	return nil
}

// Idle is the error of a --map or --time that changed nothing in any log; where it changed something in one, the others need not speak
// of it.
func Idle(logs []*drive.Log, opt Options) error {
	options := make([]string, 0, len(opt.Map)+1)
	for _, m := range opt.Map {
		options = append(options, fmt.Sprintf("--map %q", m))
	}
	if opt.Time != "" {
		options = append(options, fmt.Sprintf("--time %q", opt.Time))
	}
	for _, o := range options {
		idle := 0
		why := ""
		for _, l := range logs {
			for _, w := range l.Warnings {
				option, _ := w.Value("option")
				if w.Code == finding.SessionNeedsNoMap || w.Code == finding.IdleOption && option.Text() == o {
					idle++
					why = w.String()
					break
				}
			}
		}
		if idle == len(logs) && idle > 0 {
			return fmt.Errorf("%s; leave it out", why)
		}
	}
	for _, l := range logs {
		l.Warnings = slices.DeleteFunc(l.Warnings, func(w drive.Warning) bool { return w.Code == finding.IdleOption })
	}
	return nil
}
