package blocks

import (
	"bytes"
	"errors"
	"io"
	"math/rand/v2"
	"strings"
	"testing"
	"testing/iotest"
)

const longest = 4 * size // line that is taken

// text is n lines of random lengths; every thousandth is longer than what is read at once.
func text(n int) []byte {
	rng := rand.New(rand.NewPCG(1, 1))
	var b bytes.Buffer
	for i := range n {
		length := rng.IntN(100)
		if i%1000 == 999 {
			length = size + 40_000
		}
		b.WriteString(strings.Repeat("x", length))
		b.WriteByte('\n')
	}
	return b.Bytes()
}

// Blocks joined are the text, in order, each of whole lines and with its line number; the number of cores does not matter.
func TestEachInOrder(t *testing.T) {
	in := append(text(20_000), "a last line without an end"...)
	for name, r := range map[string]io.Reader{"whole": bytes.NewReader(in), "in halves": iotest.HalfReader(bytes.NewReader(in)),
		"with the end at once": iotest.DataErrReader(bytes.NewReader(in))} {
		t.Run(name, func(t *testing.T) {
			type seen struct {
				text []byte
				line int
			}
			var out []byte
			work := func(b *Block, s *seen) { s.text, s.line = append(s.text[:0], b.Text...), b.Line }
			take := func(s *seen) error {
				if want := bytes.Count(out, []byte("\n")) + 1; s.line != want {
					t.Errorf("a block begins at line %d, want %d", s.line, want)
				}
				if len(out) > 0 && out[len(out)-1] != '\n' {
					t.Error("a block begins within a line")
				}
				out = append(out, s.text...)
				return nil
			}
			if err := Each(&Cutter{R: r, EOL: '\n', Max: longest}, work, take); err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(out, in) {
				t.Errorf("%d bytes came out of %d", len(out), len(in))
			}
		})
	}
}

func TestLineTooLong(t *testing.T) {
	in := "one\n" + strings.Repeat("y", 3*size) + "\nthree\n"
	c := &Cutter{R: strings.NewReader(in), EOL: '\n', Max: size}
	var got []Block
	for {
		var b Block
		err := c.Next(&b)
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, b)
	}
	if len(got) != 3 || string(got[0].Text) != "one\n" || !got[1].Long || got[1].Cut || got[1].Line != 2 || string(got[2].Text) != "three\n" || got[2].Line != 3 {
		t.Errorf("%d blocks: %+v", len(got), got)
	}
	c = &Cutter{R: strings.NewReader(strings.Repeat("z", 3*size)), EOL: '\n', Max: size}
	var b Block
	if err := c.Next(&b); err != nil || !b.Long || !b.Cut {
		t.Errorf("a long last line: %v, %v, %v", err, b.Long, b.Cut)
	}
	if err := c.Next(&b); err != io.EOF {
		t.Errorf("after it: %v", err)
	}
}

// What stands before a read error is taken, then the error comes; an error of take ends the work.
func TestErrors(t *testing.T) {
	broken := errors.New("the plug was pulled")
	in := text(60_000)
	bytesSeen := 0
	work := func(b *Block, n *int) { *n = len(b.Text) }
	take := func(n *int) error { bytesSeen += *n; return nil }
	err := Each(&Cutter{R: io.MultiReader(bytes.NewReader(in), iotest.ErrReader(broken)), EOL: '\n', Max: longest}, work, take)
	if !errors.Is(err, broken) || bytesSeen != len(in) {
		t.Errorf("%v after %d bytes of %d", err, bytesSeen, len(in))
	}
	full, calls := errors.New("enough"), 0
	err = Each(&Cutter{R: bytes.NewReader(in), EOL: '\n', Max: longest}, work, func(*int) error { calls++; return full })
	if !errors.Is(err, full) || calls != 1 {
		t.Errorf("%v after %d calls", err, calls)
	}
}
