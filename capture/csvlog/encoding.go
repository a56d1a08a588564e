package csvlog

import (
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/japanese"
	"golang.org/x/text/encoding/korean"
	"golang.org/x/text/encoding/simplifiedchinese"
	"golang.org/x/text/encoding/traditionalchinese"
)

// encodings are those that loggers and spreadsheets write beside UTF-8 and UTF-16, by how far they are spread. The first is that of utf8Text.
var encodings = []encoding.Encoding{charmap.Windows1252, charmap.Windows1251, charmap.Windows1250, charmap.Windows1254, charmap.Windows1253, simplifiedchinese.GBK,
	japanese.ShiftJIS, korean.EUCKR, charmap.KOI8R, charmap.CodePage866, charmap.ISO8859_5, traditionalchinese.Big5, japanese.EUCJP, charmap.CodePage850, charmap.Macintosh}

// encodingOf returns the encoding in which the start of a text has most words that headings have; nil where it is UTF-8 or Latin-1.
func encodingOf(start []byte) encoding.Encoding {
	if i := strings.LastIndexByte(string(start), '\n'); i > 0 {
		start = start[:i]
	}
	if utf8.Valid(start) {
		return nil
	}
	var best encoding.Encoding
	most := knownWords(encodings[0], start)
	for _, e := range encodings[1:] {
		if n := knownWords(e, start); n > most {
			best, most = e, n
		}
	}
	return best
}

// knownWords counts the words of headings that are not plain ASCII.
func knownWords(e encoding.Encoding, start []byte) (n int) {
	text, err := e.NewDecoder().Bytes(start)
	if err != nil {
		return 0
	}
	for _, w := range strings.FieldsFunc(string(text), func(r rune) bool { return strings.ContainsRune(" \t\r\n,;|()[]\"/_-", r) }) {
		if len(w) > utf8.RuneCountInString(w) && vocabulary[fold(w)] {
			n++
		}
	}
	return n
}

// misread are encodings as which UTF-8 was read once and written again: RÃ©gime.
var misread = []encoding.Encoding{charmap.Windows1252, charmap.Windows1251}

// repaired is a heading as it was before that; another one stays as it is.
func repaired(heading string) string {
	if isASCII(heading) {
		return heading
	}
	for _, e := range misread {
		if b, err := e.NewEncoder().String(heading); err == nil && b != heading && utf8.ValidString(b) {
			return b
		}
	}
	return heading
}

func isASCII(s string) bool {
	return strings.IndexFunc(s, func(r rune) bool { return r >= utf8.RuneSelf }) < 0
}
