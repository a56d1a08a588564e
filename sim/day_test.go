package sim

import (
	"bytes"
	"testing"
)

// A day is what benchmarks read: the rows, columns and bytes that its comment promises.
func TestWriteDay(t *testing.T) {
	var a, b bytes.Buffer
	for _, w := range []*bytes.Buffer{&a, &b} {
		if err := WriteDay(w, 1, 7); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("one seed gives two days")
	}
	lines := bytes.Split(bytes.TrimSpace(a.Bytes()), []byte("\n"))
	if n := len(lines) - 1; n < 71_000 || n > 73_000 {
		t.Errorf("%d rows in an hour, want 72 000", n)
	}
	for _, l := range lines {
		if n := bytes.Count(l, []byte(",")); n != 8 {
			t.Fatalf("%d columns: %s", n+1, l)
		}
	}
	if per := a.Len() * 24; per < 80e6 || per > 100e6 {
		t.Errorf("a day would have %d bytes, want 90 MB", per)
	}
}
