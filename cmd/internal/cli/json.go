package cli

import (
	"bytes"
	"encoding/json"
	"io"
)

// WriteJSON writes v as indented JSON with a closing line end.
func WriteJSON(w io.Writer, v any) error {
	var plain bytes.Buffer
	enc := json.NewEncoder(&plain)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return err
	}
	_, err := w.Write(indented(plain.Bytes()))
	return err
}

// indented is JSON as the encoder writes it, with its closing line end, laid out as json.Indent does with two spaces. That one checks
// every byte once more, which takes as long as encoding did.
func indented(plain []byte) []byte {
	out := make([]byte, 0, 2*len(plain))
	line := []byte("\n") // a line end, and the indent of what follows
	for len(plain) > 0 {
		c := plain[0]
		plain = plain[1:]
		switch c {
		case '{', '[':
			out = append(out, c)
			if plain[0] == '}' || plain[0] == ']' {
				out, plain = append(out, plain[0]), plain[1:]
				continue
			}
			line = append(line, "  "...)
			out = append(out, line...)
		case '}', ']':
			line = line[:len(line)-2]
			out = append(append(out, line...), c)
		case ',':
			out = append(append(out, c), line...)
		case ':':
			out = append(out, ": "...)
		default:
			n := scalar(c, plain)
			out, plain = append(append(out, c), plain[:n]...), plain[n:]
		}
	}
	return out
}

// scalar is how much of rest belongs to the string or the number, word or line end that begins with c.
func scalar(c byte, rest []byte) (n int) {
	if c != '"' {
		for n < len(rest) && rest[n] != ',' && rest[n] != '}' && rest[n] != ']' {
			n++
		}
		return n
	}
	for rest[n] != '"' {
		if rest[n] == '\\' {
			n++
		}
		n++
	}
	return n + 1
}
