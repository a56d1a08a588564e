package tomlfile

import (
	"slices"
	"strings"
	"testing"
	"time"
)

func parse(t *testing.T, text string) *Document {
	t.Helper()
	d, err := Parse([]byte(text), "x", 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestPlacesInListsOfTables(t *testing.T) {
	d := parse(t, "a = 1\n[[session]]\nside = \"before\"\n[[session]]\nsied = \"after\"\n[session.more]\nq = 1\n")
	root := d.Root()
	root.Number("a")
	sessions := root.Tables("session")
	if len(sessions) != 2 || sessions[0].Text("side") != "before" {
		t.Fatalf("%d sessions", len(sessions))
	}
	sessions[1].Text("side")
	sessions[1].Table("more").Number("q")
	if err := d.Err(); err == nil || err.Error() != `x:5:1: unknown key "sied"; the nearest known key is "side"` {
		t.Errorf("got %v", err)
	}
}

func TestRefusals(t *testing.T) {
	for _, c := range []struct {
		text string
		ask  func(*Table)
		want string
	}{
		{"[part]\n", func(r *Table) { r.Tables("part") }, "x:1:2: part needs double brackets: [[part]], once for each"},
		{"part = 3\n", func(r *Table) { r.Tables("part") }, "headings [[part]]"},
		{"part = [1, 2]\n", func(r *Table) { r.Tables("part") }, "headings [[part]]"},
		{"on = \"yes\"\n", func(r *Table) { r.Flag("on") }, "true or false"},
		{"on = [1]\n", func(r *Table) { r.Texts("on") }, "list of texts"},
		{"on = 3\n", func(r *Table) { r.Texts("on") }, "list of texts"},
		{"m = {a = 1}\n", func(r *Table) { r.Table("m") }, `x:1:1: unknown key "a"`},
		{"[t]\nx = 1\n\"\" = 2\n", func(r *Table) { r.Table("t").Number("x") }, `x:3:1: unknown key ""; the nearest known key is "x"`},
	} {
		d := parse(t, c.text)
		c.ask(d.Root())
		if err := d.Err(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: %v, want %q", c.text, err, c.want)
		}
	}
}

func TestAbsentIsNotGiven(t *testing.T) {
	r := parse(t, "x = 1\nlist = \"one\"\nok = true\n").Root()
	if n := r.Number("y"); n.Given || n.Value != 0 {
		t.Errorf("%+v", n)
	}
	if r.Table("t").Given() || r.Table("t").Number("q").Given || r.Tables("p") != nil || r.Texts("l") != nil {
		t.Error("absent table or list is given")
	}
	if got := r.Texts("list"); !slices.Equal(got, []string{"one"}) {
		t.Errorf("single text: %q", got)
	}
	if v, given := r.Flag("ok"); !v || !given {
		t.Error("flag")
	}
}

func TestEditDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"kitten", "sitting", 3}, {"", "abc", 3}, {"tyre", "tyre", 0}, {"mas_kg", "mass_kg", 1}} {
		if got := editDistance(c.a, c.b); got != c.want {
			t.Errorf("%s %s: %d, want %d", c.a, c.b, got, c.want)
		}
	}
}

func TestHostileFilesTakeNoTime(t *testing.T) {
	start := time.Now()
	var keys, tables strings.Builder
	for i := range 20000 {
		keys.WriteString("k" + strings.Repeat("x", i%7) + string(rune('a'+i%26)) + time.Duration(i).String() + " = 1\n")
		tables.WriteString("[[session]]\n")
	}
	for _, text := range []string{keys.String(), tables.String(), strings.Repeat("a", 1<<20)} {
		d, err := Parse([]byte(text), "x", 1<<20)
		if err != nil {
			continue
		}
		d.Root().Tables("session")
		if d.Err() == nil {
			t.Error("accepted")
		}
	}
	if took := time.Since(start); took > 5*time.Second {
		t.Errorf("took %v", took)
	}
}
