package analysis

import (
	"slices"
	"sync"
	"time"

	"flywitness/analysis/compare"
	"flywitness/analysis/gearing"
	"flywitness/analysis/inertia"
	"flywitness/analysis/slip"
	"flywitness/drive"
	"flywitness/finding"
)

// newResult starts a result with what was read: each log, its channels, its own warnings.
func newResult(command string, sets ...Set) *Result {
	r := &Result{Command: command, Inputs: []Input{}, Warnings: []finding.Finding{}}
	for _, s := range sets {
		if info := describeVehicle(s.Vehicle); info != nil {
			r.Vehicle = info
		}
		for i, l := range s.Logs {
			in := describe(l, !s.TextOnly)
			in.Side = s.Side
			in.Session = i + 1
			if s.Sessions != nil {
				in.Session = s.Sessions[i] + 1
			}
			r.Inputs = append(r.Inputs, in)
			r.Warnings = append(r.Warnings, l.Warnings...)
		}
	}
	return r
}

// warn adds the warnings of one side, each once; the side is named in front where there are two.
func (r *Result) warn(side string, warnings []finding.Finding) {
	for _, w := range warnings {
		w.Side = side
		if !slices.ContainsFunc(r.Warnings, w.Equal) {
			r.Warnings = append(r.Warnings, w)
		}
	}
}

// collect lists the findings behind the sentences of the result. It comes last.
func (r *Result) collect() {
	r.Findings = finding.Collect(struct {
		Gearing *gearing.Told    `json:"gearing"`
		Compare *compare.Finding `json:"compare"`
		Slip    *slip.Finding    `json:"slip"`
		Inertia *inertia.Finding `json:"inertia"`
		Job     *JobInfo         `json:"job"`
	}{r.Gearing, r.Compare, r.Slip, r.Inertia, r.Job})
}

// describe tells of a log what the reader needs to trust it: what it says of itself and, where it is listed, its
// duration and the ranges, rates and resolutions of its channels.
func describe(l *drive.Log, listed bool) Input {
	in := Input{Path: l.Path, SHA256: l.SHA256, Rows: l.Rows, SkippedRows: l.Skipped, Channels: []InputChannel{}}
	if !l.Created.IsZero() {
		in.Created = l.Created.Format(time.RFC3339)
	}
	if len(l.Header) > 0 {
		in.Header = map[string]string{}
		for _, f := range l.Header {
			in.Header[f.Key] = f.Value
		}
	}
	if listed {
		first, last := l.Span()
		in.DurationS, in.Channels = last-first, describeChannels(l)
	}
	return in
}

// describeChannels tells of each channel of a log.
func describeChannels(l *drive.Log) []InputChannel {
	out := make([]InputChannel, len(l.Channels))
	var all sync.WaitGroup
	for i, c := range l.Channels {
		all.Go(func() { out[i] = describeChannel(c) })
	}
	rates := make([]float64, len(l.Channels))
	for i, c := range l.Channels {
		if same := slices.IndexFunc(l.Channels[:i], c.SharesStamps); same >= 0 {
			rates[i] = rates[same]
		} else {
			rates[i] = c.Rate()
		}
	}
	all.Wait()
	for i, rate := range rates {
		out[i].RateHz = rate
	}
	return out
}

// describeChannel tells of a channel all but its rate.
func describeChannel(c *drive.Channel) InputChannel {
	ch := InputChannel{Name: c.Name, Samples: c.Len()}
	if c.Len() > 0 {
		least, most, step := drive.Range(c)
		ch.Min, ch.Max, ch.Resolution = &least, &most, step
	}
	return ch
}
