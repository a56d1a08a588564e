package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"

	"flywitness/capture/csvlog"
	"flywitness/capture/source"
	"flywitness/cmd/internal/cli"
	"flywitness/cmd/internal/database"
	"flywitness/drive"
	"flywitness/vehicle"

	"github.com/spf13/cobra"
)

// logFlags are the flags of every command that reads logs.
type logFlags struct {
	columns []string
	clock   string
	vehicle string
	db      database.Flags
}

func (f *logFlags) add(cmd *cobra.Command) {
	f.addSource(cmd)
	cmd.Flags().StringVar(&f.vehicle, "vehicle", "", "the vehicle file (TOML)")
}

// addSource adds what tells how logs are read and where they may lie.
func (f *logFlags) addSource(cmd *cobra.Command) {
	f.db.Add(cmd)
	cmd.Flags().StringArrayVar(&f.columns, "map", nil, `which column a channel is in: "engine_speed_rpm=Eng Spd" or "vehicle_speed_kmh=VSpd:mph" (repeats)`)
	cmd.Flags().StringVar(&f.clock, "time", "", `which column is the time, and its unit: "Time:ms"`)
}

// expand resolves the globs that a shell left alone. A name without wildcards, or of a log in a database, stays as it is; a glob that finds nothing is
// an error.
func expand(names []string) ([]string, error) {
	var out []string
	for _, name := range names {
		if !strings.ContainsAny(name, "*?[") || source.InDatabase(name) {
			out = append(out, name)
			continue
		}
		found, err := filepath.Glob(name)
		if err != nil {
			return nil, cli.Usagef("%q is not a pattern of file names: %v", name, err)
		}
		if len(found) == 0 {
			found = []string{name} // perhaps a file of just that name; opening it gives the error
		}
		out = append(out, found...)
	}
	return out, nil
}

// open reads the logs in the order of the names, globs resolved; a name may mean several drives of a database.
func (f *logFlags) open(ctx context.Context, names []string, stdin io.Reader) ([]*drive.Log, error) {
	names, err := expand(names)
	if err != nil {
		return nil, err
	}
	sets, err := f.openEach(ctx, names, stdin)
	return slices.Concat(sets...), err
}

// openEach reads the logs of each name.
func (f *logFlags) openEach(ctx context.Context, names []string, stdin io.Reader) ([][]*drive.Log, error) {
	if err := f.db.Check(); err != nil {
		return nil, err
	}
	if err := once(names); err != nil {
		return nil, err
	}
	sets := make([][]*drive.Log, len(names))
	errs := make([]error, len(names))
	var wg sync.WaitGroup
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i, name := range names {
		wg.Go(func() {
			slots <- struct{}{}
			defer func() { <-slots }()
			sets[i], errs[i] = source.Open(ctx, name, source.Options{Database: f.db.Server, Stdin: stdin,
				Options: csvlog.Options{Map: f.columns, Time: f.clock}})
		})
	}
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return sets, onceRead(sets)
}

// onceRead refuses a drive that two names of a database mean.
func onceRead(sets [][]*drive.Log) error {
	seen := map[string]bool{}
	for _, l := range slices.Concat(sets...) {
		if source.InDatabase(l.Path) && seen[l.Path] {
			return cli.Usagef("%s is named twice; each drive counts once", l.Path)
		}
		seen[l.Path] = true
	}
	return nil
}

// once refuses a log that is named twice: it would count its evidence twice.
func once(names []string) error {
	seen := map[string]bool{}
	for _, n := range names {
		if key := filepath.Clean(n); seen[key] {
			return cli.Usagef("%s is named twice; each log counts once", n)
		} else {
			seen[key] = true
		}
	}
	return nil
}

// loadVehicle reads the vehicle file at path; its warnings go to stderr. No path gives nil.
func loadVehicle(path string, stderr io.Writer) (*vehicle.Vehicle, error) {
	if path == "" {
		return nil, nil
	}
	v, warnings, err := vehicle.Load(path)
	if err != nil {
		return nil, err
	}
	for _, w := range warnings {
		fmt.Fprintf(stderr, "%s: %s\n", path, cli.OneLine(w))
	}
	return v, nil
}
