package csvlog

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
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
	d, err := detect(head, "log.csv", Options{})
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
		(*out).reset(tab, 0, strings.Count(text, "\n")+1)
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

// Rows that are laid out alike, with a wrong byte now and then, come out of both ways with the same bits.
func TestAlikeAndCarefulAgree(t *testing.T) {
	numbers.Only(t)
	rng := rand.New(rand.NewPCG(10, 10))
	known := 0
	for range 200 {
		rows := []string{"Time (s),Note,Engine speed (rpm),Speed (mph),Coolant (C),Oil temperature (C)"}
		for len(rows) < 120 {
			form := layoutForm(rng)
			for range rng.IntN(30) {
				row := []byte(fmt.Sprintf(form, 2*len(rows), rng.IntN(1000), rng.IntN(1000), rng.IntN(100), rng.IntN(100),
					rng.IntN(100), rng.IntN(1e5)))
				if len(rows) > 20 && rng.IntN(10) == 0 {
					row[rng.IntN(len(row))] = "0123456789:/.,;- x\r"[rng.IntN(19)]
				}
				rows = append(rows, string(row))
			}
		}
		text := strings.Join(rows, "\n") + "\n"
		quick, careful := bothWays(t, text)
		if fmt.Sprint(quick.tally) != fmt.Sprint(careful.tally) {
			t.Fatalf("quick  %v\ncareful %v\n%s", quick.tally, careful.tally, text)
		}
		if bits(quick.stamps) != bits(careful.stamps) || bits(quick.values) != bits(careful.values) {
			t.Fatalf("the values differ:\n%s", text)
		}
		for i, hole := range careful.holes {
			if hole && !quick.holes[i] { // the quick way may see one in a row that the careful way then reads otherwise
				t.Fatalf("a hole in column %d was not seen:\n%s", i, text)
			}
		}
		if slices.ContainsFunc(quick.alike.known[:], func(a alike) bool { return a.length > 0 }) {
			known++
		}
	}
	if known < 20 {
		t.Errorf("a layout was learnt in %d tables of 200", known)
	}
}

// layoutForm is a layout that a row may have, for seven numbers: short and long ones, padded, of either sign, and
// none.
func layoutForm(rng *rand.Rand) string {
	var cells []string
	for _, forms := range [][]string{
		{"%03[1]d.%03[2]d", "%04[1]d", "%05[1]d.%03[2]d0", "%06[1]d.%03[2]d000", "%09[1]d", "%08[1]d."},
		{"", "text", "n%03[2]d"},
		{"%04[3]d.25", "%03[3]d", "%03[3]d.%02[4]d%05[7]d", "%08[3]d.5"},
		{"%02[4]d", " %03[2]d.5", "", "0%02[4]d "},
		{"%02[5]d.0", "-%02[5]d", "-%02[5]d.%03[2]d"},
		{"", "%02[6]d.%05[7]d%05[7]d", "%02[6]d.%03[2]d%05[7]d", "%02[6]d"},
	} {
		cells = append(cells, forms[rng.IntN(len(forms))])
	}
	return strings.Join(cells, ",")
}

// bits writes values so that no two different ones look alike.
func bits(columns [][]float64) string {
	var b strings.Builder
	for _, c := range columns {
		for _, v := range c {
			fmt.Fprintf(&b, "%x ", math.Float64bits(v))
		}
	}
	return b.String()
}
