package csvlog

import (
	"archive/zip"
	"bufio"
	"bytes"
	"compress/flate"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/japanese"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/encoding/unicode/utf32"
	"golang.org/x/text/transform"
)

const (
	maxText      = 2 << 30   // bytes of text after decompression: more than a week at 20 Hz
	maxLine      = 8 << 20   // bytes of one line: fifty thousand columns and their headings
	peek         = 256 << 10 // bytes looked at before the first line is read
	buffered     = peek      // and no more: longer reads then go past the buffer
	headingBytes = 8 << 10   // of these, in which headings stand
)

// Text returns the text behind r: decompressed, without byte order mark, UTF-16 and UTF-32 turned into UTF-8. Other 8-bit text is passed on as it is.
func Text(r io.Reader, name string) (*bufio.Reader, error) {
	in := bufio.NewReaderSize(r, buffered)
	start, err := in.Peek(peek)
	if err != nil && err != io.EOF && err != bufio.ErrBufferFull && !(err == ErrBrokenOff && len(start) > 0) {
		return nil, fmt.Errorf("%s: cannot read: %w", name, err)
	}
	if bytes.HasPrefix(start, []byte{0x1f, 0x8b}) {
		z, err := gzip.NewReader(in)
		if err != nil {
			return nil, fmt.Errorf("%s: broken gzip file: %w", name, err)
		}
		in = bufio.NewReaderSize(&limitReader{r: wholeOrBroken{r: z}, left: maxText}, buffered)
		if start, err = in.Peek(peek); err != nil && err != io.EOF && !(err == ErrBrokenOff && len(start) > 0) {
			return nil, fmt.Errorf("%s: broken gzip file: %w", name, err)
		}
	}
	switch {
	case len(bytes.TrimSpace(start)) == 0:
		return nil, &NoTableError{name + " is empty: nothing was logged, or the file was not copied in full"}
	case bytes.HasPrefix(start, []byte("PK\x03\x04")):
		return unzip(in, name)
	case bytes.HasPrefix(start, []byte("\xef\xbb\xbf")):
		if _, err := in.Discard(3); err != nil || !hasUnseen(start[3:]) {
			return in, err
		}
		start = start[3:]
	}
	if e, ok := wide(start); ok {
		return bufio.NewReaderSize(transform.NewReader(in, e), buffered), nil
	}
	if what := otherKind(start); what != "" {
		return nil, &NoTableError{name + " is " + what}
	}
	if hasUnseen(start) {
		in = bufio.NewReaderSize(&seenReader{r: in}, buffered)
		start, _ = in.Peek(peek)
	}
	if text := bytes.TrimRight(start, "\x00"); control(text)*10 > len(text) { // a file whose room was made beforehand ends in zeros
		if delim := controlDelimiter(text); delim != 0 {
			return nil, &NoTableError{endsRarely(name, string(delim))}
		}
		return nil, &NoTableError{name + " is not text: a log is read as CSV, so export it as CSV"}
	}
	if head := string(start[:min(len(start), headingBytes)]); isASCII(head) && strings.Contains(head, "\x1b$") { // shifts to another set of signs, in seven bits
		return bufio.NewReaderSize(transform.NewReader(in, japanese.ISO2022JP.NewDecoder()), buffered), nil
	}
	if e := encodingOf(start[:min(len(start), headingBytes)]); e != nil {
		return bufio.NewReaderSize(transform.NewReader(in, e.NewDecoder()), buffered), nil
	}
	return in, nil
}

// wide returns the decoder for UTF-32 text with a byte order mark, and for UTF-16 text with one or known by its zero bytes.
func wide(start []byte) (transform.Transformer, bool) {
	switch {
	case bytes.HasPrefix(start, []byte{0xff, 0xfe, 0, 0}), bytes.HasPrefix(start, []byte{0, 0, 0xfe, 0xff}):
		return utf32.UTF32(utf32.LittleEndian, utf32.ExpectBOM).NewDecoder(), true
	case bytes.HasPrefix(start, []byte{0xff, 0xfe}), bytes.HasPrefix(start, []byte{0xfe, 0xff}):
		return unicode.UTF16(unicode.LittleEndian, unicode.ExpectBOM).NewDecoder(), true
	}
	var zeros [2]int
	for i, c := range start[:min(len(start), 4096)] {
		if c == 0 {
			zeros[i&1]++
		}
	}
	half := min(len(start), 4096) / 2
	switch {
	case half > 8 && zeros[1] > half*8/10 && zeros[0] == 0:
		return unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM).NewDecoder(), true
	case half > 8 && zeros[0] > half*8/10 && zeros[1] == 0:
		return unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM).NewDecoder(), true
	}
	return nil, false
}

// zeroRun is how many zeros in a row are room that was never written to, as a recorder leaves it that lost its power.
const zeroRun = 64

// control counts the bytes that no text has.
func control(b []byte) int {
	n := 0
	for i := 0; i < len(b); i++ {
		c := b[i]
		if c == 0 && len(b) >= i+zeroRun && bytes.Count(b[i:i+zeroRun], []byte{0}) == zeroRun {
			i += zeroRun - 1
			continue
		}
		if c < ' ' && c != '\t' && c != '\n' && c != '\r' {
			n++
		}
	}
	return n
}

// utf8Text returns a cell as text; what is not UTF-8 is taken for Latin-1 (in its Windows form).
func utf8Text(b []byte) string {
	if utf8.Valid(b) {
		return string(b)
	}
	s, err := charmap.Windows1252.NewDecoder().Bytes(b)
	if err != nil {
		return string(bytes.ToValidUTF8(b, []byte("?")))
	}
	return string(s)
}

// ErrBrokenOff is that of packed text whose end is missing or damaged: what stands before it was read.
var ErrBrokenOff = errors.New("the packed file broke off")

// wholeOrBroken tells a damaged end from other errors.
type wholeOrBroken struct {
	r   io.Reader
	cut bool // its end is missing, wherever it seems to end
}

func (w wholeOrBroken) Read(b []byte) (int, error) {
	n, err := w.r.Read(b)
	var corrupt flate.CorruptInputError
	if errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, gzip.ErrChecksum) || errors.Is(err, zip.ErrChecksum) || w.cut && err == io.EOF || errors.As(err, &corrupt) {
		err = ErrBrokenOff
	}
	return n, err
}

// limitReader ends with an error rather than silently when more than left bytes come.
type limitReader struct {
	r    io.Reader
	left int64
}

func (l *limitReader) Read(b []byte) (int, error) {
	if l.left <= 0 {
		return 0, fmt.Errorf("more than %d bytes of text when decompressed: split the log", int64(maxText))
	}
	if int64(len(b)) > l.left {
		b = b[:l.left]
	}
	n, err := l.r.Read(b)
	l.left -= int64(n)
	return n, err
}
