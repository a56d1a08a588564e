package drive

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"flywitness/internal/numbers"
)

// memFile is a File in memory.
type memFile struct {
	bytes.Buffer
	writes, syncs int
	closed        bool
}

func (m *memFile) Write(b []byte) (int, error) { m.writes++; return m.Buffer.Write(b) }
func (m *memFile) Sync() error                 { m.syncs++; return nil }
func (m *memFile) Close() error                { m.closed = true; return nil }

var benchMeta = []Field{{"created", "2026-05-09T10:15:00.25Z"}, {"tool", "logger test"}, {"vehicle", "Bench mule"}}

// shortSession returns a small session of n rows with a note in the middle.
func shortSession(t testing.TB, n int) []byte {
	t.Helper()
	var f memFile
	w, err := NewSessionWriter(&f, benchMeta, []string{EngineSpeed, VehicleSpeed})
	if err != nil {
		t.Fatal(err)
	}
	for i := range n {
		cells := []Cell{{0, 850.25 + float64(i)}, {2, 21.5}}
		if i%2 == 1 {
			cells = []Cell{{1, float64(i)}}
		}
		if err := w.WriteRow(0.05*float64(i), cells); err != nil {
			t.Fatal(err)
		}
		if i == n/2 {
			if err := w.WriteNote(0.05*float64(i), "adapter lost, ignition off?\n\\"); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return f.Bytes()
}

// Source: RFC 3720 (iSCSI) and the CRC catalogues give e3069283 for "123456789" (from memory).
func TestCheckIsCRC32C(t *testing.T) {
	if got := string(appendCheck(nil, sessionCheck([]byte("123456789")))); got != "e3069283" {
		t.Fatalf("check of 123456789 is %s", got)
	}
}

func TestExamplesOfTheDocument(t *testing.T) {
	doc, err := os.ReadFile("../docs/session-format.md")
	if err != nil {
		t.Fatal(err)
	}
	blocks := regexp.MustCompile("(?s)```session([^\n]*)\n(.*?)```").FindAllSubmatch(doc, -1)
	if len(blocks) != 3 {
		t.Fatalf("%d examples, want 3", len(blocks))
	}
	for i, b := range blocks {
		want := map[string]string{"torn": "0", "warnings": ""}
		for _, kv := range strings.Fields(string(b[1])) {
			k, v, _ := strings.Cut(kv, "=")
			want[k] = v
		}
		text := b[2]
		if want["torn"] == "1" { // a fenced block cannot end without a line feed
			text = bytes.TrimSuffix(text, []byte("\n"))
		}
		l, err := ReadSession(bytes.NewReader(text), fmt.Sprintf("example %d", i+1))
		if err != nil {
			t.Fatal(err)
		}
		got := map[string]string{"rows": strconv.Itoa(l.Rows), "skipped": strconv.Itoa(l.Skipped), "torn": strconv.Itoa(l.Torn), "warnings": strings.Join(codes(l), ",")}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("example %d: %v, the document says %v\n%v", i+1, got, want, l.Warnings)
		}
		if i == 0 {
			checkFirstExample(t, l)
		}
	}
}

func checkFirstExample(t *testing.T, l *Log) {
	t.Helper()
	if c := l.Channel(EngineSpeed); !reflect.DeepEqual(c.T, []float64{0.0185, 3.1172}) || !reflect.DeepEqual(c.V, []float64{2450.25, 2398}) {
		t.Errorf("engine speed %v %v", c.T, c.V)
	}
	if got := l.HeaderValue("note"); got != "two people on board\nhalf a tank" {
		t.Errorf("note %q", got)
	}
	if !reflect.DeepEqual(l.Notes, []Note{{0.05, "adapter lost"}}) {
		t.Errorf("notes %v", l.Notes)
	}
	if l.Created.UnixMilli() != 1778321700250 { // date -u -d 2026-05-09T10:15:00.250Z +%s%3N
		t.Errorf("created %v", l.Created)
	}
}

func codes(l *Log) []string {
	var out []string
	for _, w := range l.Warnings {
		out = append(out, string(w.Code))
	}
	return out
}

// What goes in comes out: random header values, channels, times and numbers.
func TestRoundTrip(t *testing.T) {
	numbers.Only(t)
	rng := rand.New(rand.NewPCG(7, 1))
	letters := []rune("ab \\n\n\r:#,\"é漢\t\x00'")
	text := func() string {
		r := make([]rune, rng.IntN(12))
		for i := range r {
			r[i] = letters[rng.IntN(len(letters))]
		}
		return string(r)
	}
	for range 300 {
		meta := []Field{{"created", "2026-05-09T10:15:00Z"}, {"a key", text()}, {"b", text()}, {"b", text()}}
		names := []string{EngineSpeed, VehicleSpeed, "boost_kpa", CoolantTemp}[:1+rng.IntN(4)]
		var f memFile
		w, err := NewSessionWriter(&f, meta, names)
		if err != nil {
			t.Fatal(err)
		}
		want := make([]Channel, len(names)+1)
		rows := rng.IntN(20)
		for i := range rows {
			at := math.Round(rng.Float64()*1e9) / 1e6
			var cells []Cell
			for c := range want {
				if rng.IntN(2) == 0 {
					v := math.Float64frombits(rng.Uint64())
					if math.IsNaN(v) || math.IsInf(v, 0) {
						v = float64(i)
					}
					cells = append(cells, Cell{c, v})
					want[c].T, want[c].V = append(want[c].T, at), append(want[c].V, v)
				}
			}
			if err := w.WriteRow(at, cells); err != nil {
				t.Fatal(err)
			}
		}
		if f.writes != rows+1 {
			t.Fatalf("%d writes for %d rows and the header", f.writes, rows)
		}
		l, err := ReadSession(&f.Buffer, "x")
		if err != nil {
			t.Fatal(err)
		}
		if l.Rows != rows || len(l.Warnings) > 0 || !reflect.DeepEqual(l.Header[1:], meta) {
			t.Fatalf("rows %d of %d, warnings %v, header %q, want %q", l.Rows, rows, l.Warnings, l.Header, meta)
		}
		for c, ch := range l.Channels {
			if !reflect.DeepEqual(ch.T, want[c].T) || !reflect.DeepEqual(ch.V, want[c].V) || ch.Name != w.channels[c] {
				t.Fatalf("%s: %v %v, want %v %v", ch.Name, ch.T, ch.V, want[c].T, want[c].V)
			}
		}
	}
}

// rowsOf returns the rows as text, so that two logs can be compared as sets of rows.
func rowsOf(l *Log) map[string]bool {
	rows := map[string]bool{}
	for _, c := range l.Channels {
		for i := range c.T {
			rows[fmt.Sprint(c.Name, c.T[i], c.V[i])] = true
		}
	}
	for _, n := range l.Notes {
		rows[fmt.Sprint(n)] = true
	}
	return rows
}

// valuesBefore returns the rows of the whole lines in data[:n].
func valuesBefore(t *testing.T, data []byte, n int) map[string]bool {
	t.Helper()
	l, err := ReadSession(bytes.NewReader(data[:bytes.LastIndexByte(data[:n], '\n')+1]), "before")
	if err != nil {
		t.Fatal(err)
	}
	return rowsOf(l)
}

func headerLength(data []byte) int {
	i := bytes.Index(data, []byte("\ntime_s"))
	return i + 1 + bytes.IndexByte(data[i+1:], '\n') + 1
}

func TestEveryTruncation(t *testing.T) {
	numbers.Only(t)
	data := shortSession(t, 12)
	all := valuesBefore(t, data, len(data))
	start := headerLength(data)
	for n := range len(data) + 1 {
		l, err := ReadSession(bytes.NewReader(data[:n]), "cut")
		if n < start-1 { // without its column row complete, the file says less than it did
			if err == nil && len(rowsOf(l)) > 0 {
				t.Fatalf("cut at %d: rows %v without a column row", n, rowsOf(l))
			}
			continue
		}
		if err != nil {
			t.Fatalf("cut at %d: %v", n, err)
		}
		got := rowsOf(l)
		for r := range got {
			if !all[r] {
				t.Fatalf("cut at %d: altered row %s accepted", n, r)
			}
		}
		if n >= start {
			for r := range valuesBefore(t, data, n) {
				if !got[r] {
					t.Fatalf("cut at %d: row %s lost", n, r)
				}
			}
		}
	}
}

func TestEveryBitFlip(t *testing.T) {
	numbers.Only(t)
	data := shortSession(t, 6)
	all := valuesBefore(t, data, len(data))
	start := headerLength(data)
	sum := bytes.Index(data, []byte("\ntime_s")) - 8
	for i := range data {
		var before map[string]bool
		if i >= start {
			before = valuesBefore(t, data, i)
		}
		for bit := range 8 {
			bad := bytes.Clone(data)
			bad[i] ^= 1 << bit
			l, err := ReadSession(bytes.NewReader(bad), "flip")
			if i < start {
				sameNumber := i >= sum && i < sum+8 && bytes.EqualFold(data, bad) // an upper-case hexadecimal digit
				if err == nil && len(l.Warnings) == 0 && !sameNumber {
					t.Fatalf("byte %d bit %d: the header was changed unnoticed:\n%s", i, bit, bad[:start])
				}
				continue
			}
			if err != nil {
				t.Fatalf("byte %d bit %d: %v", i, bit, err)
			}
			got := rowsOf(l)
			for r := range got {
				if !all[r] {
					t.Fatalf("byte %d bit %d: altered row %s accepted", i, bit, r)
				}
			}
			for r := range before {
				if !got[r] {
					t.Fatalf("byte %d bit %d: row %s before it lost", i, bit, r)
				}
			}
		}
	}
}

func TestNeverOverwrites(t *testing.T) {
	path := filepath.Join(t.TempDir(), "drive.csv")
	w, err := CreateSession(path, benchMeta, []string{EngineSpeed})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.WriteRow(0, []Cell{{0, 900}}); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	before, _ := os.ReadFile(path)
	if _, err := CreateSession(path, benchMeta, []string{EngineSpeed}); !errors.Is(err, fs.ErrExist) || !strings.Contains(err.Error(), "another name") {
		t.Fatalf("second session in one file: %v", err)
	}
	if after, _ := os.ReadFile(path); !bytes.Equal(before, after) {
		t.Fatal("the refused call changed the file")
	}
	if _, err := CreateSession(path+"2", nil, []string{EngineSpeed}); err == nil {
		t.Fatal("a session without created was begun")
	}
	if _, err := os.Stat(path + "2"); !errors.Is(err, fs.ErrNotExist) {
		t.Fatal("the refused session left a file")
	}
}

func TestRefusedRows(t *testing.T) {
	var f memFile
	w, err := NewSessionWriter(&f, benchMeta, []string{EngineSpeed})
	if err != nil {
		t.Fatal(err)
	}
	before := f.Len()
	for _, c := range []struct {
		t     float64
		cells []Cell
	}{
		{math.NaN(), nil}, {math.Inf(1), nil}, {1, []Cell{{0, math.NaN()}}}, {1, []Cell{{0, math.Inf(-1)}}},
		{1, []Cell{{2, 1}}}, {1, []Cell{{-1, 1}}}, {1, []Cell{{0, 1}, {0, 2}}},
	} {
		if err := w.WriteRow(c.t, c.cells); err == nil {
			t.Errorf("row %v accepted", c)
		}
	}
	if f.Len() != before || w.Err() != nil {
		t.Fatalf("a refused row wrote %d bytes, error %v", f.Len()-before, w.Err())
	}
	if err := w.WriteRow(1, []Cell{{0, 1}}); err != nil {
		t.Fatal(err)
	}
}

func TestBadSessions(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", "no column row"},
		{"header only", "# format: session 1\n", "no column row"},
		{"another file", "a;b\n1;2\n", "begins with \"a;b\""},
		{"newer", "# format: session 2\ntime_s,x,check\n", "newer program"},
		{"two names", "# format: session 1\ntime_s,x,x\n", "stands twice"},
		{"rewritten", "# format: session 1\ntime_s,x,check\n1,2,00000000\n2,3,00000000\n", "rewritten the numbers"},
		{"wrong width", "time_s,x\n1\n2\n", "none of the 2 lines"},
	} {
		_, err := ReadSession(strings.NewReader(c.text), c.name)
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v, want one line with %q", c.name, err, c.want)
		}
	}
}

func TestParseNumber(t *testing.T) {
	for _, s := range []string{"0", "-0", "1", "-1.5", "+2", ".5", "5.", "1e3", "1E-5", "0.1", "123456789012345", "1234567890123456789", "0.00000000000000000000001", "1.7976931348623157e308", "0000000000000000001.5"} {
		want, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		if got, ok := ParseNumber([]byte(s)); !ok || got != want {
			t.Errorf("%s: %v %v, want %v", s, got, ok, want)
		}
	}
	for _, s := range []string{"", "-", ".", "e5", "1e", "NaN", "inf", "0x10", "1_0", "1,5", " 1", "1 ", "1.2.3", "1e999", "--1"} {
		if v, ok := ParseNumber([]byte(s)); ok {
			t.Errorf("%q read as %v", s, v)
		}
	}
	rng := rand.New(rand.NewPCG(3, 3))
	for range 20000 {
		v := math.Round(rng.NormFloat64()*1e6) / math.Pow(10, float64(rng.IntN(7)))
		s := strconv.FormatFloat(v, 'f', -1, 64)
		if got, ok := ParseNumber([]byte(s)); !ok || got != v {
			t.Fatalf("%s: %v %v", s, got, ok)
		}
	}
}
