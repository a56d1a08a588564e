package csvlog

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// Rows are read into their places where the length of the text tells how many there are. Lines that are no rows move those behind them, and a length that
// is wrong changes nothing.
func TestPlacesOfRows(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	for name, odd := range map[string][]string{"rows alone": nil, "blank lines": {""}, "lines of all kinds": {"", "# note", "a,b", "1e9", "Time (s),RPM,Speed (km/h)"}} {
		var b bytes.Buffer
		b.WriteString("Time (s),RPM,Speed (km/h)\n")
		for i := range 90_000 {
			if i > headLines && len(odd) > 0 && rng.IntN(500) == 0 {
				b.WriteString(odd[rng.IntN(len(odd))] + "\n")
			}
			fmt.Fprintf(&b, "%.2f,%d,%d\n", float64(i)/20, 900+i*7919%5000, i*104729%90)
		}
		table := strings.TrimSuffix(b.String(), "\n")
		want := channelsOf(t, table, 0)
		for _, share := range []float64{0.3, 1, 1.7} {
			if got := channelsOf(t, table, int64(share*float64(len(table)))); !slices.Equal(got, want) {
				t.Errorf("%s: with %.1f of the length known, the values are others", name, share)
			}
		}
	}
}

// channelsOf reads a table of which the size is told, 0 for none.
func channelsOf(t *testing.T, table string, size int64) (all []float64) {
	t.Helper()
	in, err := Text(strings.NewReader(table), "log.csv")
	if err != nil {
		t.Fatal(err)
	}
	l, err := Read(in, "log.csv", Options{Size: size})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range l.Channels {
		all = append(append(all, c.T...), c.V...)
	}
	return append(all, float64(l.Rows), float64(l.Skipped))
}
