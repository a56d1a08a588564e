package capture

import (
	"encoding/json"
	"fmt"
	"io"
	"sort"
	"time"
)

// Status is how a recording stands.
type Status struct {
	Elapsed  time.Duration
	Rates    map[string]float64 // values per second of each channel over the last Window
	Window   time.Duration
	Latency  time.Duration // median since the start
	Gap      string        // why nothing comes, "" while values come
	GPS      string        // why the second instrument gives no speed, "" while it does or is not there
	Rejected int
}

// Summary is what a recording was.
type Summary struct {
	Duration      time.Duration
	Rows          int
	Rates         map[string]float64 // values per second of each channel, gaps left out
	LatencyMedian time.Duration
	LatencyP95    time.Duration
	Gaps          int
	GapTime       time.Duration
	LongestGap    time.Duration
	Rejected      int // replies and values that could not be used
	Lost          []Loss
}

// Loss tells of a channel that gave values and then, for a while or for good, gave none although the link was there.
type Loss struct {
	Channel string        `json:"channel"`
	Times   int           `json:"times"`
	Away    time.Duration `json:"-"` // in all
	Seconds float64       `json:"away_s"`
	Gone    bool          `json:"gone"` // it had not come back at the end
}

// MarshalJSON gives every number a name with its unit.
func (s Summary) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Duration      float64            `json:"duration_s"`
		Rows          int                `json:"rows"`
		Rates         map[string]float64 `json:"rates_hz"`
		LatencyMedian float64            `json:"latency_median_ms"`
		LatencyP95    float64            `json:"latency_p95_ms"`
		Gaps          int                `json:"gaps"`
		GapTime       float64            `json:"gap_time_s"`
		LongestGap    float64            `json:"longest_gap_s"`
		Rejected      int                `json:"rejected"`
		Lost          []Loss             `json:"lost_channels,omitempty"`
	}{
		s.Duration.Seconds(), s.Rows, s.Rates, s.LatencyMedian.Seconds() * 1000, s.LatencyP95.Seconds() * 1000,
		s.Gaps, s.GapTime.Seconds(), s.LongestGap.Seconds(), s.Rejected, s.Lost,
	})
}

// stats counts in constant memory, for however long a recording lasts.
type stats struct {
	created  time.Time
	lastRow  time.Time
	rows     int
	rejected int
	gaps     int
	gapTime  time.Duration
	longest  time.Duration
	values   map[string]int
	latency  [5001]int // replies by latency in ms; the last takes all above
	losses   map[string]*Loss
	lostAt   map[string]time.Time // of those that are gone now

	window     map[string]int // values since windowFrom
	windowFrom time.Time
}

func newStats(created time.Time) *stats {
	return &stats{created: created, lastRow: created, windowFrom: created, values: map[string]int{}, window: map[string]int{},
		losses: map[string]*Loss{}, lostAt: map[string]time.Time{}}
}

func (s *stats) row(now time.Time, latency time.Duration) {
	s.lastRow = now
	s.rows++
	ms := int((latency + time.Millisecond/2) / time.Millisecond)
	s.latency[max(0, min(ms, len(s.latency)-1))]++
}

func (s *stats) value(channel string) {
	s.values[channel]++
	s.window[channel]++
}

func (s *stats) lose(channel string, since time.Time) {
	if s.losses[channel] == nil {
		s.losses[channel] = &Loss{Channel: channel}
	}
	s.losses[channel].Times++
	s.lostAt[channel] = since
}

func (s *stats) regain(channel string, now time.Time) {
	s.losses[channel].Away += now.Sub(s.lostAt[channel])
	delete(s.lostAt, channel)
}

// lost returns the losses by channel; one that is not over lasts until now.
func (s *stats) lost(now time.Time) []Loss {
	var list []Loss
	for _, l := range s.losses {
		x := *l
		if since, gone := s.lostAt[l.Channel]; gone {
			x.Gone = true
			x.Away += now.Sub(since)
		}
		x.Seconds = x.Away.Seconds()
		list = append(list, x)
	}
	sort.Slice(list, func(i, j int) bool { return list[i].Channel < list[j].Channel })
	return list
}

func (s *stats) gap(length time.Duration) {
	s.gaps++
	s.gapTime += length
	s.longest = max(s.longest, length)
}

// quantile returns the latency below which a share q of the replies lies, to the millisecond.
func (s *stats) quantile(q float64) time.Duration {
	total := 0
	for _, n := range s.latency {
		total += n
	}
	sum := 0
	for ms, n := range s.latency {
		if sum += n; n > 0 && float64(sum) >= q*float64(total) {
			return time.Duration(ms) * time.Millisecond
		}
	}
	return 0
}

// status returns how it stands and begins a new window of rates.
func (s *stats) status(now time.Time, g *gap) Status {
	st := Status{
		Elapsed: now.Sub(s.created), Rates: map[string]float64{}, Window: now.Sub(s.windowFrom),
		Latency: s.quantile(0.5), Rejected: s.rejected,
	}
	if g != nil {
		st.Gap = g.why
	}
	for c, n := range s.window {
		st.Rates[c] = float64(n) / st.Window.Seconds()
	}
	clear(s.window)
	s.windowFrom = now
	return st
}

func (s *stats) summary(now time.Time) Summary {
	sum := Summary{
		Duration: now.Sub(s.created), Rows: s.rows, Rates: map[string]float64{}, LatencyMedian: s.quantile(0.5), LatencyP95: s.quantile(0.95),
		Gaps: s.gaps, GapTime: s.gapTime, LongestGap: s.longest, Rejected: s.rejected,
		Lost: s.lost(now),
	}
	if live := (sum.Duration - s.gapTime).Seconds(); live > 0 {
		for c, n := range s.values {
			sum.Rates[c] = float64(n) / live
		}
	}
	return sum
}

// Print writes the summary as text.
func (s Summary) Print(w io.Writer) {
	fmt.Fprintf(w, "recorded     %s, %d replies\n", s.Duration.Round(time.Second), s.Rows)
	names := make([]string, 0, len(s.Rates))
	for c := range s.Rates {
		names = append(names, c)
	}
	sort.Slice(names, func(i, j int) bool {
		if s.Rates[names[i]] != s.Rates[names[j]] {
			return s.Rates[names[i]] > s.Rates[names[j]]
		}
		return names[i] < names[j]
	})
	for _, c := range names {
		fmt.Fprintf(w, "  %-24s %6.2f values/s\n", c, s.Rates[c])
	}
	fmt.Fprintf(w, "latency      median %d ms, 95th percentile %d ms\n", s.LatencyMedian.Milliseconds(), s.LatencyP95.Milliseconds())
	fmt.Fprintf(w, "gaps         %d, %.1f s in all, the longest %.1f s\n", s.Gaps, s.GapTime.Seconds(), s.LongestGap.Seconds())
	for _, l := range s.Lost {
		end := "came back"
		if l.Gone {
			end = "still gone at the end"
		}
		fmt.Fprintf(w, "lost         %s, %s, %.1f s in all, %s\n", l.Channel, times(l.Times), l.Away.Seconds(), end)
	}
	fmt.Fprintf(w, "rejected     %d replies or values\n", s.Rejected)
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}
