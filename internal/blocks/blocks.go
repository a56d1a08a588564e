// Package blocks cuts a long text into blocks of whole lines and works on them on all cores. What comes out is taken in the order of the
// text, so a result does not depend on the number of cores.
package blocks

import (
	"bytes"
	"io"
	"runtime"
	"slices"
)

// size is how many bytes are read for a block, if its lines allow it: they and what is made of them fit the cache of
// one core.
const size = 1 << 18

// Block is a stretch of whole lines. Only the last block of a text may end without a line end.
type Block struct {
	Text  []byte
	Line  int  // number of its first line, from 1
	Lines int  // line ends in it
	Long  bool // one line longer than Cutter.Max, of which nothing was kept
	Cut   bool // the line of a Long block has no line end
}

// Cutter cuts the text of R.
type Cutter struct {
	R      io.Reader
	EOL    byte
	Max    int                               // bytes of the longest line, its line end included
	Before int                               // lines of the file before R
	Ends   func(text []byte, final bool) int // how much of text are whole lines; nil: all up to the last EOL

	carry []byte // what was read behind the last cut
	line  int    // lines cut so far
	err   error  // of R
}

// Next fills b with the next block, whose memory it uses again; io.EOF comes alone, behind the last block. Another error is that of R, after
// all blocks before it.
func (c *Cutter) Next(b *Block) error {
	text := append(b.Text[:0], c.carry...)
	c.carry = c.carry[:0]
	want := len(text) + size
	for {
		text = c.fill(text, want)
		if len(text) == 0 {
			return c.err
		}
		n := c.ends(text)
		if n == 0 && c.err == nil {
			if len(text) >= c.Max && bytes.IndexByte(text[:c.Max], c.EOL) < 0 {
				return c.long(b, text)
			}
			want = 2 * len(text)
			continue
		}
		if c.err != nil && c.err != io.EOF && n == 0 {
			return c.err
		}
		c.carry = append(c.carry, text[n:]...)
		*b = Block{Text: text[:n], Line: c.Lines() + 1, Lines: bytes.Count(text[:n], []byte{c.EOL})}
		c.line += b.Lines
		return nil
	}
}

// Lines returns how many lines of the file lie before the next block.
func (c *Cutter) Lines() int { return c.Before + c.line }

// fill reads until text has want bytes or R ends.
func (c *Cutter) fill(text []byte, want int) []byte {
	if want > cap(text) {
		text = slices.Grow(text, want-len(text))
	}
	for len(text) < want && c.err == nil {
		var n int
		n, c.err = c.R.Read(text[len(text):want])
		text = text[:len(text)+n]
	}
	return text
}

func (c *Cutter) ends(text []byte) int {
	final := c.err == io.EOF
	switch {
	case c.Ends != nil:
		return c.Ends(text, final)
	case final:
		return len(text)
	}
	return bytes.LastIndexByte(text, c.EOL) + 1
}

// long passes over a line that is too long.
func (c *Cutter) long(b *Block, text []byte) error {
	end := -1
	for end < 0 && c.err == nil {
		text = c.fill(text[:0], size)
		end = bytes.IndexByte(text, c.EOL)
	}
	c.line++
	*b = Block{Text: text[:0], Line: c.Lines(), Long: true, Cut: end < 0}
	c.carry = append(c.carry, text[end+1:]...)
	if end < 0 {
		c.carry = c.carry[:0]
	}
	return nil
}

// job is a block on its way through Each.
type job[T any] struct {
	block Block
	out   T
	done  chan struct{}
}

// Each runs work on the blocks of c on all cores and take on what came out, one after another in the order of the text. Values of T are
// used again once they were taken. An error of take ends it, as does one of the text, which comes after everything before it was taken.
func Each[T any](c *Cutter, work func(*Block, *T), take func(*T) error) error {
	cores := runtime.GOMAXPROCS(0)
	free, cut, order := make(chan *job[T], 2*cores), make(chan *job[T], 2*cores), make(chan *job[T], 2*cores)
	for range cap(free) {
		free <- &job[T]{done: make(chan struct{}, 1)}
	}
	var broken error
	go func() {
		defer close(order)
		defer close(cut)
		for j := range free {
			if err := c.Next(&j.block); err != nil {
				if err != io.EOF {
					broken = err
				}
				return
			}
			cut <- j
			order <- j
		}
	}()
	for range cores {
		go func() {
			for j := range cut {
				work(&j.block, &j.out)
				j.done <- struct{}{}
			}
		}()
	}
	var err error
	for j := range order {
		<-j.done
		if err != nil {
			continue // blocks that were cut before the error
		}
		if err = take(&j.out); err != nil {
			close(free)
			continue
		}
		free <- j
	}
	if err == nil {
		err = broken
	}
	return err
}
