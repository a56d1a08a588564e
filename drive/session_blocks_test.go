package drive

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"reflect"
	"testing"
)

// longSession is a session of several blocks: rows with all fast channels, rows with a slow one, notes, and damage.
func longSession(rng *rand.Rand, rows int) []byte {
	var b bytes.Buffer
	b.WriteString("# format: session 1\ntime_s,engine_speed_rpm,vehicle_speed_kmh,coolant_temp_c,check\n")
	line := func(text string) {
		b.WriteString(text)
		b.WriteByte(',')
		b.Write(appendCheck(nil, sessionCheck([]byte(text))))
		b.WriteByte('\n')
	}
	for i := range rows {
		at := float64(i) * 0.05
		switch {
		case i%40 == 7:
			line(fmt.Sprintf("%.3f,,,%d", at, 80+i%7))
		case i%9999 == 1:
			line(fmt.Sprintf("# %.3f a note", at))
		default:
			line(fmt.Sprintf("%.3f,%.2f,%d,", at, 800+5000*rng.Float64(), rng.IntN(130)))
		}
	}
	text := b.Bytes()
	for range 200 { // not in the header
		text[200+rng.IntN(len(text)-200)] ^= 1 << rng.IntN(7)
	}
	return text
}

// Read in blocks on all cores, a session holds what it holds read line by line: values, notes, counts, and which lines were left out.
func TestBlocksReadWhatLinesDo(t *testing.T) {
	text := longSession(rand.New(rand.NewPCG(4, 4)), 150_000)
	for _, size := range []int64{0, int64(len(text)), 1000} {
		l, err := ReadSessionOf(bytes.NewReader(text), "s.csv", size)
		if err != nil {
			t.Fatal(err)
		}
		var want []*Channel
		var notes []Note
		head := func(h *Log) error {
			for _, c := range h.Channels {
				want = append(want, &Channel{Name: c.Name, Source: c.Source})
			}
			return nil
		}
		scanned, err := ScanSession(bytes.NewReader(text), "s.csv", head, func(r Row) error {
			if r.Note != nil {
				notes = append(notes, *r.Note)
			}
			for _, c := range r.Cells {
				want[c.Channel].T, want[c.Channel].V = append(want[c.Channel].T, r.T), append(want[c.Channel].V, c.Value)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		if l.Skipped < 100 || l.Rows != scanned.Rows || l.Skipped != scanned.Skipped || fmt.Sprint(l.Warnings) != fmt.Sprint(scanned.Warnings) {
			t.Errorf("%d rows, %d skipped, %v; line by line %d, %d, %v", l.Rows, l.Skipped, l.Warnings, scanned.Rows, scanned.Skipped, scanned.Warnings)
		}
		if !reflect.DeepEqual(l.Channels, want) || !reflect.DeepEqual(l.Notes, notes) {
			t.Error("the values differ from those read line by line")
		}
		if a, b := l.Channels[0], l.Channels[1]; !a.SharesStamps(b) {
			t.Error("channels of the same rows have times of their own")
		}
	}
}
