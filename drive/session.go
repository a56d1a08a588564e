package drive

import (
	"hash/crc32"
	"strings"
)

// The byte format is in docs/session-format.md; this file holds what reader and writer share.

// sessionVersion is the version of the session format that this package writes.
const sessionVersion = 1

const (
	formatKey      = "format"
	createdKey     = "created"
	headerCheckKey = "header_check"
	stampStepKey   = "stamp_step_s" // and of imported logs their number: stamp_step_s_1
	clocksKey      = "clocks_"      // the same: by how many clocks the channels were stamped
	timeColumn     = "time_s"
	checkColumn    = "check"

	maxClocks      = 1000  // of one log
	maxSessionLine = 65536 // bytes, without the line feed
)

// castagnoli is the table of CRC-32C, RFC 3720 section 12.1 (from memory); "123456789" gives e3069283.
var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// sessionCheck returns the check of the bytes of a line before its last comma.
func sessionCheck(line []byte) uint32 { return crc32.Checksum(line, castagnoli) }

// appendCheck appends v as eight lower-case hexadecimal digits.
func appendCheck(b []byte, v uint32) []byte {
	const digits = "0123456789abcdef"
	for shift := 28; shift >= 0; shift -= 4 {
		b = append(b, digits[v>>shift&15])
	}
	return b
}

// parseCheck reads one to eight hexadecimal digits.
func parseCheck(b []byte) (uint32, bool) {
	if len(b) == 0 || len(b) > 8 {
		return 0, false
	}
	var v, bad uint32
	for _, c := range b {
		digit := hexDigits[c]
		v, bad = v<<4|digit, bad|digit
	}
	return v, bad < 16
}

// hexDigits holds the value of each hexadecimal digit, noHex for any other byte. No processor guesses whether a check goes on with a digit or a letter.
var hexDigits = func() (values [256]uint32) {
	for c := range values {
		values[c] = noHex
		for digits, of := range map[string]int{"0123456789": 0, "abcdef": 10, "ABCDEF": 10} {
			if i := strings.IndexByte(digits, byte(c)); i >= 0 {
				values[c] = uint32(of + i)
			}
		}
	}
	return values
}()

const noHex = 16

var valueEscaper = strings.NewReplacer(`\`, `\\`, "\n", `\n`, "\r", `\r`)
var valueUnescaper = strings.NewReplacer(`\\`, `\`, `\n`, "\n", `\r`, "\r")

// escapeValue makes a header value or note fit on one line; bytes that are not UTF-8 become U+FFFD.
func escapeValue(s string) string { return valueEscaper.Replace(strings.ToValidUTF8(s, "\uFFFD")) }

func unescapeValue(s string) string { return valueUnescaper.Replace(s) }
