package figure

import (
	"regexp"
	"slices"
	"strings"
	"sync"
)

// measured finds a number and its unit, in whatever system and spelling they are printed.
var measured = sync.OnceValue(func() *regexp.Regexp {
	units := []string{"%", "rpm", "rpm/s", "s", "min", "°C", "°F", "miles"}
	for metric, us := range usUnits {
		units = append(units, metric, us, Pretty(metric), Pretty(us))
	}
	slices.SortFunc(units, func(a, b string) int { return len(b) - len(a) }) // kg m² before kg
	for i := range units {
		units[i] = regexp.QuoteMeta(units[i])
	}
	return regexp.MustCompile(`(\d) (` + strings.Join(units, "|") + `)($|[^\pL\pN])`)
})

// Together puts bond in place of the blanks between a number and its unit and within the unit, so that no line is
// broken there.
func Together(s, bond string) string {
	return measured().ReplaceAllStringFunc(s, func(q string) string {
		end := len(q)
		if last := q[end-1]; last == ' ' {
			end--
		}
		return strings.ReplaceAll(q[:end], " ", bond) + q[end:]
	})
}
