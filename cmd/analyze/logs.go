package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"sync/atomic"

	"flywitness/analysis"
	"flywitness/capture/source"
	"flywitness/cmd/internal/cli"
	"flywitness/cmd/internal/database"
	"flywitness/cmd/internal/logfiles"
	"flywitness/cmd/internal/reading"
	"flywitness/drive"
	"flywitness/job"
	"flywitness/vehicle"

	"github.com/spf13/cobra"
)

// logFlags are the flags of every command that reads logs.
type logFlags struct {
	reading  reading.Flags
	vehicle  string
	db       database.Flags
	unsummed bool // see source.Options
}

func (f *logFlags) add(cmd *cobra.Command) {
	f.addSource(cmd)
	cmd.Flags().StringVar(&f.vehicle, "vehicle", "", "the vehicle file (`FILE`.toml)")
}

// addSource adds what tells how logs are read and where they may lie.
func (f *logFlags) addSource(cmd *cobra.Command) {
	f.db.Add(cmd)
	f.reading.Add(cmd)
}

// open reads the logs in the order of the names, globs resolved; a name may mean several drives of a database.
func (f *logFlags) open(ctx context.Context, names []string, stdin io.Reader) ([]*drive.Log, error) {
	names, err := logfiles.Expand(names)
	if err != nil {
		return nil, err
	}
	sets, err := f.openEach(ctx, names, stdin)
	return slices.Concat(sets...), err
}

// openOnly is open for a command that reads one set of logs.
func (f *logFlags) openOnly(ctx context.Context, names []string, stdin io.Reader) ([]*drive.Log, error) {
	logs, err := f.open(ctx, names, stdin)
	if err != nil {
		return nil, err
	}
	return logs, f.idle(logs)
}

// set reads the one set of logs and the vehicle of a command. listed tells whether its output lists what was read.
func (f *logFlags) set(cmd *cobra.Command, names []string, listed bool) (analysis.Set, error) {
	f.unsummed = !listed
	logs, err := f.openOnly(cmd.Context(), names, cmd.InOrStdin())
	if err != nil {
		return analysis.Set{}, err
	}
	veh, err := loadVehicle(f.vehicle, cmd.ErrOrStderr())
	return analysis.Set{Logs: logs, Vehicle: veh, TextOnly: !listed}, err
}

// idle refuses flags that change nothing in any of all the logs of a command.
func (f *logFlags) idle(sets ...[]*drive.Log) error {
	return source.Idle(slices.Concat(sets...), source.Options{Options: f.reading.Options()})
}

// openEach reads the logs of each name.
func (f *logFlags) openEach(ctx context.Context, names []string, stdin io.Reader) ([][]*drive.Log, error) {
	if err := f.db.Check(); err != nil {
		return nil, err
	}
	if err := once(names); err != nil {
		return nil, err
	}
	var read atomic.Int32
	defer cli.Working(ctx, func() string { return fmt.Sprintf("read %d of %d logs", read.Load(), len(names)) })()
	sets, err := source.OpenAll(ctx, names, source.Options{Database: f.db.Server, Stdin: stdin, Options: f.reading.Options(), Unsummed: f.unsummed}, func() { read.Add(1) })
	if err != nil {
		return nil, err
	}
	boundGarbage(slices.Concat(sets...))
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
	if err := noLog(path, "a vehicle file (.toml)"); err != nil {
		return nil, err
	}
	v, warnings, err := vehicle.Load(path)
	if err != nil {
		return nil, err
	}
	for _, w := range warnings {
		fmt.Fprintln(stderr, cli.OneLine(w))
	}
	return v, nil
}

// noLog refuses a log where a file that people write is wanted.
func noLog(path, wanted string) error {
	if job.IsRecording(path) {
		return &cli.InputError{Err: fmt.Errorf("%s is a log by its name", path), Hint: "name " + wanted}
	}
	return nil
}
