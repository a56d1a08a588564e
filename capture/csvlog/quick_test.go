package csvlog

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"flywitness/internal/numbers"
)

// bothWays reads a table with the quick way and without it.
func bothWays(t *testing.T, text string) (quick, careful *part) {
	t.Helper()
	in, err := Text(strings.NewReader(text), "log.csv")
	if err != nil {
		t.Fatal(err)
	}
	c := newCutter(in)
	head, _, err := readHead(c)
	if err != nil {
		t.Fatal(err)
	}
	d, err := detect(head, "log.csv")
	if err != nil {
		t.Fatal(err)
	}
	p, err := makePlan(d, head, Options{}, "log.csv")
	if err != nil {
		t.Fatal(err)
	}
	tab := newTable("log.csv", d, p, c.EOL)
	for i, out := range []**part{&quick, &careful} {
		*out = &part{}
		(*out).reset(tab, strings.Count(text, "\n")+1)
		l := &lines{text: []byte(text), eol: '\n', number: 1}
		for range d.data {
			l.next()
		}
		if i == 1 {
			(*out).sinks = nil
		}
		(*out).rowsOf(l)
	}
	return quick, careful
}

// Rows of every kind, mixed at random, come out of both ways with the same values, counts and words.
func TestQuickAndCarefulAgree(t *testing.T) {
	numbers.Only(t)
	rng := rand.New(rand.NewPCG(9, 9))
	odd := []string{"", "n/a", "1e3", " 12 ", "\"12\"", "-5", "99999", "12 rpm", "1,5", "x", "+3", "0x1", "12345678901234567890", ".5", "5."}
	for range 200 {
		var b strings.Builder
		b.WriteString("Time (s),Note,Engine speed (rpm),Speed (mph),Coolant (C)\n")
		for i := range 60 {
			cells := []string{fmt.Sprintf("%.3f", float64(i)*0.05), "text", fmt.Sprintf("%.2f", 6000*rng.Float64()), fmt.Sprint(rng.IntN(90)), "90.0"}
			if i > 12 && rng.IntN(3) == 0 {
				cells[rng.IntN(len(cells))] = odd[rng.IntN(len(odd))]
			}
			if i > 12 && rng.IntN(20) == 0 {
				cells = cells[:rng.IntN(len(cells))]
			}
			b.WriteString(strings.Join(cells, ",") + []string{"\n", "\r\n", ",\n"}[rng.IntN(3)])
		}
		quick, careful := bothWays(t, b.String())
		if fmt.Sprint(quick.tally) != fmt.Sprint(careful.tally) {
			t.Fatalf("quick  %v\ncareful %v", quick.tally, careful.tally)
		}
		if fmt.Sprint(quick.stamps, quick.values) != fmt.Sprint(careful.stamps, careful.values) {
			t.Fatalf("the values differ:\n%s", b.String())
		}
	}
}
