package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"time"

	"flywitness/capture/source"
	"flywitness/cmd/internal/cli"
	"flywitness/cmd/internal/database"
	"flywitness/cmd/internal/logfiles"
	"flywitness/cmd/internal/reading"
	"flywitness/drive"

	"github.com/spf13/cobra"
)

func newImport(now func() time.Time) *cobra.Command {
	var read reading.Flags
	var out string
	var explain bool
	var db database.Flags
	cmd := &cobra.Command{
		Use:   "import LOG... --out FILE",
		Short: "Any logger's CSV into a session file",
		Long: `import reads any delimited log and writes it as a session file: canonical channels, each value at its own time, a
check on every line. Several logs become one session where each says when it began. A file that exists is never
overwritten; "-" reads one log from standard input. fw-analyze reads such logs as they are, without this.`,
		Example: `  $ fw-logger import old.csv --out old-session.csv
  $ fw-logger import old.csv --explain`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			opt := source.Options{Database: db.Server, Stdin: cmd.InOrStdin(), Options: read.Options()}
			names, err := logfiles.Expand(args)
			if err != nil {
				return err
			}
			if explain {
				return explainAll(cmd.OutOrStdout(), names, opt)
			}
			if out == "" {
				return cli.Usagef("import needs --out FILE, the session file to write")
			}
			sets, err := source.OpenAll(cmd.Context(), names, opt, func() {})
			if err != nil {
				return err
			}
			logs := slices.Concat(sets...)
			if err := source.Idle(logs, opt); err != nil {
				return err
			}
			for _, l := range logs {
				for _, w := range l.Warnings {
					fmt.Fprintln(cmd.ErrOrStderr(), cli.OneLine(w.String()))
				}
			}
			rows, err := importLogs(logs, out, now())
			if err != nil {
				return err
			}
			return importSummary(cmd.OutOrStdout(), logs, rows, out)
		},
	}
	read.Add(cmd)
	cmd.Flags().BoolVar(&explain, "explain", false, "say how each column is understood and why, and write nothing")
	cmd.Flags().StringVar(&out, "out", "", "session `FILE` to write")
	db.Add(cmd)
	return cmd
}

func importSummary(w io.Writer, logs []*drive.Log, rows int, out string) error {
	first, last := logs[0].Span()
	_, err := fmt.Fprintf(w, "%s: %d rows from %d log(s), the first of %.0f s\n", out, rows, len(logs), last-first)
	return err
}

// importLogs writes logs as one session and returns its rows. Values with equal time stamps share a row.
func importLogs(logs []*drive.Log, path string, now time.Time) (rows int, err error) {
	start, offsets, err := commonClock(logs)
	if err != nil {
		return 0, err
	}
	channels, all := collect(logs, offsets)
	w, err := drive.CreateSession(path, importHeader(logs, start, now), channels)
	if err != nil {
		return 0, err
	}
	w.Together()
	cells := make([]drive.Cell, len(channels))
	for t := earliest(all); !math.IsInf(t, 1) && err == nil; t = earliest(all) {
		cells = row(all, t, cells[:0])
		err = w.WriteRow(t, cells)
		rows++
	}
	if closed := w.Close(); err == nil {
		err = closed
	}
	return rows, err
}

// series is what is left to write of a channel of one log, on the session's clock.
type series struct {
	channel int
	offset  float64
	t, v    []float64 // in the order of time
}

// next is the time of its next value, infinite behind the last.
func (s *series) next() float64 {
	if len(s.t) == 0 {
		return math.Inf(1)
	}
	return s.t[0] + s.offset
}

// earliest is the time of the next value of all.
func earliest(all []series) float64 {
	t := math.Inf(1)
	for i := range all {
		t = min(t, all[i].next())
	}
	return t
}

// row takes the values at time t, one of each channel, and adds them to cells.
func row(all []series, t float64, cells []drive.Cell) []drive.Cell {
	for i := range all {
		s := &all[i]
		if s.next() == t && !has(cells, s.channel) {
			cells = append(cells, drive.Cell{Channel: s.channel, Value: s.v[0]})
			s.t, s.v = s.t[1:], s.v[1:]
		}
	}
	return cells
}

func has(cells []drive.Cell, channel int) bool {
	return slices.ContainsFunc(cells, func(c drive.Cell) bool { return c.Channel == channel })
}

// commonClock returns when the session begins and by how much each log's stamps move. One log may begin at an unknown time (the zero time).
func commonClock(logs []*drive.Log) (start time.Time, offsets []float64, err error) {
	offsets = make([]float64, len(logs))
	if len(logs) == 1 {
		first, _ := logs[0].Span()
		offsets[0] = -first
		return logs[0].Created, offsets, nil
	}
	for _, l := range logs {
		if l.Created.IsZero() {
			return start, nil, fmt.Errorf("%s does not say when it began, so it cannot stand on one clock with the others: import the logs one by one", l.Path)
		}
		if start.IsZero() || l.Created.Before(start) {
			start = l.Created
		}
	}
	for i, l := range logs {
		offsets[i] = l.Created.Sub(start).Seconds()
	}
	return start, offsets, nil
}

// collect lists the channels of all logs, the two that matter first, and the values of each in each log.
func collect(logs []*drive.Log, offsets []float64) (channels []string, all []series) {
	index := map[string]int{}
	for _, name := range []string{drive.EngineSpeed, drive.VehicleSpeed} {
		index[name] = len(channels)
		channels = append(channels, name)
	}
	for k, l := range logs {
		for _, c := range l.Channels {
			if c.Name == drive.Latency {
				continue
			}
			if _, ok := index[c.Name]; !ok {
				index[c.Name] = len(channels)
				channels = append(channels, c.Name)
			}
			t, v := c.InOrder()
			all = append(all, series{index[c.Name], offsets[k], t, v})
		}
	}
	return channels, all
}

// importHeader says where the session came from. A log that does not say when it began gets the moment of its import, and says so.
func importHeader(logs []*drive.Log, start, now time.Time) []drive.Field {
	clock := "of the imported log"
	if start.IsZero() {
		start, clock = now, "of the imported log; created is the moment of the import"
	}
	meta := []drive.Field{{Key: "created", Value: start.Format(time.RFC3339Nano)}, {Key: "tool", Value: "logger import " + cli.Version}, {Key: "clock", Value: clock}}
	for i, l := range logs {
		n := strconv.Itoa(i + 1)
		meta = append(meta, drive.Field{Key: "imported_" + n, Value: l.Path}, drive.Field{Key: "imported_sha256_" + n, Value: l.SHA256})
		if l.StampStep > 0 {
			meta = append(meta, drive.Field{Key: "stamp_step_s_" + n, Value: strconv.FormatFloat(l.StampStep, 'g', -1, 64)})
		}
		if l.Clocks > 1 {
			meta = append(meta, drive.Field{Key: "clocks_" + n, Value: strconv.Itoa(l.Clocks)})
		}
		for _, f := range l.Header {
			if i == 0 && !slices.ContainsFunc(meta, func(m drive.Field) bool { return m.Key == f.Key }) && f.Key != "format" && f.Key != "header_check" {
				meta = append(meta, f)
			}
		}
	}
	return meta
}
