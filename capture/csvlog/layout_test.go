package csvlog

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"flywitness/internal/numbers"
)

// Stamps as loggers, spreadsheets and data tools write them (common practice, no source; the last ones are ISO 8601, from memory): what time of
// which day they say, 0 for no date. All are a quarter of a second after 9:41:03, or as long since a start.
func TestStamps(t *testing.T) {
	dayOf := func(month time.Month, day int) int32 {
		return int32(time.Date(2026, month, day, 0, 0, 0, 0, time.UTC).Unix() / 86400)
	}
	on := dayOf(5, 9)
	const at = 9*3600 + 41*60 + 3.25
	for cell, want := range map[string]struct {
		seconds float64
		day     day
	}{
		"09:41:03.25": {at, day{}}, "9:41:03,25": {at, day{}}, "09:41:03:250": {at, day{}}, "09.41.03.250": {at, day{}}, "581:03.25": {at, day{}},
		"9:41:03.25 AM": {at, day{}}, "09:41:03.250 p. m.": {at + 43200, day{}}, "0 days 09:41:03.25": {at, day{}}, "1 day, 9:41:03.25": {at + 86400, day{}},
		"9h 41m 03.25s": {at, day{}}, "41 min 3.25 s": {at - 9*3600, day{}},
		"2026-05-09 09:41:03.25": {at, day{on, true}}, "2026/05/09-09:41:03.25": {at, day{on, true}}, "09.05.2026 09.41.03.25": {at, day{on, true}},
		"05/09/2026 9:41:03.25": {at, day{dayOf(9, 5), false}}, "5/13/2026 9:41:03.25 AM": {at, day{on + 4, true}},
		"9. Mai 2026 09:41:03.25": {at, day{on, true}}, "May 9, 2026 9:41:03.25": {at, day{on, true}}, "09-May-26_09:41:03.25": {at, day{on, true}},
		"Sat May 09 09:41:03.25 GMT+02:00 2026": {at - 7200, day{on, true}}, "2026-05-09 09:41:03.25 CEST": {at, day{on, true}},
		"20260509094103250": {at, day{on, true}}, "20260509094103.25": {at, day{on, true}},
		"2026-05-09T09:41:03.25Z": {at, day{on, true}}, "2026-05-09T09:41:03.25+0530": {at - 5.5*3600, day{on, true}}, "20260509T094103.25Z": {at, day{on, true}},
		"PT9H41M3.25S": {at, day{}},
	} {
		got, d, ok := layout(nil).time([]byte(cell))
		if !ok || math.Abs(got-want.seconds) > 1e-9 || d != want.day {
			t.Errorf("%q: %v s of day %v (%v), want %v of %v", cell, got, d, ok, want.seconds, want.day)
		}
	}
	for _, cell := range []string{"", "12", "12.5", "9:60:00", "9:41:61", "34:60", "12:", "2026-05-09", "31:12:2026:09:41", "speed", "1,234.5", "99999999999999", "13 rpm", "-", "9:41:03 and more"} {
		if s, d, ok := layout(nil).time([]byte(cell)); ok {
			t.Errorf("%q is read as %v s of day %v", cell, s, d)
		}
	}
}

// A stamp means the same whether it is read by its own layout or by one that was settled from another stamp.
func TestSettledLayoutsMeanTheSame(t *testing.T) {
	numbers.Only(t)
	rng := rand.New(rand.NewPCG(4, 6))
	stamp := func() string {
		h, m, s := rng.IntN(24), rng.IntN(60), rng.Float64()*60
		date := []string{"", "", "2026-05-09 ", "9/5/2026 ", "13/5/26, ", "5/14/2026 ", "9 May 2026 ", "May 9 2026 ", "20260509 ", "2 days ", "Sat May 9 "}[rng.IntN(11)]
		clock := []string{fmt.Sprintf("%02d:%02d:%06.3f", h, m, s), fmt.Sprintf("%d:%d:%d", h, m, int(s)), fmt.Sprintf("%d:%02d.5", m, int(s)),
			fmt.Sprintf("%02d.%02d.%02d.%d", h, m, int(s), rng.IntN(999))}[rng.IntN(4)]
		return date + clock + []string{"", "", "Z", " PM", "+02:00", " 2026"}[rng.IntN(6)]
	}
	agree := 0
	for range 100_000 {
		settled, cell := layoutOf([]byte(stamp())), []byte(stamp())
		s, d, ok := layout(nil).time(cell)
		s2, d2, ok2 := settled.time(cell)
		if s != s2 || d != d2 || ok != ok2 {
			t.Fatalf("%q: %v s of day %v (%v), by another layout %v of %v (%v)", cell, s, d, ok, s2, d2, ok2)
		}
		if _, own := settled.read(cell); own && ok {
			agree++
		}
	}
	if agree < 500 {
		t.Errorf("only %d stamps were read by another's layout", agree)
	}
}

// Whatever stands in two cells, the second means the same by the layout of the first as by its own, and what it means is a finite number.
func FuzzStamps(f *testing.F) {
	for _, s := range []string{"09:41:03.25", "2026-05-09T09:41:03Z", "05/09/26 9:41 PM", "20260509094103", "1 day, 9:41:03", "PT9H", "9h 41m", "Sat May 9 09:41:03 +02:00 2026", "09.41.03"} {
		f.Add([]byte(s), []byte("09:41:03,5"))
		f.Add([]byte("2026-05-09 09:41"), []byte(s))
	}
	f.Fuzz(func(t *testing.T, first, cell []byte) {
		s, d, ok := layout(nil).time(cell)
		s2, d2, ok2 := layoutOf(first).time(cell)
		if s != s2 || d != d2 || ok != ok2 || math.IsNaN(s) || math.IsInf(s, 0) {
			t.Errorf("%q is %v of %v (%v), by the layout of %q %v of %v (%v)", cell, s, d, ok, first, s2, d2, ok2)
		}
		on, ok := layout(nil).date(cell)
		if on2, ok2 := dateLayoutOf(first).date(cell); on != on2 || ok != ok2 {
			t.Errorf("%q is day %v (%v), by the layout of %q %v (%v)", cell, on, ok, first, on2, ok2)
		}
	})
}
