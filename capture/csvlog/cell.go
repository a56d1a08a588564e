package csvlog

import (
	"bytes"
	"strconv"
	"strings"

	"flywitness/drive"
)

// parseCell reads a number as loggers write it; comma tells that the log has a decimal comma.
func parseCell(b []byte, comma bool) (float64, bool) {
	if !comma {
		if v, ok := drive.ParseNumber(b); ok {
			return v, true
		}
	}
	return parseOddCell(b, comma)
}

// parseOddCell reads what is not a plain number with a point: a decimal comma, thousands marks, a unit or a per cent sign behind the number.
func parseOddCell(b []byte, comma bool) (float64, bool) {
	var buf [40]byte
	n := 0
	b = plainSigns(trim(b))
	for i := 0; i < len(b); i++ {
		c := b[i]
		digitsAround := i > 0 && isDigit(b[i-1]) && i+1 < len(b) && isDigit(b[i+1])
		switch {
		case n == len(buf):
			return 0, false
		case isDigit(c), c == '-' || c == '+', (c == 'e' || c == 'E') && i > 0 && i+1 < len(b) && (isDigit(b[i+1]) || b[i+1] == '-' || b[i+1] == '+'):
			buf[n] = c
		case c == 'D' && i > 0 && i+2 < len(b) && (b[i+1] == '-' || b[i+1] == '+') && isDigit(b[i+2]): // of Fortran
			buf[n] = 'E'
		case c == '.' && !comma, c == ',' && comma:
			buf[n] = '.'
		case c == ',' && digitsAround && threeDigits(b[i+1:]) && !leadsWithZero(b), c == '.' && digitsAround && bytes.IndexByte(b, ',') > i,
			c == '.' && comma && digitsAround && threeDigits(b[i+1:]) && bytes.Count(b, []byte{'.'}) > 1, (c == '\'' || c == '_') && digitsAround, c == ' ' && digitsAround && threeDigits(b[i+1:]):
			continue // a thousands mark
		case c == '.' && comma && bytes.IndexByte(b, ',') < 0: // a point after all
			buf[n] = '.'
		default:
			if n == 0 || !unitTail(b[i:]) {
				return 0, false
			}
			return drive.ParseNumber(buf[:n])
		}
		n++
	}
	return drive.ParseNumber(buf[:n])
}

// plainSigns writes blanks and minus signs of print as those of a keyboard, and takes off what keeps a spreadsheet from changing a cell: ="12" and '12.
func plainSigns(b []byte) []byte {
	if len(b) > 1 && (b[0] == '=' || b[0] == '\'') {
		b = bytes.Trim(b, "='\"")
	}
	for _, c := range b {
		if c >= 0x80 {
			for _, s := range printSigns {
				b = bytes.ReplaceAll(b, s.print, s.plain)
			}
			break
		}
	}
	return b
}

// printSigns are a no-break blank, narrow, wide or in an 8-bit encoding, and the minus sign.
var printSigns = []struct{ print, plain []byte }{{[]byte("\u00a0"), []byte(" ")}, {[]byte("\u202f"), []byte(" ")}, {[]byte("\u2009"), []byte(" ")}, {[]byte("\u2212"), []byte("-")}, {[]byte("\u2019"), []byte("'")}, {[]byte("\xa0"), []byte(" ")}}

// leadsWithZero tells whether a number is below one, so that no thousands stand in it.
func leadsWithZero(b []byte) bool {
	b = bytes.TrimLeft(b, "+-")
	return len(b) > 0 && b[0] == '0'
}

// threeDigits tells whether b begins with exactly three digits.
func threeDigits(b []byte) bool {
	return len(b) >= 3 && isDigit(b[0]) && isDigit(b[1]) && isDigit(b[2]) && (len(b) == 3 || !isDigit(b[3]))
}

// isHex tells whether a cell is a number of base 16 that shows it: "0B", "1A0".
func isHex(b []byte) bool {
	_, err := strconv.ParseUint(string(b), 16, 64)
	return err == nil && bytes.ContainsAny(b, "0123456789")
}

// isHexTime tells whether a cell is a number of base 16 as programmers write them: "0x1F40", "1F40", "1F40h".
func isHexTime(s string) bool {
	low := strings.TrimSuffix(strings.TrimPrefix(strings.ToLower(s), "0x"), "h")
	return isHex([]byte(low))
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

// unitTail tells whether what follows a number in its cell is a unit; a factor behind a number is none: 0x10C.
func unitTail(b []byte) bool {
	if len(b) > 12 {
		return false
	}
	unit := utf8Text(b)
	factor, _ := factored(unit)
	return factor == 1 && isUnit(unit)
}

// parseSwitch reads a switch: a number, or a word for on and off.
func parseSwitch(b []byte) (float64, bool) {
	if v, ok := drive.ParseNumber(b); ok {
		return v, true
	}
	switch strings.ToLower(string(b)) {
	case "on", "true", "yes", "pressed", "active", "ein", "ja", "oui", "down", "depressed", "disengaged", "t", "y", "wahr", "vrai", "vero", "verdadero", "verdadeiro", "waar", "prawda",
		"getreten", "gedrückt", "enfoncée", "enfoncé", "appuyé", "appuyée", "premuto", "pisado", "sí", "si", "tak", "да", "нажата", "нажато":
		return 1, true
	case "off", "false", "no", "released", "inactive", "aus", "nein", "non", "up", "not pressed", "not depressed", "engaged", "f", "n", "falsch", "faux", "falso", "onwaar", "fałsz",
		"frei", "nicht getreten", "nicht gedrückt", "relâchée", "relâché", "rilasciato", "suelto", "nie", "нет", "отпущена", "отпущено":
		return 0, true
	}
	return 0, false
}

// isNothing tells whether a cell says that there is no value.
func isNothing(b []byte) bool {
	switch len(b) {
	case 0:
		return true
	case 1:
		return b[0] == '-' || b[0] == '?' || b[0] == '*' || b[0] == '.'
	}
	if len(b) > 12 || isDigit(b[0]) && !bytes.Contains(b, []byte(".#")) {
		return false
	}
	switch strings.ToLower(string(b)) {
	case "--", "---", "----", "-.-", "n/a", "na", "n.a.", "#n/a", "nan", "-nan", "null", "nil", "none", "no data", "nodata", "inf", "-inf", "+inf", "infinity", "-infinity", "∞", "-∞", "error", "err", "invalid", "void", "unknown", "<null>", "off-line",
		"(null)", "#null!", "#div/0!", "#value!", "#ref!", "#num!", "missing", "undefined", "--.-", "**", "***", "****", "1.#qnan", "1.#ind", "-1.#ind", "1.#inf", "-1.#inf", "<no value>",
		"k.a.", "#nv", "n/v", "n.v.", "n.d.", "n/d", "nd", "s/d", "keine daten", "brak", "no value":
		return true
	}
	return false
}
