package tomlfile

import (
	"fmt"
	"regexp"
	"strings"
)

// bareText is a text that stands without quotes.
var bareText = regexp.MustCompile(`^[\pL][\pL\d _./-]*$`)

// valueAdvice tells how a value that cannot be read is written; "" where it is not one of the usual mistakes.
func valueAdvice(value string) string {
	if bareText.MatchString(value) {
		return fmt.Sprintf("write text in quotes: %q", value)
	}
	return CommaAdvice(value)
}

// withComma is a number that is written with commas: 1,310 or 1,5 or 1,234,567.8.
var withComma = regexp.MustCompile(`^[+-]?\d+(,\d+)+(\.\d+)?$`)

// CommaAdvice tells how a number with a comma is written; "" where the text is no such number. Three digits behind one
// comma may be thousands or thousandths, so both are shown.
func CommaAdvice(text string) string {
	if !withComma.MatchString(text) {
		return ""
	}
	whole := strings.ReplaceAll(text, ",", "")
	parts := strings.Split(text, ",")
	groups := true
	for _, p := range parts[1:] {
		digits, _, _ := strings.Cut(p, ".")
		groups = groups && len(digits) == 3
	}
	point := strings.Replace(text, ",", ".", 1)
	switch {
	case len(parts) == 2 && groups && !strings.Contains(text, "."):
		return fmt.Sprintf("%s can mean two numbers; write %s for thousands, or %s with a point for a fraction", text, whole, point)
	case groups:
		return fmt.Sprintf("%s: write a number without commas between the thousands: %s", text, whole)
	case len(parts) == 2 && !strings.Contains(text, "."):
		return fmt.Sprintf("%s: write the fraction behind a point: %s", text, point)
	}
	return fmt.Sprintf("%s is not one number; write digits with at most one point", text)
}
